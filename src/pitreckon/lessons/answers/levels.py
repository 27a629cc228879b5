"""What a card's readers have in common, as levels: how their eyes, hands, clocks and pits are off as a whole.

Each level is a departure of all readers of one card from the readers of ``data/readers.toml``: of the middle of
something that is normal from reader to reader, of its spread, of the share that goes by the clock, of how late they
come. It has a spread of its own before anybody has answered (common practice, no source). A member is one simulated
reader, drawn a little wider than readers are; under other levels it counts for more or for less, and is not run anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, logit, logsumexp

from pitreckon.arrays import Floats
from pitreckon.lessons.answers.calling import Plates

MIDDLES: Final[dict[str, float]] = {
    "eye": 0.5,
    "finger": 0.5,
    "gap": 2.0,
    "held": 0.5,
    "offset": 0.3,
    "convection": 0.3,
    "scale": 0.3,
    "gelatin": 0.3,
    "colour": 0.3,
    "skin": 0.3,
    "leak": 0.3,
    "glaze": 0.3,
}
"""What is normal from reader to reader, and the spread of its middle, over its own spread."""
SPREADS: Final[dict[str, float]] = {"eye": 0.35, "finger": 0.35, "gap": 0.5, "tip": 0.4}
"""Whose spread is not known: spread of its logarithm."""
WIDER: Final[dict[str, float]] = {"eye": 1.4, "finger": 1.4, "gap": 3.0, "tip": 1.4}
"""So many times as wide are these drawn. Gap: many look at a pace of their own, whatever the card says."""
CLOCK_SD: Final = 0.8
"""Spread of the log odds of going by the clock."""
CLOCK_DRAWN: Final = 0.3
"""Share of the members that goes by the clock."""
LATE_DRAWN: Final = 4.0
"""Members come late by up to so many times ``late_s``."""
LATE_SD: Final = 0.8
LATE_RATE: Final = 1.6
"""Of the exponential by which they come late, over ``late_s``: half of it in the middle, as readers do."""
STRICT_SD: Final = 0.4
"""Of how strictly readers call a plate wrong, in the errors with which they feel it."""
LEFT_OVER_SD: Final = 0.25
TAIL: Final = 2.0
"""Spread of the log odds of a right plate that no level explains, and the degrees of freedom of its Student's t: a card
whose readers are nothing like the simulated ones is believed, and not explained away."""
MOST_LEFT_OVER: Final = 4.0
CLOCK, LATE, STRICT, LEFT_OVER = (len(MIDDLES) + len(SPREADS) + k for k in range(4))
COUNT: Final = LEFT_OVER + 1
SD: Final = np.array([*MIDDLES.values(), *SPREADS.values(), CLOCK_SD, LATE_SD, STRICT_SD, LEFT_OVER_SD])
SPREAD_OF: Final = tuple(list(MIDDLES).index(name) if name in MIDDLES else -1 for name in SPREADS)


@dataclass(frozen=True)
class Pool:
    """Members, shape (..., members); ``normal`` (..., members, middles) and ``tip`` in units of a reader's spread.

    clocked: goes by the clock; late: over ``late_s``; clock_share: of readers, before anybody has answered
    """

    normal: Floats
    tip: Floats
    clocked: Floats
    late: Floats
    clock_share: float

    def weight(self, levels: Floats) -> Floats:
        """Logarithm of what each member counts for under levels (``COUNT``,)."""
        sd, tip_sd = _spreads(levels)
        middle, tight = levels[: len(MIDDLES)], 1.0 / sd**2
        value = self._drawn + self.normal @ (middle * tight) - 0.5 * (self._squared @ tight)
        share = self._share(levels)
        looks, clocks = float(np.log((1.0 - share) / (1.0 - CLOCK_DRAWN))), float(np.log(share / CLOCK_DRAWN))
        rate = LATE_RATE * float(np.exp(levels[LATE]))
        value += (clocks - looks) * self.clocked - (0.5 / tip_sd**2) * self._tip_squared - rate * self.late
        rest = looks + np.log(LATE_DRAWN * rate / -np.expm1(-rate * LATE_DRAWN))
        return np.asarray(value + (rest - 0.5 * middle**2 @ tight - np.sum(np.log(sd)) - np.log(tip_sd)))

    def slope(self, levels: Floats) -> Floats:
        """The slope of ``weight`` by the levels, (..., COUNT); by how a plate is called: none."""
        count = len(MIDDLES)
        sd, tip_sd = _spreads(levels)
        found = np.zeros((*self.tip.shape, COUNT))
        off = (self.normal - levels[:count]) / sd
        found[..., :count] = off / sd
        for j, k in enumerate(SPREAD_OF):
            found[..., count + j] = (off[..., k] if k >= 0 else self.tip / tip_sd) ** 2 - 1.0
        found[..., CLOCK] = self.clocked - self._share(levels)
        rate = LATE_RATE * float(np.exp(levels[LATE]))
        gone = np.exp(-rate * LATE_DRAWN)
        found[..., LATE] = rate * (1.0 / rate - LATE_DRAWN * gone / (1.0 - gone) - self.late)
        return found

    def some(self, which: Sequence[int] | slice) -> Pool:
        """Those of some answers."""
        at = which if isinstance(which, slice) else list(which)
        return Pool(self.normal[at], self.tip[at], self.clocked[at], self.late[at], self.clock_share)

    @cached_property
    def _squared(self) -> Floats:
        return np.asarray(self.normal**2)

    @cached_property
    def _tip_squared(self) -> Floats:
        return np.asarray(self.tip**2)

    @cached_property
    def _drawn(self) -> Floats:
        """What comes of how they were drawn."""
        wide = _DRAWN
        value = 0.5 * np.sum((self.normal / wide) ** 2, axis=-1) + np.sum(np.log(wide))
        return np.asarray(value + 0.5 * (self.tip / WIDER["tip"]) ** 2 + np.log(WIDER["tip"]))

    def _share(self, levels: Floats) -> float:
        return float(expit(logit(self.clock_share) + levels[CLOCK]))


_DRAWN: Final = np.array([WIDER.get(name, 1.0) for name in MIDDLES])


def _spreads(levels: Floats) -> tuple[Floats, float]:
    """Of what is normal from reader to reader, and of the tip, over a usual reader's."""
    sd, tip_sd = np.ones(len(MIDDLES)), 1.0
    for value, k in zip(np.exp(levels[len(MIDDLES) : len(MIDDLES) + len(SPREADS)]), SPREAD_OF, strict=True):
        if k >= 0:
            sd[k] = value
        else:
            tip_sd = float(value)
    return sd, tip_sd


