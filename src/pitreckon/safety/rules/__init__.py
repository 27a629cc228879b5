"""Official rules held against a history of temperatures."""
