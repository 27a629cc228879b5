"""Planning again in the middle of the cook, from its posterior: only what is open still moves, and that is said.

What is on stays on its pit, and its scenarios are the members that fit what was seen. What is not on yet goes on when
that is best now. A pit that burns keeps its temperature: turning it is a what-if, not a plan.
"""

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools
from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.found import Found
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, option_of, options_of
from pitreckon.plan.schedule.schedule import Answer, PlannedItem, Schedule, Solving
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.solve import broken_words, checked, choose, nearest_of
from pitreckon.plan.schedule.tables import Day, Due, Option, Task
from pitreckon.plan.schedule.write_schedule import schedule_of
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.reckon.draws import stream
from pitreckon.reckon.forecast import Reckoning
from pitreckon.reckon.summary import ItemRun
from pitreckon.text.said import clock_time, said
from pitreckon.units import find_zone, format_duration, format_percent, seconds_between

MEMBERS: Final = 128
MOVED_S: Final = 5 * 60.0
"""A time that moves by less is the same to a cook."""
MOVED_CHANCE: Final = 0.02


@dataclass(frozen=True, slots=True)
class Replanned:
    """answer: the rest of the day; moved: what is otherwise than planned, in plain sentences, in order of time.

    Where there is no rest of the day, moved says why.
    """

    answer: Answer
    moved: tuple[str, ...]


def replan(
    wishes: Wishes,
    before: Schedule,
    reckoning: Reckoning,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    limit_s: float = 4.0,
    workers: int = 1,
) -> Replanned:
    """The best rest of the day.

    wishes: as they were planned
    before: the schedule that is being followed
    reckoning: of the cook that was made of it, now; its items and pits have the same names
    members: scenarios of the choice; all members of the posterior judge it
    limit_s: for the solver

    Raises InputError: the cook lacks an item of the wishes
    """
    begun = time.perf_counter()
    now_utc = reckoning.outlook.now_utc
    runs = {run.item.label: run for run in reckoning.runs}
    lost = next((wish.label for wish in wishes.items if wish.label not in runs), None)
    if lost is not None:
        raise InputError(f"the cook has no item '{lost}'", "Plan the day anew, or name it as it was planned")
    on = {label for label, run in runs.items() if _is_on(reckoning, run)}
    amounts = [Amount(before.item(wish.label).pieces, before.item(wish.label).mass_kg) for wish in wishes.items]
    open_wishes = _only_open(wishes, before, on)
    lit = {before.item(label).pit for label in on} | _lit(before, now_utc)
    few = _day(open_wishes, amounts, before, reckoning, on, lit, members, seed, coarse=True)
    found = choose(few, limit_s=limit_s, workers=workers, seed=seed)
    good = found.picked is not None
    if not good:
        found = nearest_of(few, limit_s=limit_s, workers=workers, seed=seed)
    schedule: Schedule | None = None
    broken: tuple[str, ...] = ()
    if found.picked is not None:
        every = max(4 * members, 256)
        whole = _day(open_wishes, amounts, before, reckoning, on, lit, every, seed + 7919)
        schedule = _rest(schedule_of(open_wishes, amounts, few, found.picked, _judged(whole, found)), before, on)
        broken = checked(open_wishes, schedule, now_utc)
        if broken:
            schedule, good = None, False
    solving = Solving(
        status="optimal" if good and all(stage.status == "optimal" for stage in found.stages) else "feasible",
        gap=max((stage.gap for stage in found.stages if not math.isnan(stage.value)), default=math.nan),
        seconds=time.perf_counter() - begun,
        scenarios_s=0.0,
        members=members,
        slots=found.slots,
    )
    why: tuple[str, ...] = ()
    if broken:
        why = (broken_words(broken),)
    elif not good:
        why = (f"not all of it can be ready in {format_percent(wishes.chance)} of the scenarios any more",)
    answer = Answer(schedule if good else None, None if good else schedule, why, (), solving)
    return Replanned(answer, why if schedule is None else tuple(moved_words(before, schedule, now_utc)))