@dataclass(frozen=True)
class Told:
    """What answers tell of their members.

    fit: logarithm of how likely the times are that a reader wrote, (answers, members); plates: of the members
    named, denied: 1 for what the reader says was wrong, and for what would have been said, (faults, answers)
    """

    fit: Floats
    plates: Plates
    named: Floats
    denied: Floats

    @property
    def said_right(self) -> Floats:
        """1 for who found nothing wrong, (answers,)."""
        return np.asarray(np.sum(self.named, axis=0) < 0.5, dtype=np.float64)

    def some(self, which: Sequence[int] | slice) -> Told:
        """What some answers tell."""
        at = which if isinstance(which, slice) else list(which)
        return Told(self.fit[at], self.plates.some(at), self.named[:, at], self.denied[:, at])

    def log(self, strict: float, left_over: float) -> tuple[Floats, Floats, Floats]:
        """Logarithm of the likelihood, (answers, members), its slope by strictness, and by what is left over."""
        chance, grows = self.plates.called(strict), self.plates.slope(strict)
        log_none = np.log1p(-chance)
        named, denied, said = self.named[..., None], self.denied[..., None], self.said_right[:, None]
        none = np.sum(log_none, axis=0)
        by_named, by_none = grows / chance, grows / (chance - 1.0)
        grow_none = np.sum(by_none, axis=0)
        wrong = -np.expm1(none)
        odds = none - np.log(wrong) + left_over
        off = said - expit(odds)
        words = np.sum(named * np.log(chance) + denied * log_none, axis=0) - (1.0 - said) * np.log(wrong)
        by_words = np.sum(named * by_named + denied * by_none, axis=0) + (1.0 - said) * grow_none * (1.0 / wrong - 1.0)
        return self.fit + words + said * odds - np.logaddexp(0.0, odds), by_words + off * grow_none / wrong, off


