"""Cooling leftovers in time."""
