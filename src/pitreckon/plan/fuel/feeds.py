"""When to add fuel, and how much."""

import math
from typing import Final

import numpy as np

from pitreckon.arrays import Floats

RESERVE: Final = 0.15
"""Part of a hopper or a basket that is left when it is filled again [-]: common practice, no source."""
COUNTED_KG: Final = 0.5
"""Pieces of fuel from this mass on are put on one by one [kg]."""
SURE: Final = 0.95
"""A hopper is filled for the member that burns as much as this share of them do; splits go on as the middle member
burns them, since a fire of splits is fed by eye [-]."""


def refills(
    time_s: Floats, used_kg: Floats, holds_kg: float, piece_kg: float = 0.0
) -> tuple[float, tuple[tuple[float, float], ...]]:
    """First fill [kg], and when to add how much: (time [s], [kg]).

    time_s: knots [s], shape (knots,), rising
    used_kg: fuel burnt until then [kg], shape (knots, members), not falling
    holds_kg: what the pit takes at once [kg], above 0
    piece_kg: mass of one piece; from ``COUNTED_KG`` on fuel goes on by the piece [kg]

    >>> refills(np.array([0.0, 36000.0]), np.array([[0.0], [10.0]]), 4.0)
    (4.0, ((12240.0, 3.4), (24480.0, 2.6)))
    """
    counted = piece_kg >= COUNTED_KG
    used = np.quantile(used_kg, 0.5 if counted else SURE, axis=1)
    total = float(used[-1])
    step = piece_kg if counted else (1.0 - RESERVE) * holds_kg
    kept = max(holds_kg - step, 0.0)
    first = min(holds_kg, total)
    if counted:
        first = math.ceil(first / piece_kg - 1e-9) * piece_kg
    added: list[tuple[float, float]] = []
    done = first - kept
    while done + kept < total - 1e-9 and step > 0:
        amount = step if counted else min(step, total - done - kept)
        added.append((float(np.interp(done, used, time_s)), round(amount, 9)))
        done += step
    return first, tuple(added)
