"""Which things go on which trip, and when: dynamic programming over their order and a grid of times."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pitreckon.arrays import Floats, Ints
from pitreckon.cook import TripCosts
from pitreckon.reckon.tripcost import Curves, Due, clock_grid, cost_curves, reaching

NEAR_BEST_S = 300.0
"""A time is as good as the best when it costs no more than this above it [s of the cook's time]."""


@dataclass(frozen=True)
class Visit:
    """One trip of a schedule: which of the things, when, and between which times it is as good [s from now].

    again_s: for each thing, when to come again if it cannot be done yet; open: the chance that it can
    """

    things: tuple[int, ...]
    at_s: float
    from_s: float
    by_s: float
    again_s: tuple[float, ...]
    open: tuple[float, ...]


def schedule(due: Sequence[Due], costs: TripCosts) -> tuple[Visit, ...]:
    """Trips of the least expected cost, what is late on one of them carried on to what comes after it.

    due: things in any order, but those of one item in the order in which they are done
    """
    if not due:
        return ()
    due = list(due)
    grid = clock_grid(due)
    curves = cost_curves(due, grid, costs)
    left, after = list(range(len(due))), 0
    visits: list[Visit] = []
    while left:
        for at, things, cost in plan(due, curves, left, costs, after)[0]:
            again = tuple(float(grid[curves.again[k, at]]) for k in things)
            chance = tuple(float(curves.open[k, at]) for k in things)
            visits.append(Visit(tuple(things), float(grid[at]), *_near(grid, cost, at, after), again, chance))
            left = [k for k in left if k not in things]
            after = at + 1
            moved = _carry_on(due, left, things, float(grid[at]))
            if moved:
                longer = reaching(grid, [due[k] for k in moved], len(left))
                redo = moved if longer is grid else range(len(due))
                grid, new = longer, cost_curves([due[k] for k in redo], longer, costs)
                curves = _with(curves, moved, new) if redo is moved else new
                break
    return tuple(visits)


def plan(
    due: Sequence[Due], curves: Curves, left: Sequence[int], costs: TripCosts, after: int = 0
) -> tuple[list[tuple[int, list[int], Floats]], float]:
    """The best trips for some of the things, none before a place in the grid, and what they are to cost [s].

    The things are put in order, once by their own best times and once by how long each can wait for a trip that
    it shares; every way to cut an order into trips is weighed at all times of the grid, each trip later than the
    one before, from the last to the first; the cheaper of the two is taken. Each trip is its place in the grid,
    its things, and at each time of the grid the cost of this trip then with the best for those after it.
    """
    best = np.argmin(curves.cost_s, axis=1)
    lid = np.array([0.0 if each.pit is None else costs.lid_s for each in due])
    most = curves.cost_s[np.arange(len(due)), best] + costs.walk_s + lid
    waits = curves.cost_s.shape[1] - 1 - np.argmax(curves.cost_s[:, ::-1] <= most[:, None], axis=1)
    orders = [_order(due, left, best)]
    if (other := _order(due, left, waits)) != orders[0]:
        orders.append(other)
    return min((_cut(due, curves.cost_s, order, costs, after) for order in orders), key=lambda each: each[1])


def _cut(
    due: Sequence[Due], cost: Floats, order: list[int], costs: TripCosts, after: int
) -> tuple[list[tuple[int, list[int], Floats]], float]:
    """``plan`` for one order."""
    n, times = len(order), cost.shape[1]
    rest = np.full((n + 1, times + 1), np.inf)  # [k, i]: least cost of things k.. with trips at i or later
    rest[n] = 0.0
    wholes: list[Floats] = []
    for k in range(n - 1, -1, -1):
        shared = _shared(due, order[k:], costs)
        several = np.cumsum(cost[order[k : k + shared.size]], axis=0) + shared[:, None]
        wholes.append(several + rest[k + 1 : k + 1 + shared.size, 1:])
        best = wholes[-1].min(axis=0)
        rest[k, :times] = np.minimum.accumulate(best[::-1])[::-1]
    wholes.reverse()
    trips, k, begin = [], 0, after
    while k < n:
        size, wait = divmod(int(np.argmin(wholes[k][:, begin:])), times - begin)
        at, end = begin + wait, k + size + 1
        trips.append((at, order[k:end], wholes[k][size]))
        k, begin = end, at + 1
    return trips, float(rest[0, after])


def _shared(due: Sequence[Due], order: Sequence[int], costs: TripCosts) -> Floats:
    """The walk and the lids of a trip with the first thing of an order, the first two, and so on [s]."""
    items: set[str] = set()
    pits: set[str] = set()
    out: list[float] = []
    for k in order:
        if due[k].item in items:
            break
        items.add(due[k].item)
        pits |= {due[k].pit or ""} - {""}
        out.append(costs.walk_s + costs.lid_s * len(pits))
    return np.array(out)


def _order(due: Sequence[Due], left: Sequence[int], when: Ints) -> list[int]:
    """Things by a time of each; no thing of an item before an earlier one of it, and first ones first in a tie."""
    latest: dict[str, int] = {}
    turn: dict[str, int] = {}
    keys = []
    for k in left:
        item = due[k].item
        latest[item] = max(int(when[k]), latest.get(item, -1))
        turn[item] = turn.get(item, -1) + 1
        keys.append((latest[item], turn[item], k))
    return [k for _, _, k in sorted(keys)]


def _near(grid: Floats, cost: Floats, at: int, after: int) -> tuple[float, float]:
    """First and last time of the run round the best that costs at most ``NEAR_BEST_S`` more [s from now].

    Past the best the cost rises steadily, so the last time is found between two of the grid; before it the cost
    of a trip for nothing sets in at once, so the first is one of the grid's own.
    """
    most = cost[at] + NEAR_BEST_S
    first, until = at, at
    while first > after and cost[first - 1] <= most:
        first -= 1
    while until + 1 < cost.size and cost[until + 1] <= most:
        until += 1
    by = float(grid[until])
    if until + 1 < cost.size and np.isfinite(cost[until + 1]):
        part = (most - cost[until]) / (cost[until + 1] - cost[until])
        by += float(part * (grid[until + 1] - grid[until]))
    return float(grid[first]), by


def _carry_on(due: list[Due], left: Sequence[int], things: Sequence[int], at_s: float) -> list[int]:
    """Move what comes after the things of a trip in their items, and say what has moved.

    After an act that is done later than it could have been, a stage that lasts a fixed time (or until a glaze
    has set) ends later by as much; any other ends when it would have, as the meat cooked on in the meantime, but
    not before the act. A member in which the act could not be done on its trip has it done as soon as it can be.
    """
    moved = []
    for k in things:
        could = due[k].opens_s
        did = np.maximum(could, at_s)
        for j in (j for j in left if due[j].item == due[k].item):
            opens = np.maximum(due[j].opens_s + (did - could if due[j].carries else 0.0), did)
            if not np.any(opens - due[j].opens_s >= 1.0):
                break
            could, did = due[j].opens_s, opens
            due[j] = replace(due[j], opens_s=opens, closes_s=due[j].closes_s + (did - could))
            moved.append(j)
    return moved


def _with(curves: Curves, things: Sequence[int], new: Curves) -> Curves:
    cost, can, again = curves.cost_s.copy(), curves.open.copy(), curves.again.copy()
    cost[things], can[things], again[things] = new.cost_s, new.open, new.again
    return Curves(cost, can, again)
