"""What the rows of ``neighbours`` say, as arrays: truths, lessons and slopes of each house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.reckon.levels import EVERYWHERE, PITS, ROW, UNKNOWNS, Levels, levels_of
from pitreckon.reckon.update import Information
from validation.twins.pooling import Messages
from validation.twins.store import Row

Floats = NDArray[np.float64]
GROUP = np.array([int(i >= PITS) for i in range(len(UNKNOWNS))])
"""The pit's unknowns have one factor, the piece's another."""


@dataclass(frozen=True, eq=False)
class Telling:
    """One house: all numbers are departures from the catalog's middle, in the unknowns' units, (unknowns,).

    truth: of its first piece; middle: of all such houses of its universe
    ready, ready_sd: how the logarithm of the time to ready hangs on each at put-on, and what none of them explains
    slope, value, sd: the lines of its lesson
    """

    universe: int
    cut: str
    kind: str
    measured: bool
    levels: Levels
    truth: Floats
    middle: Floats
    ready: Floats
    ready_sd: float
    slope: Floats
    value: Floats
    sd: Floats

    @cached_property
    def loads(self) -> Floats:
        """Of the departures on all that houses have in common: fitted constants, then those that were not."""
        memory = np.zeros((len(UNKNOWNS), len(EVERYWHERE)))
        for i, name in enumerate(EVERYWHERE):
            memory[ROW[name], i] = self.levels.memory[ROW[name]]
        return np.concatenate([self.levels.loads, memory], axis=1)

    @property
    def prior(self) -> Floats:
        """Covariance of the departures before anything is known."""
        return self.loads @ self.loads.T + np.diag(self.levels.own**2)

    @property
    def information(self) -> Information:
        """What the lesson says of all departures."""
        return Information.of(self.slope, self.value, np.diag(self.sd**2))

    @property
    def posterior(self) -> tuple[Floats, Floats]:
        """Mean and covariance of the departures by this one lesson."""
        prior, told = self.prior, self.information
        gain = np.linalg.solve(np.eye(len(UNKNOWNS)) + told.precision @ prior, np.eye(len(UNKNOWNS)))
        covariance = prior @ gain
        return covariance @ told.vector, 0.5 * (covariance + covariance.T)

    def message(self, names: Sequence[str]) -> Information:
        """What the lesson says of some departures, all others integrated out: posterior less prior."""
        at = [ROW[name] for name in names]
        mean, covariance = self.posterior
        after, before = (np.linalg.inv(each[np.ix_(at, at)]) for each in (covariance, self.prior))
        size, axes = np.linalg.eigh(after - before)
        return Information((axes * np.maximum(size, 0.0)) @ axes.T, after @ mean[at])


def tellings(rows: Sequence[Row]) -> list[Telling]:
    """One for each house."""
    return [_telling(list(of_one)) for _, of_one in groupby(rows, key=lambda row: row["index"])]


def _telling(rows: Sequence[Row]) -> Telling:
    first = rows[0]
    by_what = {row["what"]: row for row in rows}
    lines = [row for row in rows if row["what"] == "line"]
    cut, pit = catalog.cut(first["cut"]), catalog.pit(first["kind"])
    measured, many = first["measured"] == "1", first["many"] == "1"
    return Telling(
        universe=int(first["universe"]),
        cut=first["cut"],
        kind=first["kind"],
        measured=measured,
        levels=levels_of(cut, pit, first["wrap"] or None, measured=measured, many=many),
        truth=_numbers(by_what["truth"]),
        middle=_numbers(by_what["middle"]),
        ready=_numbers(by_what["ready"]),
        ready_sd=float(by_what["ready"]["sd"]),
        slope=np.array([_numbers(row) for row in lines]).reshape(-1, len(UNKNOWNS)),
        value=np.array([float(row["value"]) for row in lines]),
        sd=np.array([float(row["sd"]) for row in lines]),
    )


def _numbers(row: Row) -> Floats:
    return np.array([float(row[name]) for name in UNKNOWNS])


def messages_of(
    houses: Sequence[Telling], names: Sequence[str], together: Sequence[Sequence[str]] | None = None
) -> Messages:
    """Of some levels; together: which of them a house tells in one, all by default."""
    at = [ROW[name] for name in names]
    place = {name: i for i, name in enumerate(names)}
    precision, vector = np.zeros((len(houses), len(at), len(at))), np.zeros((len(houses), len(at)))
    for house, of_precision, of_vector in zip(houses, precision, vector, strict=True):
        for part in together or (names,):
            told = house.message(part)
            spots = [place[name] for name in part]
            of_precision[np.ix_(spots, spots)] = told.precision
            of_vector[spots] = told.vector
    loads = np.array([house.loads[at] for house in houses])
    own = np.array([house.levels.own[at] for house in houses])
    return Messages(precision, vector, loads, own, GROUP[at])
