"""Temperatures over time as they are reckoned, with their bands, for the chart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.reckon.quantiles import quantiles_of

if TYPE_CHECKING:
    from pitreckon.reckon.forecast import Reckoning

POINTS: Final = 90


def thinned(count: int, most: int) -> list[int]:
    """Which of ``count`` points are drawn, about ``most`` of them, the newest always.

    >>> thinned(7, 3), thinned(2, 3)
    ([0, 2, 4, 6], [0, 1])
    """
    kept = list(range(0, count, max(count // most, 1)))
    return kept if count == 0 or kept[-1] == count - 1 else [*kept, count - 1]


@dataclass(frozen=True, slots=True)
class Series:
    """One line with its band.

    channel: core or pit; on: the item's or the pit's label
    at_s: epoch seconds; low_c, mid_c, high_c: 5, 50 and 95 % [degC], None where it is not known
    """

    channel: str
    on: str
    at_s: tuple[int, ...]
    low_c: tuple[float | None, ...]
    mid_c: tuple[float | None, ...]
    high_c: tuple[float | None, ...]


def series_of(done: Reckoning) -> tuple[Series, ...]:
    """The core of every item, and the air of every pit at the grate."""
    out, pits = [], dict[str, Series]()
    for run in done.runs:
        zero, weights = run.put_on_utc.timestamp(), run.evidence.weights
        end_s = _end_s(done, run.item.label, zero)
        keep = thinned(min(int(np.searchsorted(run.trace.time_s, end_s)) + 1, run.trace.time_s.size), POINTS)
        out.append(_series("core", run.item.label, zero + run.trace.time_s[keep], run.trace["core_c"][keep], weights))
        minutes = np.array(thinned(min(int(end_s / 60.0) + 1, run.air_c.shape[0]), POINTS))
        air = _series("pit", run.item.pit, zero + minutes * 60.0, run.air_c[minutes], weights)
        longest = pits.get(run.item.pit)
        if longest is None or air.at_s[:1] < longest.at_s[:1]:
            pits[run.item.pit] = air
    return (*pits.values(), *out)


def _end_s(done: Reckoning, label: str, zero: float) -> float:
    """How far an item is drawn [s since put-on]: to past serving, or past ready."""
    item = done.outlook.item(label)
    ends = [done.outlook.now_utc.timestamp() - zero]
    if done.outlook.serve_utc is not None:
        ends.append(done.outlook.serve_utc.timestamp() - zero)
    ready = item.marks["ready"]
    ends += [value for value in (ready.p50, ready.p95) if math.isfinite(value)][-1:]
    return max(ends) + 1800.0


def _series(
    what: str, on: str, at_s: NDArray[np.float64], values: NDArray[np.float64], weights: NDArray[np.float64]
) -> Series:
    spreads = [quantiles_of(row, weights) for row in values]
    return Series(
        what,
        on,
        tuple(int(at) for at in at_s),
        tuple(_number(s.p05) for s in spreads),
        tuple(_number(s.p50) for s in spreads),
        tuple(_number(s.p95) for s in spreads),
    )


def _number(value: float) -> float | None:
    return round(value, 2) if math.isfinite(value) else None
