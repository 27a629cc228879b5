"""When an item can go on, and what comes of it in every scenario: one row for each option and each time of put-on."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools, Floats
from pitreckon.plan.schedule.tables import Day, Option, Task

STRAIGHT_S = 20 * 60.0
"""Meat that is ready so shortly before serving goes to the table without a warm place: common practice, no source."""
OCCUPIED = 0.95
"""A piece keeps its place on the pit until this share of the scenarios has it off."""
TOLD_S = 300.0
"""Acts are told to five minutes: no cook keeps a minute, and the meat keeps none either [s from serving]."""
WORTH_LOSS_MIN = 300.0
"""What the whole weight lost would be worth in minutes of holding; 10 % more lost are as bad as half an hour."""
WORTH_WAIT = 0.5
"""A minute by which an act waits for the cook, in minutes of holding: common practice, no source."""


@dataclass(frozen=True)
class Call:
    """An act as planned: at the middle scenario's time. at_s: [s from serving]; for_s: keeps one pair of hands [s]."""

    act: str
    at_s: float
    for_s: float
    wrap: str = ""


@dataclass(frozen=True)
class Slot:
    """An option for an item from one put-on, and what comes of it.

    put_on_s: [s from serving]; ok: scenarios in which it is served on time and good, (members,)
    hold_s: how long the first piece is held, over the scenarios that are ok, mean [s]
    cost: what is against it, in minutes of holding
    off_s, ready_s: 95 % of off the pit, and 5, 50, 95 % of ready [s from serving]
    calls: the acts, put on first; no two of them at once
    """

    task: int
    option: int
    put_on_s: float
    ok: Bools
    hold_s: float
    cost: float
    off_s: float
    ready_s: tuple[float, float, float]
    calls: tuple[Call, ...]

    @property
    def chance(self) -> float:
        """Share of the scenarios that are ok."""
        return float(np.mean(self.ok))

    @property
    def key(self) -> tuple[int, int, float]:
        """What it is, whatever comes of it."""
        return self.task, self.option, self.put_on_s


@dataclass(frozen=True)
class Course:
    """An option from several put-ons at once: arrays of shape (put-ons, members) [s from serving]."""

    ready_first: Floats
    ready_last: Floats
    off: Floats
    past: Floats
    good: Bools
    waited: Floats
    acts: tuple[Floats, ...]


def waits(at_s: Floats, for_s: float, away: tuple[tuple[float, float], ...]) -> Floats:
    """How long an act that is due then, and takes so long, waits for somebody to be back [s]."""
    begin = np.array(at_s, dtype=np.float64)
    for _ in range(len(away) + 1):
        moved = False
        for start, end in sorted(away):
            hit = (begin < end) & (begin + for_s > start)
            if hit.any():
                begin[hit] = end
                moved = True
        if not moved:
            break
    return np.asarray(begin - at_s)


def run_course(task: Task, option: Option, put_on_s: Floats, away: tuple[tuple[float, float], ...]) -> Course:
    """What becomes of an option from each put-on, with acts that wait while nobody is there.

    An act that waits makes all after it late by as much at the most (meat goes on cooking meanwhile), and by nothing at
    the least, unless it carries. Lateness is reckoned with the most and holding with the least: both on the safe side.
    """
    start = np.asarray(put_on_s, dtype=np.float64)[:, None]
    most = np.zeros((start.shape[0], option.members))
    least = np.zeros_like(most)
    good = np.broadcast_to(option.done, most.shape).copy()
    acts = []
    off_wait = most
    for due in option.dues:
        at = start + due.opens_s[None, :] + most
        finite = np.isfinite(at)
        wait = np.where(finite, waits(np.where(finite, at, 0.0), task.work_s(due.act), away), 0.0)
        good &= (wait <= 0.0) | (at + wait <= start + due.closes_s[None, :] + most)
        acts.append(at + wait)
        most = most + wait
        if due.carries:
            least = least + wait
        if due.act != "hold":
            off_wait = most
    return Course(
        ready_first=start + option.first_s[None, :] + least,
        ready_last=start + option.last_s[None, :] + task.rest_s + most,
        off=start + option.off_s[None, :] + off_wait,
        past=start + option.past_s[None, :] + least,
        good=good,
        waited=most,
        acts=tuple(acts),
    )


def on_time(task: Task, course: Course, guard_s: float = 0.0) -> Bools:
    """Scenarios in which the item is ready by serving, held long enough and not too long, and not past its best.

    guard_s: [s] by which each limit is drawn in
    """
    held = task.serve_s - course.ready_first
    longest = max(task.most_hold_s, STRAIGHT_S)
    guard_hold_s = min(guard_s, 0.25 * longest)
    return np.asarray(
        course.good
        & (course.ready_last + guard_s <= task.serve_s - task.least_hold_s)
        & (held + guard_hold_s <= longest)
        & (course.past >= task.serve_s)
    )


