"""What it is expected to cost to go for a thing at a time: early is a trip for nothing, late spoils.

All costs are seconds of the cook's time; the weights are :class:`pitreckon.ledger.TripCosts`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pitreckon.arrays import Floats, Ints
from pitreckon.cook import TripCosts

Places = Ints

_STEPS = ((60.0, 1800.0), (300.0, 4 * 3600.0), (600.0, 10 * 3600.0), (1200.0, np.inf))
"""Step of the grid and up to when it is used [s from now]: finer near now."""
_TIGHT_S = 300.0
"""Step of the grid past the last opening [s]."""
COVERED = 0.98
"""The grid goes on until each thing can be done with this chance, among the members in which it ever can."""

LEAST_OPEN = 0.25
"""Nobody comes for a thing that can be done with less than this chance: common practice, no source."""


@dataclass(frozen=True)
class Due:
    """A thing to be done, for every member, in seconds from now.

    item: whose; steps of one item are done in their order, and no two of them on one trip
    pit: whose lid has to be opened; None: none
    opens_s, closes_s: when it can be done and when it is too late, shape (members,); nan: never
    weights: of the members, shape (members,)
    carries: what is late before it in the item makes it later by as much
    """

    item: str
    pit: str | None
    opens_s: Floats
    closes_s: Floats
    weights: Floats
    carries: bool = False


def clock_grid(due: Sequence[Due]) -> Floats:
    """Times at which a trip can begin [s from now], rising from 0; the middle of each opening is one of them.

    After the last opening there is room for a trip for each thing.
    """
    middles, end = [_opened(each, 0.5) for each in due], max(_last(due), _STEPS[0][1])
    parts, begin = [], 0.0
    for step, until in _STEPS:
        stop = min(until, end)
        parts.append(np.arange(begin, stop, step))
        begin = max(begin, stop)
    return np.unique(np.concatenate([*parts, np.array(middles), end + _TIGHT_S * np.arange(len(due) + 2)]))


def reaching(grid_s: Floats, due: Sequence[Due], room: int) -> Floats:
    """The grid, made longer where these things have moved too near its end for as many trips as ``room`` after."""
    end = _last(due) + _TIGHT_S * (room + 2)
    return grid_s if end <= grid_s[-1] else np.append(grid_s, np.arange(grid_s[-1], end, _TIGHT_S) + _TIGHT_S)


def _last(due: Sequence[Due]) -> float:
    return max(_opened(each, COVERED) for each in due)


def _opened(each: Due, share: float) -> float:
    """By when a thing can be done in this share of the members that get there [s from now]."""
    opens, _, w = _reached(each)
    order = np.argsort(opens)
    return float(opens[order][min(int(np.searchsorted(np.cumsum(w[order]), share)), order.size - 1)])


@dataclass(frozen=True)
class Curves:
    """What going for each thing at each time of a grid is expected to bring; all of shape (things, times).

    cost_s: [s of the cook's time] without the trip and its lid, inf where the chance is below ``LEAST_OPEN``
    open: chance that it can be done then; again: where in the grid to come again if it cannot
    """

    cost_s: Floats
    open: Floats
    again: Places


def cost_curves(due: Sequence[Due], grid_s: Floats, costs: TripCosts) -> Curves:
    """Expected cost of going for each thing at each time of the grid [s from now].

    Without the trip itself and its lid, which things that are done together share. A member that can be done
    pays for its lateness. One that cannot yet needs another trip for it, at the time after this one that is
    then the best, and so on: the walk (or the wait at the pit until then, if that is shorter), the lid again,
    and what it is late by then. That later trip is reckoned as if it were for this thing alone.
    """
    t, lid = grid_s, np.array([0.0 if each.pit is None else costs.lid_s for each in due])
    whose, cell, opens, closes, w = _members(due, t)
    place, shape, more = whose * t.size + cell, (len(due), t.size), costs.too_late - costs.late
    can = _summed(place, w, shape)
    past = np.searchsorted(t, closes, side="left")
    inside = past < t.size
    shut_place, shut_w = (whose * t.size + past)[inside], w[inside]
    done = costs.late * (t * can - _summed(place, w * opens, shape))
    done += more * (t * _summed(shut_place, shut_w, shape) - _summed(shut_place, shut_w * closes[inside], shape))
    last = np.maximum(1.0 - can, 0.0) * (costs.walk_s + lid)[:, None]
    # Between its first fair chance and near certainty a thing is worth coming for again; before it nobody comes.
    low, high = np.argmax(can >= LEAST_OPEN, axis=1), np.argmax(can >= COVERED, axis=1)
    width = int(np.max(high - low)) + 1
    column = np.minimum(low[:, None] + np.arange(width), t.size - 1)
    late = _late_by_cell(t[column], whose, cell - low[whose], past - low[whose], opens, closes, w, costs)
    again, where = np.take_along_axis(last, column, axis=1), np.repeat(column[:, -1:], width, axis=1)
    shut = 1.0 - np.take_along_axis(can, column, axis=1)
    to = np.take_along_axis(done, column, axis=1)
    things = np.arange(len(due))
    for i in range(width - 2, -1, -1):
        way = np.minimum(t[column[:, i + 1 :]] - t[column[:, i, None]], costs.walk_s) + lid[:, None]
        ahead = way * shut[:, i, None] + to[:, i + 1 :] + again[:, i + 1 :] - late[:, i, i + 1 :]
        best = np.argmin(ahead, axis=1)
        inner = column[:, i] < high
        where[:, i] = np.where(inner, column[things, i + 1 + best], t.size - 1)
        again[:, i] = np.where(inner, ahead[things, best], again[:, i])
    cost, back = done + last, np.full(shape, t.size - 1)
    np.put_along_axis(cost, column, to + again, axis=1)
    np.put_along_axis(back, column, where, axis=1)
    return Curves(np.where(can < LEAST_OPEN, np.inf, cost), can, back)


def _reached(each: Due) -> tuple[Floats, Floats, Floats]:
    """Openings, closings and weights of the members that get there; what opened before now is open now."""
    there = np.isfinite(each.opens_s) & (each.weights > 0.0)
    opens, w = np.maximum(each.opens_s[there], 0.0), each.weights[there]
    closes = np.where(np.isnan(each.closes_s[there]), np.inf, each.closes_s[there])
    return opens, np.maximum(closes, opens), w / w.sum()


def _members(due: Sequence[Due], t: Floats) -> tuple[Places, Places, Floats, Floats, Floats]:
    """Of all things in one row: whose, the grid's first time not before the opening, opening, closing and weight
    of each member; members that open after the grid are left out."""
    whose, cells, parts = [], [], []
    for k, each in enumerate(due):
        opens, closes, w = _reached(each)
        cell = np.searchsorted(t, opens, side="left")
        inside = cell < t.size
        cells.append(cell[inside])
        whose.append(np.full(cells[-1].size, k))
        parts.append(np.stack((opens, closes, w))[:, inside])
    opens, closes, w = np.concatenate(parts, axis=1)
    return np.concatenate(whose), np.concatenate(cells), opens, closes, w


def _summed(place: Places, w: Floats, shape: tuple[int, ...]) -> Floats:
    """Weights put in their places of an array and summed up along its last axis."""
    return np.cumsum(np.bincount(place, w, int(np.prod(shape))).reshape(shape), axis=-1)


def _late_by_cell(
    t: Floats, whose: Places, cell: Places, past: Places, opens: Floats, closes: Floats, w: Floats, costs: TripCosts
) -> Floats:
    """Cost of being late, shape (things, times, times): [k, i, j] at time j, of the members that open by time i.

    t: the times of each thing, shape (things, times); cell, past: first of them not before opening and closing,
    where below 0 means the first
    """
    count, n = t.shape
    cell, past = np.maximum(cell, 0), np.maximum(past, 0)
    known = cell < n
    whose, cell, past, opens, closes, w = (a[known] for a in (whose, cell, past, opens, closes, w))
    row = whose * n + cell
    share, moment = (np.bincount(row, each, count * n).reshape(count, n, 1) for each in (w, w * opens))
    known = past < n
    place = row[known] * n + past[known]
    over = t[:, None, :] * _summed(place, w[known], (count, n, n))
    over -= _summed(place, w[known] * closes[known], (count, n, n))
    of_cell = costs.late * (share * t[:, None, :] - moment) + (costs.too_late - costs.late) * over
    return np.asarray(np.cumsum(of_cell, axis=1))
