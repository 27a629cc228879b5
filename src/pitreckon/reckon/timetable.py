"""One time for each act: that of the plan, as long as what was seen keeps to it; and by how much it has moved.

The plan puts an act where half of the scenarios have it open, and hands are free. The outlook keeps that time until
something was seen of the item and its own middle is further away than the forecast can tell; then it takes its own. So
a plan, a page, a sheet, a calendar and an alert name the same minute, and only what was seen moves it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Cook
from pitreckon.reckon.outlook import Outlook, Task, Trip
from pitreckon.reckon.quantiles import quantiles_of, weighted_quantile
from pitreckon.reckon.words import doing_words
from pitreckon.text.said import instant, said
from pitreckon.units import format_duration, instant_after, seconds_between

KEPT_S: Final = 10 * 60.0
"""A middle that lies by so little beside the plan leaves the plan as it is: common practice, no source."""
KEPT_SPREAD: Final = 0.1
"""So does one within this share of the forecast's own width (5 to 95 %): the middle of 128 scenarios is no surer."""
NEAR_S: Final = 450.0
"""What is within half of a quarter of an hour is one walk to the pit."""
GAP_S: Final = 30 * 60.0
"""Acts that the plan has closer together than this are apart by work or by a fixed span, whenever they are."""
AGAIN_S: Final = 5 * 60.0
"""Nobody comes again sooner."""
SURE: Final = 0.95


@dataclass(frozen=True, slots=True)
class Told:
    """A task at its one time. from_utc: from when a look is worth it; by_utc: the last time about as good."""

    task: Task
    at_utc: datetime
    from_utc: datetime
    by_utc: datetime

    @property
    def floats(self) -> bool:
        """Whether it may go with something else a few minutes from it: for what the plan has elsewhere or nowhere."""
        return self.task.every_s is None and self.task.planned_utc != self.at_utc


def timed(task: Task, opens_s: Floats, weights: Floats, now: datetime, first_look_utc: datetime, *, seen: bool) -> Told:
    """A task that the plan has a time for, at the time at which it is told.

    opens_s: when it can be done, of each member [s from now]; first_look_utc: from when going for it is worth it
    seen: the ledger has something of the item, or of the air that it stands in
    """
    assert task.planned_utc is not None
    spread = quantiles_of(opens_s, weights)
    width = spread.p95 - spread.p05
    kept_s = max(KEPT_S, KEPT_SPREAD * width) if math.isfinite(width) else KEPT_S
    off_s = spread.p50 - seconds_between(now, task.planned_utc)
    if seen and math.isfinite(off_s) and abs(off_s) > kept_s:
        at = max(whole_minute_near(instant_after(now, spread.p50)), now)
    else:
        at = max(task.planned_utc, now)
    at_s = seconds_between(now, at)
    can = float(weights[opens_s <= at_s + 1.0].sum() / weights.sum())
    again = None
    if can < SURE:
        later_s = weighted_quantile(np.where(np.isnan(opens_s), np.inf, opens_s), weights, (1.0 + can) / 2.0)
        again_s = max(later_s, at_s + AGAIN_S) if math.isfinite(later_s) else at_s + 3.0 * AGAIN_S
        again = whole_minute_near(instant_after(now, again_s))
    first = min(max(first_look_utc, now), at)
    return Told(replace(task, open=can, again_utc=again), at, first, at)


def whole_minute_near(at: datetime) -> datetime:
    """The whole minute next to an instant."""
    return (at + timedelta(seconds=30)).replace(second=0, microsecond=0)


def side_tasks(cook: Cook, now: datetime) -> tuple[Told, ...]:
    """What is to be done beside the meat and is not over yet."""
    out = []
    for side in cook.tasks:
        if instant_after(side.at_utc, max(side.for_s, AGAIN_S)) > now:
            task = Task(side.label, 1, "do", None, None, "", None, 1.0, None, side.at_utc, side.do)
            out.append(Told(task, max(side.at_utc, now), max(side.at_utc, now), max(side.at_utc, now)))
    return tuple(out)


def in_order(told: Sequence[Told]) -> list[Told]:
    """The things of each item one after the other, at least as far apart as the plan has them, up to ``GAP_S``.

    told: those of an item in the order in which they are done
    """
    before: dict[str, Told] = {}
    out = []
    for each in told:
        last = before.get(each.task.item)
        if last is not None:
            gap_s = AGAIN_S
            if each.task.planned_utc is not None and last.task.planned_utc is not None:
                gap_s = min(max(seconds_between(last.task.planned_utc, each.task.planned_utc), 0.0), GAP_S)
            at = max(each.at_utc, instant_after(last.at_utc, gap_s))
            out.append(replace(each, at_utc=at, by_utc=max(each.by_utc, at)))
        else:
            out.append(each)
        before[each.task.item] = out[-1]
    return out


def together(told: Sequence[Told]) -> tuple[Trip, ...]:
    """Trips of what is told. What stands as planned keeps its minute; what has moved, or has no time in the plan, goes
    with what is done within a few minutes of it; two things of one item are two trips."""
    trips: list[list[Told]] = []
    loose = []
    for each in sorted(told, key=lambda t: t.at_utc):
        if each.floats:
            loose.append(each)
        else:
            _join(trips, each, 0.0)
    for each in loose:
        _join(trips, each, NEAR_S)
    return tuple(
        Trip(
            at_utc=group[0].at_utc,
            from_utc=min(each.from_utc for each in group),
            by_utc=max(group[0].at_utc, min(each.by_utc for each in group)),
            tasks=tuple(each.task for each in group),
        )
        for group in sorted(trips, key=lambda group: group[0].at_utc)
    )


def _join(trips: list[list[Told]], each: Told, within_s: float) -> None:
    """Put a thing on the trip next to it in time, or on one of its own."""
    own = [group[0].at_utc for group in trips for other in group if other.task.item == each.task.item]
    free = [group for group in trips if each.task.item not in {other.task.item for other in group}]
    near = [group for group in free if abs(seconds_between(group[0].at_utc, each.at_utc)) <= within_s]
    # Not past another thing that is done to it.
    near = [group for group in near if not any(_between(at, group[0].at_utc, each.at_utc) for at in own)]
    if near:
        min(near, key=lambda group: abs(seconds_between(group[0].at_utc, each.at_utc))).append(each)
    else:
        trips.append([each])


def _between(at: datetime, one: datetime, other: datetime) -> bool:
    return min(one, other) <= at <= max(one, other)


SOONER: Final = "{item}: {doing} at {at}, {span} sooner than planned"


def moved_words(outlook: Outlook, clock: Callable[[datetime], str]) -> tuple[str, ...]:
    """What has moved against the plan, in plain sentences, in order of time; nothing where all stands as planned."""
    lines = []
    for trip in outlook.trips:
        for task in trip.tasks:
            if task.planned_utc is None:
                continue
            by_s = seconds_between(task.planned_utc, trip.at_utc)
            if abs(by_s) >= KEPT_S:
                much = format_duration(60.0 * round(abs(by_s) / 60.0))
                message = "{item}: {doing} at {at}, {span} later than planned" if by_s > 0 else SOONER
                at = instant(trip.at_utc, clock(trip.at_utc))
                lines.append(said(message, item=task.item, doing=doing_words(task), at=at, span=much))
    return tuple(lines)
