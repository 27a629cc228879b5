"""Which readings of a probe are of the middle of this piece: the rest is kept, marked, and never counts.

What is asked here is stricter than what a forecast asks. A forecast may use a probe that was moved to another place; a
rule may not, because a tip that jumps may sit in another piece, in the air, or in a warmer place than the coldest.
After a jump nothing counts until the readings come back to where they would have been.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon.arrays import Floats, Ints
from pitreckon.safety.history.bounds import LONGEST_GAP_S
from pitreckon.safety.history.history import MEASURED, MISSING, REJECTED, Series

COLDEST_C, TOO_HOT_C = -25.0, 104.0
"""Outside these it is no wet meat: a freezer's cold end, and water that salt and a low-lying pit let boil late."""
CONTACT_K, FASTEST_K_PER_S = 5.0, 0.025
"""What a change of contact may do, and how fast the middle of a piece of which nothing is known may warm
(common practice, no source)."""
WINDOW_S: Final = 300.0
"""A change is held against every reading of so long before, so that a slow instrument hides no jump [s]."""
TREND_S, COOLS_K_PER_S, LONGEST_AWAY_S = 1800.0, 0.002, 4 * 3600.0
"""Readings that come back, or come after a gap, must lie where the last half hour led, or a little below: a middle
slows down as it warms. After a longer absence nobody can tell [s], [K/s], [s]."""
LEADS: Final = 4.0
"""A trend leads on for so many times as long as it was seen: two readings of a minute say nothing of an hour (ours)."""
WARM_C, COLD_C = 50.0, 45.0
"""A tip that falls from above the one to below the other was pulled out: meat keeps its heat."""
NEAR_AIR_K: Final = 25.0
"""A record that begins so near to the pit's air, and hot, is one of the air [K]."""
IN_AIR_K: Final = 8.0
"""On the pit a reading so near to the pit's own air is one of the air at any time: water that evaporates keeps meat
below it, and hides in a wrap reach it long after any rule of cooking is met (common practice, no source) [K]."""
STUCK_S, STUCK_BAND_C = 3600.0, (15.0, 68.0)
"""A value that does not move by its last digit for so long is an instrument's, unless the meat stalls or is held."""
EARLY_S: Final = 1800.0
"""So long after put-on a tip may still be on its way into the meat [s]."""


@dataclass(frozen=True)
class Sifted:
    """The series with its marks, and what was found: (time [s], words)."""

    series: Series
    notes: tuple[tuple[float, str], ...]


def sift_probe(
    at_s: ArrayLike,
    value_c: ArrayLike,
    *,
    fastest_k_per_s: float = FASTEST_K_PER_S,
    air: tuple[ArrayLike, ArrayLike] | None = None,
    rejected: Sequence[bool] | None = None,
    cools_from_s: float = float("inf"),
    off_pit_s: float = float("inf"),
) -> Sifted:
    """Mark a probe's readings.

    at_s, value_c: shape (readings,), times rising [s], [degC]; nan where the instrument had nothing
    fastest_k_per_s: how fast the middle of this piece can warm [K/s]
    air: times and temperatures of the pit's air, if they are known
    rejected: readings that were rejected before
    cools_from_s: when it began to be chilled [s]; a jump after that leaves nothing to count
    off_pit_s: when it came off the pit [s]; after that its air is no measure
    """
    times, values = np.array(at_s, dtype=np.float64), np.array(value_c, dtype=np.float64)
    marks = np.full(times.size, MEASURED, dtype="<U9")
    notes: list[tuple[float, str]] = []
    marks[~np.isfinite(values)] = MISSING
    marks[np.isfinite(values) & ((values < COLDEST_C) | (values > TOO_HOT_C))] = REJECTED
    if rejected is not None:
        marks[np.array(rejected, dtype=bool)] = REJECTED
    in_air = _in_air(times, values, air, off_pit_s) & (marks == MEASURED)
    if in_air.any():
        marks[in_air] = REJECTED
        notes.append((float(times[np.argmax(in_air)]), "the probe reads like the pit's own air"))
    _reject_spikes(times, values, marks, fastest_k_per_s)
    good = np.flatnonzero(marks == MEASURED)
    parts = _parts(times[good], values[good], fastest_k_per_s)
    kept = np.zeros(times.size, dtype=bool)
    last: _Last | None = None
    for n, part in enumerate(parts):
        index = good[part]
        if last is None:
            following = values[good[parts[n + 1]]] if n + 1 < len(parts) else None
            if following is not None and _not_in_yet(times[index], values[index], following):
                notes.append((float(times[index[0]]), "the probe was not in the meat yet"))
                continue
            if _like_air(times[index], values[index], air):
                notes.append((float(times[index[0]]), "the probe reads like the air from the start"))
                continue
        if last is not None and not last.goes_on(float(times[index[0]]), float(values[index[0]])):
            between = good[(times[good] > last.at_s) & (times[good] <= times[index[0]])]
            first_c = float(values[between].min())
            fell = first_c < last.value_c
            notes.append((float(times[index[0]]), "the probe jumped: in the air, or in another place or piece"))
            pulled = last.value_c >= WARM_C and first_c < COLD_C
            if fell and not pulled and times[index[0]] < cools_from_s:
                kept &= ~(kept & (values > first_c))  # the warmer place was not the coldest one
            continue
        kept[index] = True
        until = kept & (times <= times[index[-1]])
        last = _Last.of(times[until], values[until], fastest_k_per_s)
    stuck = _stuck(times, values, kept)
    if stuck.any():
        notes.append((float(times[np.argmax(stuck)]), "the probe has stood still on one number"))
    kept &= ~stuck
    marks[(marks == MEASURED) & ~kept] = REJECTED
    return Sifted(Series.of(times, values, marks.tolist()), tuple(sorted(notes)))


