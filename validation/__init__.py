"""The model against the outside: what it was fitted on, and what was then tested untouched."""
