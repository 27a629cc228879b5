"""The same twins again with a cook who comes when told, against one who comes every 45 minutes.

On each visit the cook does what the truth says is due; what had become too late before he came is a missed window:
too dark in the smoke, too soft on the pit, dried out past the core that it is done at, a glaze burnt.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pitreckon.cook import StagePlan
from pitreckon.ledger import Ledger, Look
from pitreckon.reckon.forecast import reckon_runs
from pitreckon.section.trace import Trace
from pitreckon.units import instant_after
from validation.twins import truth
from validation.twins.deal import ITEM, Twin
from validation.twins.fire import KNOT_S
from validation.twins.habits import FEEDS_AT_K, GIVEN_UP_S, Life, Visit, acting
from validation.twins.judge import NOT_YET
from validation.twins.observe import ledger_of
from validation.twins.store import Row

FIXED_S = 45 * 60.0
LOOKING = ("looks", "all")
"""Classes of cooks who write their looks down."""
SOONEST_S = 300.0
"""Nobody walks back sooner than this."""
OVER_K = 6.0
GLAZE_BURNS_S = 600.0

TRIP_COLUMNS = (
    "seed",
    "index",
    "rows",
    "kind",
    "members",
    "cut",
    "way",
    "trips",
    "windows",
    "missed",
    "late",
    "too_late",
)
"""``late``, ``too_late``: minutes over all windows of a cook, from their opening and from their closing."""

Next = Callable[[Twin, Life, float], float]
"""When to come next [s since put-on], given the life up to now."""


@dataclass(frozen=True)
class Replayed:
    """A cook's day by one way of coming: trips, windows, those missed, minutes late and too late over all of them."""

    trips: int
    windows: int
    missed: int
    late_min: float
    too_late_min: float


def every_45(_twin: Twin, _life: Life, now_s: float) -> float:
    """The fixed habit."""
    return now_s + FIXED_S


def as_told(members: int) -> Next:
    """Back by when the outlook says; and where nothing is written down of a visit at which it was not yet time, when it
    said to come again in that case.
    """
    again_s = 0.0

    def come(twin: Twin, life: Life, now_s: float) -> float:
        nonlocal again_s
        unknown = twin.kind not in LOOKING and len(life.visits) > 0 and life.visits[-1].at_s == now_s
        unknown = unknown and (not life.ends_s or life.ends_s[-1] < now_s)
        now = instant_after(twin.put_on_utc, now_s)
        ledger = _with_not_yet(twin, life, ledger_of(twin, _so_far(twin, life, now_s)))
        outlook, _ = reckon_runs(twin.cook, ledger, now=now, members=members, seed=twin.index + 1)
        back = outlook.be_back_utc
        if back is None:
            return now_s + FIXED_S
        told_s = max((back - twin.put_on_utc).total_seconds(), now_s + SOONEST_S)
        at_s = max(told_s, again_s) if unknown else told_s
        coming = [t for trip in outlook.trips[:1] for task in trip.tasks for t in [task.again_utc] if t is not None]
        again_s = max(((min(coming) - twin.put_on_utc).total_seconds() if coming else 0.0), at_s + SOONEST_S)
        return at_s

    return come


def _with_not_yet(twin: Twin, life: Life, ledger: Ledger) -> Ledger:
    """With "not yet" for each visit at which nothing was done, by a cook who writes down what he sees."""
    if twin.kind not in LOOKING:
        return ledger
    idle = [visit.at_s for visit in life.visits if visit.at_s not in life.ends_s]
    said = [Look(instant_after(twin.put_on_utc, at_s), ITEM, None, NOT_YET, 0.0, "not yet") for at_s in idle]
    return Ledger.of([*ledger.events, *said])


