"""Pictures for papers, by Matplotlib, which comes with the extra ``pictures``: SVG, one column wide."""
