"""Dumb ways to plan, kept to be measured against: the mean time and two hours more, the trade's rule of thumb and an
hour more, and all of it on at once.

Each item goes by itself on its first pit at that pit's usual temperature, wrapped as usual, at the mean time that it
takes before serving, less a fixed buffer. Nobody asks who is there, what else lies on the pit, or how sure it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.wishes import Wishes

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
    at_s = day.grid_s * math.floor((task.serve_s - takes_s - task.rest_s - buffer_s) / day.grid_s)
    place = day.place(first.pit)
    return Guess(0, max(at_s, day.earliest_s + (0.0 if place.lit else place.lit_s)))


THUMB_H: Final = {
    "boston-butt": (0.0, 1.5), "brisket-whole": (0.0, 1.25), "brisket-flat": (0.0, 1.5), "brisket-point": (0.0, 1.5),
    "chuck-roast": (0.0, 2.0), "lamb-shoulder": (0.0, 1.25), "back-ribs": (5.0, 0.0), "st-louis-ribs": (6.0, 0.0),
    "spareribs": (6.0, 0.0), "chicken-thigh": (1.5, 0.0), "chicken-half": (2.5, 0.0), "chicken-wing": (1.0, 0.0),
    "turkey-breast": (0.0, 0.5), "turkey-whole": (0.0, 0.5), "pork-loin": (0.0, 0.75), "tri-tip": (1.25, 0.0),
    "salmon-side": (1.0, 0.0), "pork-belly": (5.0, 0.0),
}  # fmt: skip
"""Hours by the trade's rule of thumb, fixed and for each pound: common practice, no source."""
OTHERWISE_H: Final = (0.0, 1.0)
THUMB_BUFFER_S: Final = 3600.0
LB_KG: Final = 0.45359237


def by_thumb(day: Day, wishes: Wishes, masses_kg: Sequence[float]) -> tuple[Guess, ...]:
    """The trade's rule of thumb and an hour more, on whole multiples of the grid. masses_kg: of a piece of each item"""
    guesses = []
    for index, (wish, mass_kg) in enumerate(zip(wishes.items, masses_kg, strict=True)):
        fixed_h, per_lb_h = THUMB_H.get(wish.cut, OTHERWISE_H)
        takes_s = 3600.0 * (fixed_h + per_lb_h * mass_kg / LB_KG)
        guesses.append(_at(day, index, takes_s + THUMB_BUFFER_S))
    return tuple(guesses)


def all_at_once(day: Day, wishes: Wishes, masses_kg: Sequence[float]) -> tuple[Guess, ...]:
    """Everything on when the slowest goes on by the rule of thumb."""
    first = min(guess.put_on_s for guess in by_thumb(day, wishes, masses_kg))
    return tuple(Guess(0, first) for _ in day.tasks)


def _at(day: Day, index: int, before_s: float) -> Guess:
    task = day.tasks[index]
    if task.put_on_s is not None:
        return Guess(0, task.put_on_s)
    place = day.place(task.options[0].pit)
    at_s = day.grid_s * math.floor((task.serve_s - before_s) / day.grid_s)
    return Guess(0, max(at_s, day.earliest_s + (0.0 if place.lit else place.lit_s)))
