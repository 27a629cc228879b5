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
from validation.twins.store import Row

Floats = NDArray[np.float64]
GROUP = np.array([int(i >= PITS) for i in range(len(UNKNOWNS))])
"""The pit's unknowns have one factor, the piece's another."""


@dataclass(frozen=True, eq=False)
class Telling:
    """One house: all numbers are departures from the catalog's middle, in the unknowns' units, (unknowns,).

    truth: of its first piece, nan where its thickness was measured; middle: of all such houses of its universe
    ready, ready_sd: how the logarithm of the time to ready hangs on each at put-on, and what none of them explains
    done, done_sd: the same of done; done_off: of how long it took, less what the middle foretells
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
    done: Floats
    done_sd: float
    done_off: float
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
    def heard(self) -> Floats:
        """What turns the lines' values into the vector of a log likelihood of all departures, (unknowns, lines)."""
        return self.slope.T / self.sd**2

    def message(self, names: Sequence[str]) -> tuple[Floats, Floats]:
        """What the lesson says of some departures, all others integrated out (posterior less prior): precision, (k, k),
        and what turns the lines' values into its vector, (k, lines).
        """
        if len(names) == len(UNKNOWNS):
            return self.heard @ self.slope, self.heard
        at = [ROW[name] for name in names]
        prior, all_told = self.prior, self.heard @ self.slope
        covariance = np.linalg.solve(np.eye(len(UNKNOWNS)) + prior @ all_told, prior)
        after, before = (np.linalg.inv(each[np.ix_(at, at)]) for each in (covariance, prior))
        size, axes = np.linalg.eigh(after - before)
        return (axes * np.maximum(size, 0.0)) @ axes.T, after @ (covariance @ self.heard)[at]

    @property
    def posterior(self) -> tuple[Floats, Floats]:
        """Mean and covariance of the departures by this one lesson."""
        prior, all_told = self.prior, self.heard @ self.slope
        covariance = np.linalg.solve(np.eye(len(UNKNOWNS)) + prior @ all_told, prior)
        return covariance @ (self.heard @ self.value), covariance


def tellings(rows: Sequence[Row]) -> list[Telling]:
    """One for each house."""
    return [_telling(list(of_one)) for _, of_one in groupby(rows, key=lambda row: row["index"])]


def _telling(rows: Sequence[Row]) -> Telling:
    first = rows[0]
    by_what = {row["what"]: row for row in rows}
    lines = [row for row in rows if row["what"] == "line"]
    cut, pit = catalog.cut(first["cut"]), catalog.pit(first["kind"])
    measured, many = first["measured"] == "1", first["many"] == "1"
    truth, middle = _numbers(by_what["truth"]), _numbers(by_what["middle"])
    if measured:  # what the ruler left unknown is not what pieces differ by
        truth[ROW["scale"]], middle[ROW["scale"]] = np.nan, 0.0
    return Telling(
        universe=int(first["universe"]),
        cut=first["cut"],
        kind=first["kind"],
        measured=measured,
        levels=levels_of(cut, pit, first["wrap"] or None, measured=measured, many=many),
        truth=truth,
        middle=middle,
        ready=_numbers(by_what["ready"]),
        ready_sd=float(by_what["ready"]["sd"]),
        done=_numbers(by_what["done"]),
        done_sd=float(by_what["done"]["sd"]),
        done_off=float(by_what["truth"]["value"]) - float(by_what["done"]["value"]),
        slope=np.array([_numbers(row) for row in lines]).reshape(-1, len(UNKNOWNS)),
        value=np.array([float(row["value"]) for row in lines]),
        sd=np.array([float(row["sd"]) for row in lines]),
    )


def _numbers(row: Row) -> Floats:
    return np.array([float(row[name]) for name in UNKNOWNS])