def _reject_spikes(times: Floats, values: Floats, marks: NDArray[np.str_], rate: float) -> None:
    """A single reading off both its neighbours to the same side, while they agree with each other."""
    good = np.flatnonzero(marks == MEASURED)
    if good.size < 3:
        return
    t, v = times[good], values[good]
    allowed = CONTACT_K + rate * np.diff(t)
    step = np.diff(v)
    up, down = step > allowed, step < -allowed
    lone = (up[:-1] & down[1:]) | (down[:-1] & up[1:])
    agree = np.abs(v[2:] - v[:-2]) <= CONTACT_K + rate * (t[2:] - t[:-2])
    marks[good[1:-1][lone & agree]] = REJECTED


def _parts(t: Floats, v: Floats, rate: float) -> list[Ints]:
    """Runs of readings without a change that the meat could not make; what lies in such a change is in none."""
    if not t.size:
        return []
    n = t.size
    inside = np.zeros(n + 1)  # how many changes that cannot be a reading lies in, as differences
    begins, seen = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    for lag in range(1, n):
        gap = t[lag:] - t[:-lag]
        near = gap <= WINDOW_S if lag > 1 else np.ones(gap.size, dtype=bool)
        if not near.any():
            break
        too_fast = near & (np.abs(v[lag:] - v[:-lag]) > CONTACT_K + rate * gap)
        before = np.flatnonzero(too_fast & ~seen[lag:])  # of two such pairs the nearer tells where it began
        seen[before + lag] = True
        inside[before + 1] += 1.0  # all after the first of the two are on the way, or not meat
        inside[before + lag + 1] -= 1.0
        if lag == 1:
            begins[1:] = too_fast | (gap > LONGEST_GAP_S)
    jumped = np.cumsum(inside[:-1]) > 0.5
    # a run after a jump is kept as a run of its own as soon as it is calm; a lone coarse jump starts one at once
    coarse = begins & (np.insert(np.diff(t), 0, 0.0) > WINDOW_S)
    jumped &= ~coarse
    starts = np.flatnonzero((~jumped) & (np.insert(jumped[:-1], 0, True) | coarse))
    return [_run(int(s), jumped, coarse) for s in starts]


def _run(start: int, jumped: NDArray[np.bool_], coarse: NDArray[np.bool_]) -> Ints:
    end = start + 1
    while end < jumped.size and not jumped[end] and not coarse[end]:
        end += 1
    return np.arange(start, end)


@dataclass(frozen=True)
class _Last:
    """Where the readings that count have got to: time [s], value [degC]. trend: how fast up [K/s], for seen_s."""

    at_s: float
    value_c: float
    trend: float
    seen_s: float

    @classmethod
    def of(cls, t: Floats, v: Floats, rate: float) -> _Last:
        """rate: how fast the middle can warm [K/s]"""
        since = int(np.searchsorted(t, t[-1] - TREND_S))
        seen_s = float(t[-1] - t[since])
        trend = min(max(float(v[-1] - v[since]) / seen_s, 0.0), rate) if seen_s > 0.0 else 0.0
        return cls(float(t[-1]), float(v[-1]), trend, seen_s)

    def goes_on(self, at_s: float, value_c: float) -> bool:
        """Is this where the middle of the piece could have come to since then?"""
        away_s = at_s - self.at_s
        most = self.value_c + CONTACT_K + self.trend * min(away_s, LEADS * self.seen_s)
        least = self.value_c - CONTACT_K - COOLS_K_PER_S * away_s
        return away_s <= LONGEST_AWAY_S and least <= value_c <= most


def _not_in_yet(t: Floats, v: Floats, following: Floats) -> bool:
    """Was the first run one of a tip that was still on its way: warmer than what it then found in cold meat?"""
    found_c = float(following[0])
    warm_from_the_start = float(v[0]) > COLD_C
    standing = float(np.ptp(v)) <= CONTACT_K and float(t[-1]) <= EARLY_S
    return found_c < COLD_C and found_c < float(v[-1]) and (warm_from_the_start or standing)


def _like_air(t: Floats, v: Floats, air: tuple[ArrayLike, ArrayLike] | None) -> bool:
    """Does the first run begin hot and near the pit's air? A piece put on a fire does not."""
    if air is None or float(v[0]) <= COLD_C or not np.size(air[0]):
        return False
    return abs(float(v[0]) - float(np.interp(t[0], np.asarray(air[0], float), np.asarray(air[1], float)))) < NEAR_AIR_K


def _in_air(
    times: Floats, values: Floats, air: tuple[ArrayLike, ArrayLike] | None, off_pit_s: float
) -> NDArray[np.bool_]:
    """Readings that are the pit's air, hot and on the pit."""
    if air is None or not np.size(air[0]) or not times.size:
        return np.zeros(times.size, dtype=bool)
    here = np.interp(times, np.asarray(air[0], float), np.asarray(air[1], float))
    near = np.abs(np.where(np.isfinite(values), values, -np.inf) - here) < IN_AIR_K
    return np.asarray(near & (values > COLD_C) & (times <= off_pit_s))


def _stuck(times: Floats, values: Floats, kept: NDArray[np.bool_]) -> NDArray[np.bool_]:
    out = np.zeros(times.size, dtype=bool)
    index = np.flatnonzero(kept)
    if not index.size:
        return out
    edges = np.flatnonzero(np.diff(values[index]) != 0.0) + 1
    for run in np.split(index, edges):
        inside = STUCK_BAND_C[0] < values[run[0]] < STUCK_BAND_C[1]
        if inside and run.size > 3 and times[run[-1]] - times[run[0]] >= STUCK_S:
            out[run[1:]] = True
    return out
