"""How long the work takes: ``make bench``."""
