"""Routes, one file a family of pages."""
