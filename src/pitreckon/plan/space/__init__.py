"""What fits on which grate."""