def replay(twin: Twin, come: Next) -> Replayed | None:
    """Follow one way of coming through a cook; None where it is not done in time."""
    life = Life()
    trips = windows = missed = 0
    late = too_late = 0.0
    rng = twin.stream("replay")
    now_s = 0.0
    for i, stage in enumerate(twin.stages):
        begin = life.ends_s[-1] if life.ends_s else 0.0
        if stage.kind not in truth.ON_PIT:
            life.ends_s.append(begin + (stage.until.duration_s or 0.0))
            continue
        while True:
            at_s = np.ceil(come(twin, life, now_s) / KNOT_S) * KNOT_S
            if at_s > GIVEN_UP_S:
                return None
            trips += 1
            now_s = float(at_s)
            trace = truth.follow(twin, life.ends_s, life.openings, now_s)
            due = _due_s(twin, trace, stage, begin)
            if due > now_s:
                life.visits.append(_look(twin, life, now_s, rng))
                continue
            over = _closed_s(twin, trace, stage, begin, due)
            windows += 1
            missed += over < now_s
            late += now_s - due
            too_late += max(now_s - over, 0.0)
            life.visits.append(acting(twin, i, now_s, rng))
            life.ends_s.append(now_s)
            break
    return Replayed(trips, windows, missed, late / 60.0, too_late / 60.0)


def _so_far(twin: Twin, life: Life, now_s: float) -> Life:
    """The life up to now, as the ledger needs it."""
    until = max(now_s, KNOT_S)
    return Life(
        [*life.ends_s, now_s] if not life.ends_s or now_s > life.ends_s[-1] else list(life.ends_s),
        list(life.visits),
        truth.follow(twin, life.ends_s, life.openings, until),
        truth.follow(twin, life.ends_s, life.openings, until, thin=True),
    )


def _due_s(twin: Twin, trace: Trace, stage: StagePlan, begin_s: float) -> float:
    if stage.until.ends_by == "minutes":
        return begin_s + (stage.until.duration_s or 0.0)
    return truth.met_s(twin, trace, stage, begin_s)


def _closed_s(twin: Twin, trace: Trace, stage: StagePlan, begin_s: float, due_s: float) -> float:
    """When it became too late, inf if it had not by the end of the trace; never before it was due."""
    meat = twin.meat
    times = []
    if stage.kind == "open":
        times.append(_first(trace, "colour", meat.value("dark_at"), begin_s))
    if meat.cut.texture.done_by == "core":
        goal = max(meat.value("core_done_c"), stage.until.core_c or 0.0)
        times.append(_first(trace, "core_c", goal + OVER_K, begin_s))
    else:
        times.append(_first(trace, "gelatin_core", meat.value("soft_at"), begin_s))
    if stage.kind == "sauced":
        times.append(due_s + GLAZE_BURNS_S)
    return max(min(times), due_s)


def _first(trace: Trace, channel: str, goal: float, begin_s: float) -> float:
    there = (trace[channel][:, 0] >= goal) & (trace.time_s >= begin_s)
    return float(trace.time_s[np.argmax(there)]) if there.any() else float("inf")


def _look(twin: Twin, life: Life, at_s: float, rng: np.random.Generator) -> Visit:
    fed = max([v.at_s for v in life.visits if v.fed], default=0.0)
    feeds = float(twin.fire.fade_k(np.array(at_s - fed))) > FEEDS_AT_K
    return Visit(at_s, float(rng.uniform(8.0, 35.0)) + (60.0 if feeds else 0.0), feeds)


def trip_rows(twin: Twin, members: int) -> list[Row]:
    """A row for each way of coming, none where one of them did not get done."""
    ways = {"told": as_told(members), "every 45 min": every_45}
    got = {way: replay(twin, come) for way, come in ways.items()}
    return [
        {
            "seed": str(twin.seed),
            "index": str(twin.index),
            "rows": str(len(ways)),
            "kind": twin.kind,
            "members": str(members),
            "cut": twin.item.cut,
            "way": way,
            "trips": str(each.trips) if each else "",
            "windows": str(each.windows) if each else "",
            "missed": str(each.missed) if each else "",
            "late": f"{each.late_min:.1f}" if each else "",
            "too_late": f"{each.too_late_min:.1f}" if each else "",
        }
        for way, each in got.items()
    ]
