"""How many examples a property is tried on: all of them in the full suite, a few in ``make quick``."""

from __future__ import annotations

import os

QUICK = bool(os.environ.get("PITRECKON_QUICK"))
FEW = 10


def examples(whole: int) -> int:
    """As many as the full suite tries, or a few of them where it has to be quick."""
    return min(whole, FEW) if QUICK else whole
