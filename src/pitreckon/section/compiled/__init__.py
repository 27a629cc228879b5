"""The compiled kernel."""
