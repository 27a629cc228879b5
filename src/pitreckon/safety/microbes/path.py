"""Lethality and growth of every member along its temperature history, exact between two readings.

Histories are ``time_s`` (samples,), ``temp_c`` (samples,) or (samples, members). A temperature that is no number is a
reading that is not there. Before the first and after the last one of a member nothing is said of it; a gap between two
readings kills nothing, and lets microbes grow as fast as they can at any temperature.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon.arrays import Floats
from pitreckon.errors import InputError, Place

Between = Literal["straight", "trapezoid"]
Part = Literal["all", "come-up", "cooling"]

LN10 = log(10.0)
TABLE_C, TABLE_STEP_C = (0.0, 60.0), 0.01
LEVEL_K = 0.05
"""Below this difference of two readings the rate at their middle is taken [K]."""


@dataclass(frozen=True)
class Spans:
    """What lies between one reading of a member and its next, shape (samples - 1, members).

    seconds: 0 where there is nothing; gap: readings are missing between the two; after: from the hottest reading on
    """

    seconds: Floats
    from_c: Floats
    to_c: Floats
    gap: NDArray[np.bool_]
    after: NDArray[np.bool_]
    known: NDArray[np.bool_]


def spans_of(time_s: ArrayLike, temp_c: ArrayLike) -> Spans:
    """A history as spans between readings.

    Raises InputError: shapes that do not fit, fewer than two samples, times that do not rise or are no numbers
    """
    time = np.asarray(time_s, dtype=np.float64)
    temp = np.asarray(temp_c, dtype=np.float64)
    temp = temp[:, None] if temp.ndim == 1 else temp
    if time.ndim != 1 or temp.ndim != 2 or temp.shape[0] != time.size or time.size < 2 or temp.shape[1] == 0:
        raise InputError(
            f"{time.shape} times do not fit {temp.shape} temperatures",
            "Give at least two times, and a row of temperatures for each",
            Place(field="temp_c"),
        )
    if not np.all(np.isfinite(time)) or not np.all(np.diff(time) > 0.0):
        raise InputError("the times do not rise", "Sort the readings by time, each time once", Place(field="time_s"))
    here = np.isfinite(temp)
    if not here[~np.isnan(temp)].all() or (np.abs(temp[here]) > 300.0).any():
        raise InputError("a temperature is beyond 300 °C", "Leave out what cannot be true", Place(field="temp_c"))
    last = np.maximum.accumulate(np.where(here, np.arange(time.size)[:, None], -1), axis=0)
    before = last[:-1]
    there = here[1:] & (before >= 0)
    place = np.maximum(before, 0)
    from_c = np.where(there, np.take_along_axis(temp, place, axis=0), 0.0)
    hottest = np.argmax(np.where(here, temp, -np.inf), axis=0)
    return Spans(
        seconds=np.where(there, time[1:, None] - time[place], 0.0),
        from_c=from_c,
        to_c=np.where(there, temp[1:], 0.0),
        gap=there & (before < np.arange(time.size - 1)[:, None]),
        after=there & (place >= hottest),
        known=here.sum(axis=0) >= 2,
    )


def process_value(spans: Spans, ref_c: float, z_k: float, *, from_c: float, between: Between = "straight") -> Floats:
    """Seconds at the reference temperature that kill as much, per member; nan where nothing is known.

    spans: of ``spans_of``
    ref_c, z_k: of the microbe [degC, K]
    from_c: what is colder counts for nothing [degC]
    between: "straight" takes the temperature as straight between readings, which is never more than "trapezoid", the
        rule of the published worked example, which takes the lethal rate so
    """
    # The closed form of a straight rise: the logarithmic mean of the two rates.
    ends = [LN10 / z_k * (np.minimum(t, 150.0) - ref_c) for t in (spans.from_c, spans.to_c)]
    low, high = np.minimum(*ends), np.maximum(*ends)
    floor = LN10 / z_k * (from_c - ref_c)
    counted = np.where(high > floor, 1.0, 0.0)
    start = np.maximum(low, floor)
    climb = high - low
    if between == "trapezoid":
        rate = 0.5 * (np.where(low >= floor, np.exp(low), 0.0) + np.exp(high))
    else:
        rise = np.maximum(high - start, 0.0)
        rate = np.exp(start) * np.where(rise > 1e-9, np.expm1(rise) / np.maximum(rise, 1e-9), 1.0)
        rate *= np.where(climb > 1e-9, rise / np.maximum(climb, 1e-9), 1.0)
    total = np.sum(np.where(spans.gap, 0.0, spans.seconds * rate * counted), axis=0)
    return np.where(spans.known, total, np.nan)


@lru_cache(maxsize=16)
def _table(rate: Callable[[float], float]) -> tuple[Floats, Floats, float]:
    """A growth rate on a fine grid, its integral over temperature, and the fastest."""
    low, high = TABLE_C
    grid = np.linspace(low, high, round((high - low) / TABLE_STEP_C) + 1)
    rates = np.array([rate(float(t)) for t in grid])
    area = np.concatenate(([0.0], np.cumsum(0.5 * TABLE_STEP_C * (rates[1:] + rates[:-1]))))
    return rates, area, float(rates.max())


def _at(table: Floats, temp_c: Floats) -> Floats:
    """A table's values between its even knots; its ends hold beyond them."""
    place = np.clip((temp_c - TABLE_C[0]) / TABLE_STEP_C, 0.0, table.size - 1.0)
    knot = np.minimum(place.astype(np.int64), table.size - 2)
    low = table[knot]
    return np.asarray(low + (place - knot) * (table[knot + 1] - low))


def growth_drive(spans: Spans, rate: Callable[[float], float], part: Part = "all") -> Floats:
    """Time integral of a growth rate, natural logarithms, per member; nan where nothing is known.

    spans: of ``spans_of``
    rate: growth rate [1/s] at a temperature [degC], none below 0 or above 60 degC
    part: the whole history, up to its hottest reading, or from there on
    """
    rates, area, fastest = _table(rate)
    rise = spans.to_c - spans.from_c
    level = np.abs(rise) < LEVEL_K
    mean = (_at(area, spans.to_c) - _at(area, spans.from_c)) / np.where(level, 1.0, rise)
    mean[level] = _at(rates, 0.5 * (spans.from_c + spans.to_c)[level])
    grown = spans.seconds * np.where(spans.gap, fastest, mean)
    if part != "all":
        grown = np.where(spans.after == (part == "cooling"), grown, 0.0)
    return np.where(spans.known, grown.sum(axis=0), np.nan)


def growth_log10(drive: Floats, readiness: float, room_log10: float) -> Floats:
    """``physics.growth.growth_log10_baranyi_roberts`` over an array."""
    lag = 1.0 / (1.0 + readiness)  # 0 without one
    free = drive + np.log1p(np.expm1(-drive) * lag)
    over = free - LN10 * room_log10
    most = np.maximum(over, 0.0)
    crowd = most + np.log(np.exp(over - most) - np.exp(-most) * np.expm1(-LN10 * room_log10))
    return np.asarray(np.maximum(free - crowd, 0.0) / LN10)