def _is_on(reckoning: Reckoning, run: ItemRun) -> bool:
    """Has it gone on, by the ledger or by the clock of a cook who keeps none of it?"""
    outlook = next(item for item in reckoning.outlook.items if item.label == run.item.label)
    return not outlook.put_on_planned or run.put_on_utc < reckoning.outlook.now_utc


def _lit(before: Schedule, now_utc: datetime) -> set[str]:
    return {pit.label for pit in before.pits if pit.lit_utc is None or pit.lit_utc <= now_utc}


def _only_open(wishes: Wishes, before: Schedule, on: set[str]) -> Wishes:
    """The wishes, with what cannot be chosen any more fixed: where things lie, and how hot a pit is that burns."""
    sets = {pit.label: pit.set_c for pit in before.pits}
    pits = tuple(replace(pit, sets_c=(sets.get(pit.label, pit.sets_c[0]),)) for pit in wishes.pits)
    items = tuple(_fixed(wish, before.item(wish.label)) if wish.label in on else wish for wish in wishes.items)
    return replace(wishes, pits=pits, items=items, earliest_utc=None, planned_utc=None)


def _fixed(wish: ItemWish, planned: PlannedItem) -> ItemWish:
    wrapping = wish.wrapping if wish.stages else "usual"
    return replace(wish, pits=(planned.pit,), put_on_utc=planned.put_on_utc, wrapping=wrapping, wrap=None)


def _day(
    wishes: Wishes,
    amounts: Sequence[Amount],
    before: Schedule,
    reckoning: Reckoning,
    on: set[str],
    lit: set[str],
    members: int,
    seed: int,
    *,
    coarse: bool = False,
) -> Day:
    """The rest of the day: scenarios of what is on are drawn from the posterior, of the rest from the prior."""
    now_utc = reckoning.outlook.now_utc
    runs = {run.item.label: run for run in reckoning.runs}
    cases = cases_of(wishes, amounts)
    still = [[] if wish.label in on else list(of_item) for wish, of_item in zip(wishes.items, cases, strict=True)]
    open_options = iter(options_of(wishes, [of_item for of_item in still if of_item], members, seed, coarse=coarse))
    options = [
        (_option_on(runs[wish.label], before.item(wish.label), reckoning, members, seed),)
        if wish.label in on
        else next(open_options)
        for wish in wishes.items
    ]
    day = day_of(wishes, amounts, options)
    now_s = seconds_between(wishes.serve_utc, now_utc)
    tasks = tuple(_task(task, runs[task.label], wishes) if task.label in on else task for task in day.tasks)
    places = tuple(replace(place, lit=True) if place.label in lit else place for place in day.places)
    return replace(day, tasks=tasks, places=places, earliest_s=now_s)


def _task(task: Task, run: ItemRun, wishes: Wishes) -> Task:
    return replace(task, put_on_s=seconds_between(wishes.serve_utc, run.put_on_utc), begun=True)


def _option_on(run: ItemRun, planned: PlannedItem, reckoning: Reckoning, members: int, seed: int) -> Option:
    """What is on, with as many members as are asked for, drawn by their weights; no act lies before now."""
    now_utc = reckoning.outlook.now_utc
    stages = tuple(stage.plan for stage in run.stages if stage.plan.kind != "hold")
    option = option_of(planned.pit, planned.set_c, stages, run, reckoning.cook, now_utc, reckoning.sifted.ledger)
    which = drawn(run.evidence.weights, members, seed, run.item.label)
    now_s = seconds_between(run.put_on_utc, now_utc)
    dues = tuple(
        Due(
            each.act,
            np.maximum(each.opens_s[which], now_s),
            np.maximum(each.closes_s[which], now_s),
            each.carries,
            each.wrap,
        )
        for each in option.dues
    )
    late = np.maximum(option.off_s[which], now_s)
    return replace(
        option,
        dues=dues,
        first_s=option.first_s[which],
        last_s=option.last_s[which],
        off_s=np.where(np.isfinite(option.off_s[which]), late, np.inf),
        past_s=option.past_s[which],
        done=option.done[which],
    )


