"""A hand: how much lighter or darker, sooner or later than the model a person says a word, learned from cook to cook.

The model draws a bias of the words of a scale anew for every cook. Most of it is the person's and comes again, the rest
is the day's (light, a new probe). A finished cook tells how large it was in it, with an error; later looks of the same
person are corrected by what is known, and allowed the spread that is left. Who has taught nothing has the usual spread.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook.looks import LOOK_KINDS

OWN: Final = 0.7
"""Share of the variance of a cook's bias that is the person's and comes again: a judgement, not measured."""
HAND_KEEPS_S: Final = 3.0 * 365.0 * 86400.0
"""Time in which a hand changes by as much as hands differ: a judgement, not measured."""
WORTH_KEEPING: Final = 0.05
"""Information, over that of the usual spread, below which a cook tells nothing of a hand."""
UNUSUAL: Final = 3.84
"""Squared standard errors off all others, from which on one cook's word of a hand is doubted: 5 in 100."""
Whose = tuple[str, str]
"""Who, and the scale of words: ``colour`` or ``probe feel``."""


@dataclass(frozen=True, slots=True)
class Bias:
    """What is known of a hand's words in a cook: said less true, as levels. mean, sd"""

    mean: float
    sd: float


Hands = Mapping[Whose, Bias]


@dataclass(frozen=True, slots=True)
class HandTold:
    """What a cook alone told of a hand's bias in it, the usual spread apart. value, sd: as levels

    beside: photos that it was held against, at about the time of a tap
    """

    by: str
    kind: str
    value: float
    sd: float
    beside: int = 0


def usual(kind: str) -> Bias:
    """Of a hand of which nothing is known."""
    return Bias(0.0, LOOK_KINDS[kind].errors.shared)


def bias_of(hands: Hands, by: str, kind: str) -> Bias:
    """Of a person's words on a scale."""
    return hands.get((by, kind)) or usual(kind)


def told(
    whose: Sequence[Whose | None], slope: Floats, innovation: Floats, covariance: Floats, *, chance: float = 1.0
) -> tuple[HandTold, ...]:
    """What a cook's lines say of the hands whose words are among them.

    whose: of each line, None where it is no word of a known person; slope by independent standard numbers, (lines,
    unknowns); innovation (lines,); covariance: of the errors, usual biases included, (lines, lines)
    chance: mean square of the misfits over what it ought to be, up to which chance is let pass for the cause
    """
    found = []
    if not innovation.size:
        return ()
    whole = slope @ slope.T + covariance
    fits = max(1.0, float(innovation @ np.linalg.solve(whole, innovation)) / innovation.size / chance)
    for one in sorted({each for each in whose if each is not None and each[0]}):
        before = usual(one[1]).sd ** 2
        mine = np.array([each == one for each in whose], dtype=np.float64)
        pull = np.linalg.solve(whole, np.column_stack((innovation, mine)))
        mean = before * float(mine @ pull[:, 0])
        left = max(before - before**2 * float(mine @ pull[:, 1]), 1e-9)
        said = 1.0 / left - 1.0 / before
        if said * before >= WORTH_KEEPING:
            # What does not fit as a whole tells less of anybody.
            found.append(HandTold(*one, mean / left / said, float(np.sqrt(fits / said))))
    return tuple(found)


def hands_of(cooks: Iterable[tuple[datetime, HandTold]], at: datetime) -> dict[Whose, Bias]:
    """What is known of each hand at a moment, from what cooks told of it and when."""
    by_hand: dict[Whose, list[tuple[float, HandTold]]] = {}
    for when, each in cooks:
        age_s = abs((at - when).total_seconds())
        by_hand.setdefault((each.by, each.kind), []).append((float(np.exp(-age_s / HAND_KEEPS_S)), each))
    return {whose: _known(whose[1], rows) for whose, rows in by_hand.items()}


def _known(kind: str, rows: Sequence[tuple[float, HandTold]]) -> Bias:
    before = usual(kind).sd ** 2
    of_day = (1.0 - OWN) * before
    value = np.array([each.value for _, each in rows])
    weight = np.array([share / (each.sd**2 + of_day) for share, each in rows])
    for _ in range(2):  # twice, for one that is far off bends the others
        for i in range(value.size):
            rest = np.arange(value.size) != i
            precision = 1.0 / (OWN * before) + float(weight[rest].sum())
            mean = float(weight[rest] @ value[rest]) / precision
            square = (value[i] - mean) ** 2 / (1.0 / weight[i] + 1.0 / precision)
            weight[i] /= max(1.0, square / UNUSUAL)
    precision = 1.0 / (OWN * before) + float(weight.sum())
    return Bias(float(weight @ value) / precision, float(np.sqrt(1.0 / precision + of_day)))
