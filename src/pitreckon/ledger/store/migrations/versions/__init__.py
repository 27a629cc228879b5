"""One module a state, oldest first."""