def drawn(weights: NDArray[np.float64], members: int, seed: int, label: str) -> NDArray[np.int64]:
    """Members by their weights, as evenly as can be: one draw for all (systematic resampling), then shuffled."""
    rng = stream(seed, f"replan {label}")
    edges = np.cumsum(weights / weights.sum())
    at = (np.arange(members) + rng.random()) / members
    which = np.searchsorted(edges, at).clip(0, weights.size - 1)
    return np.asarray(rng.permutation(which), dtype=np.int64)


def _judged(whole: Day, found: Found) -> list[Bools]:
    assert found.picked is not None
    ok = []
    for slot in found.picked.slots:
        task, chosen = whole.tasks[slot.task], found.day.tasks[slot.task].options[slot.option]
        option = next(
            each
            for each in task.options
            if (each.pit, each.set_c, each.stages) == (chosen.pit, chosen.set_c, chosen.stages)
        )
        course = run_course(task, option, np.array([slot.put_on_s]), whole.away)
        ok.append(on_time(task, course)[0])
    return ok


def _rest(schedule: Schedule, before: Schedule, on: set[str]) -> Schedule:
    """The schedule, with when a pit that burns was lit, and what is on wrapped as it was planned."""
    lit = {pit.label: pit.lit_utc for pit in before.pits}
    pits = tuple(replace(pit, lit_utc=lit.get(pit.label)) if pit.lit_utc is None else pit for pit in schedule.pits)
    items = tuple(
        replace(item, wrapped=before.item(item.label).wrapped or item.wrapped) if item.label in on else item
        for item in schedule.items
    )
    return replace(schedule, pits=pits, items=items)


OTHER_TIME: Final = "{item}: {doing} at {at}, not {was}"
READY_EARLIER: Final = "{item}: ready {span} earlier, about {at}"


def moved_words(before: Schedule, after: Schedule, now_utc: datetime) -> Iterator[str]:
    """What of the rest of the day is otherwise than it was planned, in order of time."""
    zone = find_zone(after.zone)

    def clock(at_utc: datetime) -> str:
        return clock_time(at_utc, zone, now_utc)

    moved: list[tuple[datetime, str]] = []
    for item in after.items:
        was = before.item(item.label)
        if not item.begun and abs(seconds_between(was.put_on_utc, item.put_on_utc)) >= MOVED_S:
            words = said(
                OTHER_TIME, item=item.label, doing=said("put on"), at=clock(item.put_on_utc), was=clock(was.put_on_utc)
            )
            moved.append((item.put_on_utc, words))
        if item.pit != was.pit:
            moved.append(
                (item.put_on_utc, said("{item}: on {pit}, not on {was}", item=item.label, pit=item.pit, was=was.pit))
            )
        if not item.begun and item.wrapped != was.wrapped:
            moved.append(
                (
                    item.put_on_utc,
                    said("{item}: wrapped now" if item.wrapped else "{item}: not wrapped now", item=item.label),
                )
            )
        shift_s = seconds_between(was.ready.p50, item.ready.p50)
        if abs(shift_s) >= MOVED_S:
            by = format_duration(60.0 * round(abs(shift_s) / 60.0))
            message = "{item}: ready {span} later, about {at}" if shift_s > 0 else READY_EARLIER
            moved.append((item.ready.p50, said(message, item=item.label, span=by, at=clock(item.ready.p50))))
    acts = {(call.on, call.act): call.at_utc for call in before.calls}
    for call in after.calls:
        was_utc = acts.get((call.on, call.act))
        if call.act in {"put on", "serve"} or was_utc is None:
            continue
        if abs(seconds_between(was_utc, call.at_utc)) >= MOVED_S:
            at, was_at = clock(call.at_utc), clock(was_utc)
            moved.append((call.at_utc, said(OTHER_TIME, item=call.on, doing=said(call.act), at=at, was=was_at)))
    yield from (words for _, words in sorted(moved))
    if abs(after.chance - before.chance) >= MOVED_CHANCE:
        old, new = (format_percent(each.chance) for each in (before, after))
        yield said("the chance that all is on time is {new}, it was {old}", new=new, old=old)
