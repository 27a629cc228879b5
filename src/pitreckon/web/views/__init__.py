"""Records made into the words of a page."""
