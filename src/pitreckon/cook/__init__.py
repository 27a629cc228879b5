"""The plan of a cook, its record and its file."""
