"""A hand: how much lighter or darker, sooner or later than the model a person says a word, learned from cook to cook.

The model draws a bias of the words of a scale anew for every cook. Most of it is the person's and comes again, the rest
is the day's (light, a new probe). A finished cook tells how large it was in it, with an error; later looks of the same
person are corrected by what is known, and allowed the spread that is left. Who has taught nothing has the usual spread.

The thermometer that a person takes spot temperatures with is a part of the hand: it reads off by a constant, which ice
water or boiling water shows, and what it read of meat tells a little of. The usual spread of that is in the error of
every spot temperature; where more is known, it is taken off, and the error is what is left.
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
THERMOMETER: Final = "spot temperature"
"""In place of a scale of words: the thermometer that somebody takes spot temperatures with. Its bias is in kelvins."""
OWN_OF_THERMOMETER: Final = 0.9
"""The same share of a thermometer, which hardly has days (its battery, how deep it was put): a judgement."""
THERMOMETER_KEEPS_S: Final = 365.0 * 86400.0
"""Time in which a thermometer drifts by as much as thermometers differ: a judgement, not measured."""
Whose = tuple[str, str]
"""Who, and the scale of words: ``colour`` or ``probe feel``; or the thermometer of who ("": nobody said whose)."""


@dataclass(frozen=True, slots=True)
class Bias:
    """What is known of a hand's words in a cook: said less true, as levels. mean, sd"""

    mean: float
    sd: float


Hands = Mapping[Whose, Bias]


@dataclass(frozen=True, slots=True)
class HandTold:
    """What a cook alone told of a hand's bias in it, the usual spread apart. value, sd: as levels

    kind: a scale of words, values as levels; or ``THERMOMETER``, values in kelvins, read less true
    beside: photos that it was held against, at about the time of a tap; of a thermometer, readings in ice or boiling
        water
    """

    by: str
    kind: str
    value: float
    sd: float
    beside: int = 0


def usual(kind: str) -> Bias:
    """Of a hand, or a thermometer, of which nothing is known."""
    errors = LOOK_KINDS[kind].errors
    return Bias(0.0, errors.instrument or errors.shared)


def bias_of(hands: Hands, by: str, kind: str) -> Bias:
    """Of a person's words on a scale."""
    return hands.get((by, kind)) or usual(kind)


def with_baths(known: Bias | None, baths: Bias | None) -> Bias | None:
    """What is known of a thermometer where it was read in ice or boiling water in the same cook.

    known: from earlier cooks; baths: what these readings alone tell; None, where both are: nothing
    """
    if baths is None:
        return known
    before = known or Bias(0.0, as_rare(usual(THERMOMETER).sd, baths.mean))
    weight = before.sd**2 / (before.sd**2 + baths.sd**2)
    return Bias(before.mean + weight * (baths.mean - before.mean), float(np.sqrt(weight)) * baths.sd)


def as_rare(sd_k: float, shown_k: float) -> float:
    """How far thermometers differ, where a bath has shown that one is off by more than is usual [K].

    Those that are further off than two of the usual spreads are more than a normal number would have them: a judgement.
    """
    return max(sd_k, 0.5 * abs(shown_k))


def error_of_spot(known: Bias | None) -> float:
    """Standard error of a spot temperature, its thermometer's bias taken off as far as it is known [K]."""
    errors = LOOK_KINDS[THERMOMETER].errors
    if known is None:
        return errors.each
    return float(np.sqrt(errors.each**2 - errors.instrument**2 + known.sd**2))


def told(
    whose: Sequence[Whose | None], slope: Floats, innovation: Floats, covariance: Floats, *, chance: float = 1.0
) -> tuple[HandTold, ...]:
    """What a cook's lines say of the hands whose words are among them.

    whose: of each line, None where it is no word of a known person; slope by independent standard numbers, (lines,
    unknowns); innovation (lines,); covariance: of the errors, usual biases included, a thermometer's as if it were
    another one each time, (lines, lines)
    chance: mean square of the misfits over what it ought to be, up to which chance is let pass for the cause
    """
    found = []
    if not innovation.size:
        return ()
    names = sorted({each for each in whose if each is not None and (each[0] or each[1] == THERMOMETER)})
    lines = {one: np.array([each == one for each in whose], dtype=np.float64) for one in names}
    whole = slope @ slope.T + covariance
    for one, mine in lines.items():
        if one[1] == THERMOMETER:
            whole += usual(THERMOMETER).sd ** 2 * (np.outer(mine, mine) - np.diag(mine))
    fits = max(1.0, float(innovation @ np.linalg.solve(whole, innovation)) / innovation.size / chance)
    for one, mine in lines.items():
        before = usual(one[1]).sd ** 2
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
        by_hand.setdefault((each.by, each.kind), []).append(((when - at).total_seconds(), each))
    return {whose: _known(whose[1], rows) for whose, rows in by_hand.items()}


def _known(kind: str, rows: Sequence[tuple[float, HandTold]]) -> Bias:
    """The normal belief in a bias that wanders, and comes back to nothing, in the time that it keeps.

    rows: how much later than now it was told [s], and what
    """
    before = usual(kind).sd ** 2
    own, keeps_s = (OWN_OF_THERMOMETER, THERMOMETER_KEEPS_S) if kind == THERMOMETER else (OWN, HAND_KEEPS_S)
    of_day = (1.0 - own) * before
    if kind == THERMOMETER:
        shown = max((abs(each.value) for _, each in rows if each.beside or each.sd**2 < before), default=0.0)
        before = as_rare(float(np.sqrt(before)), shown) ** 2
    at_s = np.array([when_s for when_s, _ in rows])
    value = np.array([each.value for _, each in rows])
    comes_again = own * before * np.exp(-np.abs(at_s[:, None] - at_s) / keeps_s)
    still = own * before * np.exp(-np.abs(at_s) / keeps_s)
    error = np.array([each.sd**2 + of_day for _, each in rows])
    for _ in range(2):  # twice, for one that is far off bends the others
        for i in range(value.size):
            pull = np.linalg.inv(comes_again + np.diag(error))
            square = float(pull[i] @ value) ** 2 / float(pull[i, i])  # against what all others foretell of it
            error[i] *= max(1.0, square / UNUSUAL)
    weight = np.linalg.solve(comes_again + np.diag(error), still)
    left = max(own * before - float(weight @ still), 0.0)
    return Bias(float(weight @ value), float(np.sqrt(left + of_day)))
