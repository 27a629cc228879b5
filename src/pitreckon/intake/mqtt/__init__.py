"""Readings from a broker."""
