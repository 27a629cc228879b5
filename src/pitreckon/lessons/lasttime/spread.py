"""How far members are apart in what one thing otherwise does to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats

FEWEST: Final = 24
"""Members that get there both ways, fewer than which tell nothing."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Of members: 5, 50 and 95 %; nan: too few of them got there."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, values: Floats) -> Spread:
        """Of the members that have a value."""
        known = values[np.isfinite(values)]
        if known.size < FEWEST:
            return cls(*(float("nan"),) * 3)
        return cls(*(float(each) for each in np.quantile(known, (0.05, 0.5, 0.95))))