@dataclass(frozen=True)
class Known:
    """What is known of the levels: their middle (COUNT,) and covariance, as a normal."""

    mean: Floats
    covariance: Floats

    def draws(self, n: int, seed: int) -> Floats:
        """Draws of them, (n, COUNT)."""
        rng = np.random.default_rng([seed, 7_331])
        root = np.linalg.cholesky(self.covariance + 1e-12 * np.eye(COUNT))
        return np.asarray(self.mean + rng.standard_normal((n, COUNT)) @ root.T)


def before_any(n: int, seed: int) -> Floats:
    """Draws of the levels of a card that nobody has answered, (n, COUNT); what is left over with its long tail."""
    rng = np.random.default_rng([seed, 7_331])
    found = rng.standard_normal((n, COUNT)) * SD
    found[:, LEFT_OVER] = np.clip(LEFT_OVER_SD * rng.standard_t(TAIL, n), -MOST_LEFT_OVER, MOST_LEFT_OVER)
    return np.asarray(found)


def learn_levels(pool: Pool, told: Told) -> Known:
    """The levels after the answers: the likeliest, and the curvature there (Laplace's method).

    pool: (answers, members) of each answer's own pit, altitude, setting and thickness
    """
    many = pool.tip.shape[1]

    def cost(levels: Floats) -> tuple[float, Floats]:
        weight, slope = pool.weight(levels), pool.slope(levels)
        said, slope[..., STRICT], slope[..., LEFT_OVER] = told.log(float(levels[STRICT]), float(levels[LEFT_OVER]))
        each = weight + said
        total = logsumexp(each, axis=1, keepdims=True)
        part = np.exp(each - total)
        gradient = np.einsum("nm,nmd->d", part, slope)
        value = float(np.sum(total)) - total.size * float(np.log(many))
        before, by_before = _before(levels)
        return before - value, by_before - gradient

    bounds = [(-2.5 * sd, 2.5 * sd) for sd in SD[:LEFT_OVER]] + [(-MOST_LEFT_OVER, MOST_LEFT_OVER)]
    mode = np.asarray(minimize(cost, np.zeros(COUNT), jac=True, method="L-BFGS-B", bounds=bounds).x)
    return Known(mode, _covariance(lambda at: cost(at)[1], mode))


def _before(levels: Floats) -> tuple[float, Floats]:
    """Less the logarithm of how likely levels are before the answers, and its slope."""
    value, slope = 0.5 * (levels / SD) ** 2, levels / SD**2
    left = float(levels[LEFT_OVER])
    value[LEFT_OVER] = 0.5 * (TAIL + 1.0) * np.log1p((left / LEFT_OVER_SD) ** 2 / TAIL)
    slope[LEFT_OVER] = (TAIL + 1.0) * left / (TAIL * LEFT_OVER_SD**2 + left**2)
    return float(np.sum(value)), slope


def _covariance(gradient: object, mode: Floats) -> Floats:
    """Inverse of the curvature; never wider in any direction than before the answers."""
    assert callable(gradient)
    rows = []
    for k in range(COUNT):
        step = np.zeros(COUNT)
        step[k] = 0.05 * SD[k]
        rows.append((gradient(mode + step) - gradient(mode - step)) / (2.0 * step[k]))
    scaled = np.array(rows) * SD[:, None] * SD[None, :]
    values, vectors = np.linalg.eigh(0.5 * (scaled + scaled.T))
    inverse = (vectors / np.maximum(values, 1.0)) @ vectors.T
    return np.asarray(inverse * SD[:, None] * SD[None, :])
