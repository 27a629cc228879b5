"""The dumb way to plan, kept to be measured against: the usual time before serving, and two hours more.

Each item goes by itself on its first pit at that pit's usual temperature, wrapped as usual, at the mean time that it
takes before serving, less a fixed buffer. Nobody asks who is there, what else lies on the pit, or how sure it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.plan.schedule.tables import Day

BUFFER_S: Final = 2 * 3600.0
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Guess:
    """Which option an item takes, and when it goes on [s from serving]."""

    option: int
    put_on_s: float


def naive(day: Day, buffer_s: float = BUFFER_S) -> tuple[Guess, ...]:
    """A guess for each item of a day, on whole multiples of its grid.

    An item that has to go on at a time goes on then; nothing goes on before work may begin.
    """
    return tuple(_guess(day, index, buffer_s) for index in range(len(day.tasks)))


def _guess(day: Day, index: int, buffer_s: float) -> Guess:
    task = day.tasks[index]
    first = task.options[0]
    if task.put_on_s is not None:
        return Guess(0, task.put_on_s)
    ready = first.last_s[np.isfinite(first.last_s)]
    takes_s = float(ready.mean()) if ready.size else 0.0
    at_s = day.grid_s * math.floor(-(takes_s + task.rest_s + buffer_s) / day.grid_s)
    place = day.place(first.pit)
    return Guess(0, max(at_s, day.earliest_s + (0.0 if place.lit else place.lit_s)))