def slots_of(day: Day, index: int, *, guard_s: float = 0.0, least: int = 0) -> Iterator[Slot]:
    """Every slot of an item that hands and the clock allow, in order of option and time.

    least: scenarios in which it is on time at least
    """
    task = day.tasks[index]
    for number, option in enumerate(task.options):
        put_on = _put_ons(day, task, option)
        if not put_on.size:
            continue
        course = run_course(task, option, put_on, day.away)
        ok = on_time(task, course, guard_s)
        held = np.maximum(task.serve_s - course.ready_first, 0.0)
        counts = ok.sum(axis=1)
        mean_hold = np.where(ok, held, 0.0).sum(axis=1) / np.maximum(counts, 1)
        hold = np.where(counts > 0, mean_hold, np.median(held, axis=1))
        cost = (hold + WORTH_WAIT * np.median(course.waited, axis=1)) / 60.0 + WORTH_LOSS_MIN * option.loss
        off = _quantiles(course.off, OCCUPIED)
        ready = [_quantiles(course.ready_last, level) for level in (0.05, 0.5, 0.95)]
        middles = [_quantiles(act, 0.5) for act in course.acts]
        for row in np.flatnonzero(counts >= least):
            at = float(put_on[row])
            if day.unfed and goes_out(day, option, at, float(off[row])):
                continue
            calls = _calls(task, option, at, [float(middle[row]) for middle in middles], day.away)
            if calls is None:
                continue
            yield Slot(
                task=index,
                option=number,
                put_on_s=at,
                ok=ok[row],
                hold_s=float(hold[row]),
                cost=float(cost[row]),
                off_s=float(off[row]),
                ready_s=(float(ready[0][row]), float(ready[1][row]), float(ready[2][row])),
                calls=calls,
            )


def may_go_out(day: Day) -> bool:
    """Is nobody there for longer than some fire lasts?"""
    lasts = [lasts_s for place in day.places for lasts_s in place.lasts_s]
    return any(back - left > lasts_s for left, back in _nobody(day) for lasts_s in lasts)


def goes_out(day: Day, option: Option, on_s: float, off_s: float) -> bool:
    """Is the fire under a piece left for longer than it lasts, between going on and coming off [s from serving]?"""
    lasts_s = day.place(option.pit).burns_s(option.set_c)
    return any(min(back, off_s) - max(left, on_s) > lasts_s for left, back in _nobody(day))


def _nobody(day: Day) -> list[tuple[float, float]]:
    """From when to when nobody is there; times that touch are one."""
    out: list[tuple[float, float]] = []
    for left, back in sorted(day.away):
        if out and left <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], back))
        else:
            out.append((left, back))
    return out


def chances_of(day: Day, index: int) -> Bools:
    """In which scenarios an item is on time, of each option from each put-on: (options and put-ons, members)."""
    task = day.tasks[index]
    rows = []
    for option in task.options:
        put_on = _put_ons(day, task, option)
        if put_on.size:
            rows.append(on_time(task, run_course(task, option, put_on, day.away)))
    return np.concatenate(rows) if rows else np.zeros((0, day.members), dtype=bool)


def best_chance(day: Day, index: int) -> float:
    """The largest share of the scenarios in which an item can be on time, whatever the others do."""
    task = day.tasks[index]
    best = 0.0
    for option in task.options:
        put_on = _put_ons(day, task, option)
        if put_on.size:
            ok = on_time(task, run_course(task, option, put_on, day.away))
            best = max(best, float(ok.mean(axis=1).max()))
    return best


def _quantiles(values: Floats, level: float) -> Floats:
    """Quantiles of rows that are values of theirs: a time between two may be one at which nobody is there."""
    at = int(np.floor(level * (values.shape[1] - 1)))
    return np.asarray(np.partition(values, at, axis=1)[:, at])


def _calls(
    task: Task, option: Option, put_on_s: float, middles: list[float], away: tuple[tuple[float, float], ...]
) -> tuple[Call, ...] | None:
    """The acts, each begun when the one before is done; None: that puts one into a time when nobody is there."""
    calls = [] if task.begun else [Call("put on", put_on_s, task.work_s("put on"))]
    for due, middle in zip(option.dues, middles, strict=True):
        if not np.isfinite(middle):
            continue
        for_s = task.work_s(due.act)
        at_s = _clock(middle, for_s, away)
        free_s = calls[-1].at_s + calls[-1].for_s if calls else at_s
        if at_s < free_s:
            if due.act == "hold" and at_s < task.serve_s <= free_s:
                continue  # served by then
            wait_s = float(waits(np.array([free_s]), for_s, away)[0])
            if wait_s > 0.0 and not task.begun:
                return None
            at_s = free_s + wait_s
            told_s = TOLD_S * float(np.ceil(at_s / TOLD_S))
            at_s = at_s if waits(np.array([told_s]), for_s, away)[0] > 0.0 else told_s
        calls.append(Call(due.act, at_s, for_s, due.wrap))
    return tuple(calls)


def _clock(at_s: float, for_s: float, away: tuple[tuple[float, float], ...]) -> float:
    """The time of day at which an act is told: of five minutes where somebody is there then, else of one, the one
    before: away begins and ends on whole minutes, so it stays on its side.
    """
    told_s = TOLD_S * float(np.floor(at_s / TOLD_S))
    free = waits(np.array([told_s]), for_s, away)[0] <= 0.0
    return told_s if free else 60.0 * float(np.floor(at_s / 60.0))


def _put_ons(day: Day, task: Task, option: Option) -> NDArray[np.float64]:
    if task.begun and task.put_on_s is not None:
        return np.array([task.put_on_s])
    place = day.place(option.pit)
    first = day.earliest_s + (0.0 if place.lit else place.lit_s)
    if task.put_on_s is not None:
        every = np.array([task.put_on_s])
    else:
        ready = option.last_s[np.isfinite(option.last_s)]
        if not ready.size:
            return np.zeros(0)
        longest = float(ready.max()) + task.rest_s + max(task.most_hold_s, STRAIGHT_S) + 86400.0 * 0.5
        low = np.ceil(max(first, task.serve_s - longest) / day.grid_s)
        every = np.arange(low, task.serve_s / day.grid_s) * day.grid_s
    for_s = task.work_s("put on")
    keep = every >= first
    for start, end in day.away:
        keep &= ~((every < end) & (every + for_s > start))
    return np.asarray(every[keep])
