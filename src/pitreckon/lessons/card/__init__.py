"""The recipe card of a finished cook, and the simulated readers who cook by it."""
