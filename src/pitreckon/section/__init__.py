"""A piece of meat: its shapes, the heat and water in it, and courses run for a whole ensemble at once."""

from pitreckon.section import cache as _cache

_cache.place()
