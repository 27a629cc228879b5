"""Imported first by whatever of a command needs numbers: see ``work.lean``."""

from pitreckon.work.lean import load_lean

load_lean()
