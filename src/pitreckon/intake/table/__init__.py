"""Readings from a table that somebody else's program wrote."""
