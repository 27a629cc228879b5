"""What pooled messages would be worth to a house that is new: resampled from what twins really told.

Half of the universes (even numbers) tell, the other half are who is new; that was fixed before any was run. Each
replicate draws a universe: constants from the catalog's prior and, in the world ``other``, the sides to which its laws
are off. So many cooks are drawn from the lessons of the telling half, with their slopes, errors and kinds as they were
measured; what is a house's own and its lesson's error keeps its size and has a sign drawn for each cook (the wild
bootstrap: Liu 1988, from memory), so that a hundred thousand cooks do not all have the luck of eighty. What lessons are
off by on average, in all universes alike, no number of cooks takes away; it is found on the half that is new and
added to every message.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.reckon.levels import PITS, ROW, UNKNOWNS
from validation.twins.pooling import Messages, Pooled, common_given, doubted, doubts, noise_sd, pool_robustly
from validation.twins.streams import stream
from validation.twins.tellings import Telling

Floats = NDArray[np.float64]

LEVELS: Final = ("offset", "wall", "convection", "scale", "gelatin", "colour")
"""What a house would tell of: the levels that the time to ready hangs on most."""
AT: Final = np.array([ROW[name] for name in LEVELS])
FORMS: Final[dict[str, tuple[tuple[str, ...], ...]]] = {
    "all lines": (UNKNOWNS,),
    "six levels together": (LEVELS,),
    "six levels, each by itself": tuple((name,) for name in LEVELS),
    "how long it took": (),
}
"""What might be sent: levels told in one, with how they hang together, all others integrated out; or nothing of the
lesson, but the time to done over that foretold at put-on.
"""
TIMED_SD: Final = 0.03
"""Error of the logarithm of how long it took, as it is written down: common practice, no source."""
SEED: Final = 20261207
SIZES: Final = (10, 1_000, 100_000)
REPLICATES: Final = 80
FACTOR_SD: Final = 1.0
"""Prior spread of the logarithm of the factors of own variances."""
Z90: Final = 1.6449
DELTA: Final = 1e-6
"""Chance that the noise hides less than it should."""
PRIOR_OF_BIAS: Final = 1.0
"""Spread of what lessons are off by on average, over own spreads: what the telling half leaves open is allowed for."""
LAWS: Final[tuple[dict[str, float], ...]] = (
    {"crust_n": 0.7},
    {"crust": 0.35},
    {"leak": 1.0, "permeance": 0.4},
    {"gelatin_ea": 18e3, "colour_ea": 18e3},
    {"scale": 0.075},
)
"""How far ``worlds`` has its laws off in the world "other", to one side or the other, by unknown; how a tender piece
feels, the sixth, is none."""


@dataclass(frozen=True, eq=False)
class Side:
    """Half of the houses and what they send.

    messages: moved so that the middle of each universe is at 0; weights: what turns the values of a lesson's lines into
    its message's vector, (k, lines) each; loads: of all unknowns on the numbers in common, (houses, unknowns, c)
    """

    houses: Sequence[Telling]
    messages: Messages
    weights: Sequence[Floats]
    loads: Floats

    @property
    def own(self) -> Floats:
        """Truth less middle of the six levels, nan where a cook measured, (houses, 6)."""
        return np.array([(house.truth - house.middle)[AT] for house in self.houses])


def sides(houses: Sequence[Telling], form: str) -> tuple[Side, Side]:
    """Who tells, and who is new; the numbers in common turned to those few on which anything hangs."""
    loads = np.array([house.loads for house in houses])
    _, size, axes = np.linalg.svd(loads.reshape(-1, loads.shape[2]), full_matrices=False)
    loads = loads @ axes[size > 1e-6 * size[0]].T
    if FORMS[form]:
        messages, weights = _of_levels(houses, FORMS[form], loads)
    else:
        houses = [_timed(house) for house in houses]
        messages, weights = _of_times(houses, loads)
    told, new = (np.array([i for i, house in enumerate(houses) if house.universe % 2 == odd]) for odd in (0, 1))
    first, second = (
        Side([houses[i] for i in half], messages.at(half), [weights[i] for i in half], loads[half])
        for half in (told, new)
    )
    return first, second


def _of_levels(
    houses: Sequence[Telling], parts: Sequence[Sequence[str]], loads: Floats
) -> tuple[Messages, list[Floats]]:
    names = [name for part in parts for name in part]
    at = np.array([ROW[name] for name in names])
    precisions, vectors, weights = [], [], []
    for house in houses:
        precision, weight = np.zeros((at.size, at.size)), np.zeros((at.size, house.value.size))
        for part in parts:
            spots = [names.index(name) for name in part]
            precision[np.ix_(spots, spots)], weight[spots] = house.message(part)
        precisions.append(precision)
        weights.append(weight)
        vectors.append(weight @ (house.value - house.slope @ house.middle))
    own = np.array([house.levels.own[at] for house in houses])
    group = (at >= PITS).astype(np.int64)
    return Messages(np.array(precisions), np.array(vectors), loads[:, at], own, group), weights


def _timed(house: Telling) -> Telling:
    """As if its lesson were one line: how long it took."""
    sd = np.array([np.hypot(house.done_sd, TIMED_SD)])
    return replace(house, slope=house.done[None, :], value=np.array([house.done_off]), sd=sd)


def _of_times(houses: Sequence[Telling], loads: Floats) -> tuple[Messages, list[Floats]]:
    """One level: how much slower than foretold."""
    weights = [house.sd[:, None] ** -2 for house in houses]
    off = np.array([house.value - house.slope @ house.middle for house in houses])
    slope = np.array([house.slope for house in houses])
    own = np.sqrt(np.array([house.slope**2 @ house.levels.own**2 for house in houses]))
    precision = np.array(weights)
    return Messages(precision, precision[:, 0] * off, slope @ loads, own, np.zeros(1, np.int64)), weights


def spreads(side: Side) -> Pooled:
    """The factors of own variances by the messages of a half, and the error of each."""
    return pool_robustly(side.messages, np.ones(len(side.houses)), FACTOR_SD)


def bias(side: Side) -> tuple[Floats, Floats]:
    """What lessons are off by on average in all universes, over own spreads, (k,), and its covariance."""
    unit, k = side.messages.own, side.messages.own.shape[1]
    in_units = Messages(
        side.messages.precision * unit[:, :, None] * unit[:, None, :],
        side.messages.vector * unit,
        np.tile(PRIOR_OF_BIAS * np.eye(k), (len(side.houses), 1, 1)),
        np.ones_like(unit),
        side.messages.group,
    )
    found = pool_robustly(in_units, np.ones(len(side.houses)), FACTOR_SD)
    return PRIOR_OF_BIAS * found.mean, PRIOR_OF_BIAS**2 * found.covariance


@dataclass(frozen=True, eq=False)
class Estimate:
    """Of the numbers in common: mean, (c,), covariance, and how the mean hangs on what lessons are off by, (c, k)."""

    mean: Floats
    covariance: Floats
    by_bias: Floats


@dataclass(frozen=True, eq=False)
class Crowd:
    """Cooks as they are drawn. precision: of each message, its house's own integrated out, (houses, k, k)

    by_common, by_off: of its vector on the numbers in common and on departures of all unknowns; by_self: what is the
    house's own and the lesson's error, (houses, k, ...); factors: of own variances
    """

    side: Side
    precision: Floats
    by_common: Floats
    by_off: Floats
    by_self: Floats
    factors: Floats

    @classmethod
    def of(cls, side: Side, factors: Floats) -> Crowd:
        """With odd houses doubted."""
        found = common_given(side.messages, np.ones(len(side.houses)), factors)
        doubt = doubts(side.messages, Pooled(found[0], found[1], factors, np.zeros(factors.size)))
        heard = doubted(side.messages, doubt)
        precision, _, _ = heard.of_common(factors)
        k = precision.shape[1]
        by_common, by_off, by_self = [], [], []
        for i, house in enumerate(side.houses):
            own2 = heard.own[i] ** 2 * factors[heard.group]
            weight = np.linalg.solve(np.eye(k) + heard.precision[i] * own2, side.weights[i] / doubt[i])
            by_off.append(weight @ house.slope)
            by_common.append(by_off[-1] @ side.loads[i])
            by_self.append(weight @ (house.value - house.slope @ house.middle))
        return cls(side, precision, np.array(by_common), np.array(by_off), np.array(by_self), factors)

    def told(self, common: Floats, law: Floats, over_own: Floats, counts: Floats, rng: np.random.Generator) -> Floats:
        """Sums of vectors of so many cooks of each house, (houses, k).

        law: departures that all have and no constant accounts for, (unknowns,); over_own: what lessons are off by, (k,)
        """
        flips = 2.0 * rng.binomial(counts.astype(np.int64), 0.5) - counts
        alike = self.by_common @ common + self.by_off @ law + self.by_bias @ over_own
        return counts[:, None] * alike + flips[:, None] * self.by_self

    @property
    def by_bias(self) -> Floats:
        """Of each vector on what lessons are off by, over own spreads, (houses, k, k)."""
        return self.precision * self.side.messages.own[:, None, :]

    def pooled(self, vectors: Floats, counts: Floats) -> Estimate:
        """The numbers in common from the sums of all that is told."""
        messages = self.side.messages
        return _solved(messages.loads, counts[:, None, None] * self.precision, vectors, messages.own)

    def hidden(
        self, vectors: Floats, counts: Floats, epsilon: float, rng: np.random.Generator
    ) -> tuple[Floats, Floats]:
        """The same from sums by kind of pit and cut that no single house can be told from; shares are cut to the median
        of their norms.
        """
        loads, unit = self.side.messages.loads, self.side.messages.own.mean(axis=0)
        k = unit.size
        rows, columns = np.triu_indices(k)
        scaled = self.precision * np.outer(unit, unit)
        norm = np.sqrt(np.sum(scaled[:, rows, columns] ** 2, axis=1) + np.sum((self.by_self * unit) ** 2, axis=1))
        bound = float(np.median(norm[norm > 0.0]))
        share = np.minimum(1.0, bound / np.maximum(norm, 1e-12))
        sd = noise_sd(epsilon, DELTA, bound)
        where = [(house.kind, house.cut) for house in self.side.houses]
        precision, vector, of_cell = [], [], []
        for cell in sorted(set(where)):
            mine = np.array([each == cell for each in where])
            matrix = np.einsum("n,nij->ij", (counts * share)[mine], scaled[mine])
            noise = np.zeros((k, k))
            noise[rows, columns] = sd * rng.standard_normal(rows.size)
            matrix += noise + np.triu(noise, 1).T
            pull = np.sum(vectors[mine] * unit * share[mine, None], axis=0) + sd * rng.standard_normal(k)
            size, axes = np.linalg.eigh(matrix)
            size = np.where(size > 2.0 * sd * np.sqrt(k), size, 0.0)  # what noise alone may make says nothing
            known = size / (size + sd * sd)  # errors of a sum are its own and the noise
            precision.append((axes * (size * known)) @ axes.T / np.outer(unit, unit))
            vector.append(axes @ (known * (axes.T @ pull)) / unit)
            of_cell.append(loads[mine].mean(axis=0))
        return _solved(np.array(of_cell), np.array(precision), np.array(vector), np.tile(unit, (len(of_cell), 1)))


def _solved(loads: Floats, precision: Floats, vector: Floats, own: Floats) -> Estimate:
    heard = np.einsum("nic,nij->ncj", loads, precision)
    covariance = np.linalg.inv(np.eye(loads.shape[2]) + np.einsum("ncj,njd->cd", heard, loads))
    mean = covariance @ np.einsum("nic,ni->c", loads, vector)
    return Estimate(mean, covariance, covariance @ np.einsum("ncj,nj->cj", heard, own))


@dataclass(frozen=True)
class Worth:
    """Of one size, over replicates and houses that are new.

    own: spread of what is a house's own, as the catalog has it, (6,)
    before, said, real: of the middle of such houses: its spread by the catalog, as pooling has it, as it was off, (6,)
    covered, allowed: share of new houses inside 90 %, without and with what is allowed for the bias, (6,)
    width: of the first window of ready over today's, with what is allowed
    error, least: root mean square error of the logarithm of the time to ready, over today's: as it was, and were all
    middles known
    """

    size: int
    own: Floats
    before: Floats
    said: Floats
    real: Floats
    covered: Floats
    allowed: Floats
    width: float
    error: float
    least: float

    @property
    def prior(self) -> Floats:
        """Spread of a new house's prior over that of today's, (6,)."""
        return np.sqrt((self.own**2 + self.said**2) / (self.own**2 + self.before**2))


def worth(
    crowd: Crowd, new: Side, happens: Floats, of_bias: Floats, size: int, world: str, epsilon: float | None = None
) -> Worth:
    """Of so many cooks.

    happens: what lessons are off by, over own spreads, (k,); of_bias: what is allowed for it, (k, k)
    world: names the draws; in "other" laws are off; epsilon: of the noise; None: without
    """
    ready = np.array([house.ready for house in new.houses])
    own2 = np.array([house.levels.own**2 for house in new.houses])
    left = np.array([house.ready_sd**2 for house in new.houses]) + np.sum(ready**2 * own2, axis=1)
    by_common = np.einsum("nu,nuc->nc", ready, new.loads)
    six = new.loads[:, AT]
    today, after, given, said2, off2, inside, allowed = [], [], [], [], [], [], []
    for replicate in range(REPLICATES):
        of_universe = stream(SEED, replicate, f"pooled universe {world}")
        common = of_universe.standard_normal(new.loads.shape[2])
        law = _law(of_universe) if world == "other" else np.zeros(len(UNKNOWNS))
        rng = stream(SEED, replicate, f"pooled cooks {world} {size}")
        counts = rng.multinomial(size, np.full(crowd.precision.shape[0], 1.0 / crowd.precision.shape[0])) * 1.0
        vectors = crowd.told(common, law, happens, counts, rng)
        got = crowd.pooled(vectors, counts) if epsilon is None else crowd.hidden(vectors, counts, epsilon, rng)
        wide = got.covariance + got.by_bias @ of_bias @ got.by_bias.T
        miss = new.loads @ (got.mean - common) - law
        far = np.abs(new.own - miss[:, AT])
        var, wider = (np.einsum("nkc,cd,nkd->nk", six, each, six) for each in (got.covariance, wide))
        said2.append(np.mean(var, axis=0))
        off2.append(np.mean(miss[:, AT] ** 2, axis=0))
        inside.append(_share(far <= Z90 * np.sqrt(var + own2[:, AT]), np.isfinite(far)))
        allowed.append(_share(far <= Z90 * np.sqrt(wider + own2[:, AT]), np.isfinite(far)))
        today.append((by_common @ common + ready @ law) ** 2)
        after.append(np.sum(ready * miss, axis=1) ** 2)
        given.append(np.einsum("nc,cd,nd->n", by_common, wide, by_common))
    was = left + np.sum(by_common**2, axis=1)
    return Worth(
        size,
        np.sqrt(np.mean(own2[:, AT], axis=0)),
        np.sqrt(np.mean(np.sum(six**2, axis=2), axis=0)),
        *(np.sqrt(np.mean(each, axis=0)) for each in (said2, off2)),
        *(np.mean(each, axis=0) for each in (inside, allowed)),
        float(np.mean(np.sqrt((left + np.mean(given, axis=0)) / was))),
        float(np.mean(np.sqrt((left + np.mean(after, axis=0)) / (left + np.mean(today, axis=0))))),
        float(np.mean(np.sqrt(left / (left + np.mean(today, axis=0))))),
    )


def guessed(side: Side, name: str) -> float:
    """Spread of what is a house's own of a level once its message is read, over that of before; all middles known."""
    at, left = ROW[name], []
    for house in side.houses:
        own2 = house.levels.own**2
        seen = house.slope * own2
        left.append(
            1.0 - seen[:, at] @ np.linalg.solve(seen @ house.slope.T + np.diag(house.sd**2), seen[:, at]) / own2[at]
        )
    return float(np.sqrt(np.mean(left)))


def _share(inside: NDArray[np.bool_], seen: NDArray[np.bool_]) -> Floats:
    return np.asarray(np.sum(inside & seen, axis=0) / np.sum(seen, axis=0))


def _law(rng: np.random.Generator) -> Floats:
    out = np.zeros(len(UNKNOWNS))
    for law in LAWS:
        side = float(rng.choice([-1.0, 1.0]))
        for name, off in law.items():
            out[ROW[name]] += side * off
    return out
