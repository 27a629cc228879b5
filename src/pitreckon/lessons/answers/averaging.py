"""Two reckonings of who gets the plate, averaged by how well each foretold the answers, one lot after another.

The levels say why a plate fails, but can bring about only what simulated readers can. Beside them stands a free share
that knows nothing of why: a beta law, centred on what is promised as far as promises hold. Bayesian model averaging
(Hoeting and others, Statistical Science 14, 1999; from memory): with even odds before any answer, each counts for the
probability that it gave to what came out. That of the free share is the beta-binomial's. That of the levels is the
product of what they foretold of each lot of answers from the answers before (the chain rule; prequential, Dawid 1984,
from memory), since times and faults of the earlier answers teach them too. So where answers contradict them, the share
follows the answers, and the range is that of the mixture.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.special import betaln, expit
from scipy.stats import beta

from pitreckon.arrays import Bools, Floats
from pitreckon.lessons.answers.calling import Plates
from pitreckon.lessons.answers.levels import LEFT_OVER, STRICT, Pool, Told, before_any, learn_levels

LOTS: Final = (0, 5, 10, 20, 40, 80)
"""Answers, after which levels are learned anew to foretell the next; then all the rest at once."""
FORETOLD_BY: Final = 100
"""Draws of the levels."""
PROMISE_WORTH: Final = 12.0
"""The free share counts what is promised as so many answers. On seventeen development populations (the seeds "fit" and
"tune" of ``validation/readers/trials.py``) the promise was off by 0.47 in log odds, which is worth some twenty answers;
it counts for fewer, since other readers may differ by more than those."""
GROUP_WORTH: Final = 8.0
"""The free share of a group counts that of all others as so many answers (common practice, no source)."""
NINE_IN_TEN: Final = (0.05, 0.95)
FREE_DRAWS: Final = 200


@dataclass(frozen=True, slots=True)
class Range:
    """A number and between what it lies, nine times in ten."""

    middle: float
    low: float
    high: float

    @classmethod
    def of(cls, draws: Floats) -> Range:
        """Of draws."""
        low, high = (float(each) for each in np.quantile(draws, NINE_IN_TEN))
        return cls(float(np.mean(draws)), low, high)

    @classmethod
    def counted(cls, got: int, of: int) -> Range:
        """Of a count: Jeffreys' interval (from memory)."""
        low, high = (float(beta.ppf(each, got + 0.5, of - got + 0.5)) for each in NINE_IN_TEN)
        return cls(got / max(of, 1), low, high)

    @classmethod
    def mixed(cls, one: Floats, other: Floats, weight: float) -> Range:
        """Of draws of two laws, of which the one counts for ``weight`` and the other for the rest."""
        draws = np.concatenate([one, other])
        counts = np.concatenate(
            [np.full(one.size, weight / one.size), np.full(other.size, (1.0 - weight) / other.size)]
        )
        low, high = np.quantile(draws, NINE_IN_TEN, weights=counts, method="inverted_cdf")
        return cls(float(counts @ draws), float(low), float(high))


@dataclass(frozen=True)
class FreeShare:
    """A share that knows nothing of why.

    promised: its middle before any answer, which counts as ``worth`` answers
    got: 1 for who got the plate, else 0, (answers,)
    """

    promised: float
    got: Floats
    worth: float = PROMISE_WORTH

    @property
    def log_evidence(self) -> float:
        """Logarithm of how likely the answers were, in their order: the beta-binomial's without its coefficient."""
        a, b = self._of(self.promised, self.worth)
        got = float(np.sum(self.got))
        return float(betaln(a + got, b + self.got.size - got) - betaln(a, b))

    def draws(self) -> Floats:
        """The share of all readers after the answers, (FREE_DRAWS,): at even steps of its law."""
        return self._after(np.ones(self.got.size, dtype=bool), self.promised, self.worth)

    def draws_of(self, which: Bools) -> Floats:
        """The share of those like some of the answers, which tend to be as all the others are; (FREE_DRAWS,)."""
        others = FreeShare(self.promised, self.got[~which], self.worth)
        return self._after(which, float(np.mean(others.draws())), GROUP_WORTH)

    def _after(self, which: Bools, middle: float, worth: float) -> Floats:
        a, b = self._of(middle, worth)
        got, of = float(np.sum(self.got[which])), float(np.sum(which))
        steps = (np.arange(FREE_DRAWS) + 0.5) / FREE_DRAWS
        return np.asarray(beta.ppf(steps, a + got, b + of - got))

    @staticmethod
    def _of(middle: float, worth: float) -> tuple[float, float]:
        inside = min(max(middle, 0.02), 0.98)
        return worth * inside, worth * (1.0 - inside)


def belief(pool: Pool, told: Told, free: FreeShare, seed: int) -> float:
    """What the levels count for beside a free share, between 0 and 1.

    pool: (answers, members); told: of the same answers
    """
    return float(expit(levels_evidence(pool, told, seed) - free.log_evidence))


def levels_evidence(pool: Pool, told: Told, seed: int) -> float:
    """Logarithm of how likely the levels held what came out, each lot foretold from the answers before it."""
    n = told.said_right.size
    total = 0.0
    for begin, end in pairwise([*(lot for lot in LOTS if lot < n), n]):
        now = slice(begin, end)
        known = learn_levels(pool.some(slice(begin)), told.some(slice(begin))) if begin else None
        levels = before_any(FORETOLD_BY, seed) if known is None else known.draws(FORETOLD_BY, seed)
        total += foretold(pool.some(now), told.some(now), levels)
    return total


def foretold(pool: Pool, told: Told, levels: Floats) -> float:
    """Logarithm of how likely some answers were to get the plate as they did. levels: draws of them, (draws, COUNT)"""
    logs = np.empty(len(levels))
    for d, at in enumerate(levels):
        chance = np.clip(share_of_each(pool, told.plates, at), 1e-4, 1.0 - 1e-4)
        logs[d] = np.sum(np.where(told.said_right > 0.5, np.log(chance), np.log1p(-chance)))
    return float(np.logaddexp.reduce(logs) - np.log(logs.size))


def share_of_each(pool: Pool, plates: Plates, levels: Floats) -> Floats:
    """Share of right plates among the like of each answer, under levels, (answers,); of one pool of members: ()."""
    right = plates.right(float(levels[STRICT]), float(levels[LEFT_OVER]))
    return np.asarray(np.sum(weights_of(pool, levels) * right, axis=-1))


def weights_of(pool: Pool, levels: Floats) -> Floats:
    """What members count for under levels, the last axis of sum 1."""
    logs = pool.weight(levels)
    weight = np.exp(logs - logs.max(axis=-1, keepdims=True))
    return np.asarray(weight / weight.sum(axis=-1, keepdims=True))
