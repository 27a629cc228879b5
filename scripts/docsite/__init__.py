"""The documentation as a site: what Sphinx is told, and what is laid out for it."""
