"""Plan the day: wishes to an answer.

Slots are made from the scenarios, one is picked for each item, and what was picked is tried on scenarios that the
choice has not seen. Where it keeps less than was asked there, every limit is drawn in a little and it is picked anew.
Whatever was picked has to pass the checker, which knows nothing of the choice, before anybody sees it.
"""

import logging
import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime
from functools import partial

import numpy as np

from pitreckon.arrays import Bools
from pitreckon.errors import InputError, Place
from pitreckon.extras import require
from pitreckon.plan.buying.amounts import Amount, amounts_of
from pitreckon.plan.fuel.earlier import Lessons, lesson_notes
from pitreckon.plan.schedule.cache import OptionCache, Options, likeness
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.cpsat import AIMS, Picked, Stage, pick
from pitreckon.plan.schedule.fires import with_fires
from pitreckon.plan.schedule.found import Found
from pitreckon.plan.schedule.lots import ways_in_lots
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import (
    Case,
    as_far_as_followed,
    cases_of,
    held_till_served,
    options_of,
    pits_of,
)
from pitreckon.plan.schedule.schedule import Answer, Change, Schedule, Solving
from pitreckon.plan.schedule.slots import Slot, may_go_out, on_time, run_course, slots_of
from pitreckon.plan.schedule.tables import Day, Option
from pitreckon.plan.schedule.write_schedule import schedule_of
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import need_room, room_for
from pitreckon.plan.wishes import Wishes
from pitreckon.text.said import said, temperature
from pitreckon.units import format_duration, format_percent

MEMBERS, MEMBERS_MANY, MANY_WAYS = 128, 64, 24
"""Scenarios of the choice, and of that with many options to run."""
UNSEEN, UNSEEN_MANY, UNSEEN_OF_ALL = 1024, 192, 1536
"""Scenarios of the promise: at the most, with many ways to run, and of all items together. Five draws of 512 gave one
day 93 to 97 %."""
GUARDS_S = (0.0, 900.0, 1800.0, 2700.0)
GUARDS_MANY = 2
"""How much limits are drawn in, try after try, until unseen scenarios keep what was asked; with many
options so many tries of them. Never by the clock: the same question has the same answer on a busy machine."""
MANY_LIMIT = 0.75
"""With many options more of the time goes into the scenarios."""
THIRD = 104_729
"""What the seed of the third set of scenarios is away from that of the first."""
BETTER = 0.7
"""Chance beyond what was asked is sought up to this share of what is left to certainty; past it, holds count."""
MOST_SLOTS = 560
"""Slots of all items together that are chosen among; with many items the likeliest of each are enough."""
MOST_BROKEN = 2
"""So often the next best is tried in place of one that the checker refuses."""
EXPLAIN_S = 60.0
"""So long at the most what would help is looked for; mostly what was tried ends it, whatever the load."""
NONE_AT_ALL = 0.05
"""A day with less chance than this is nothing to follow, and is not shown as the nearest."""
WORST_SLOTS = 60
"""For the nearest that can be done, slots of one item that are looked at, the likeliest ones."""

UNSEEN_LESS = "in scenarios that the choice had not seen all of it is on time in {kept}, {asked} is asked"
CAME_OUT = "the chance came out as {kept} in scenarios that the choice had not seen, {asked} was asked"
NOT_ALL = "not everything was looked at in the time there was; with more of it more may be found"
LONG_HELD = "{item}: held for about {span} at {value}; check the warm place with a probe"
BROKEN = "an error of Pitreckon, please report it: a plan was found that cannot be done ({faults}), and it is not shown"

log = logging.getLogger(__name__)


def plan(
    wishes: Wishes,
    *,
    members: int | None = None,
    seed: int = 1,
    limit_s: float = 8.0,
    workers: int = 1,
    explain: bool = True,
    cache: OptionCache | None = None,
    lessons: Lessons | None = None,
    progress: Callable[[str], None] | None = None,
) -> Answer:
    """The best day for these wishes; where there is none, why, and what would help.

    members: scenarios of the choice; by default fewer where there are many options to run
    seed: of the scenarios and of the solver; the same one gives the same answer
    limit_s: for the solver
    explain: look for the reasons and for changes where it cannot be done
    cache: what was run for such days before, and what is run now; the same one for question after question
    lessons: what earlier cooks taught of the pits' fuel, by their labels
    progress: told what is being worked on, in words

    Stopped by the keyboard once there is a day, it answers with what it has by then.

    Raises MissingExtraError: the solver is not installed
    Raises InputError: an unknown cut or pit, a piece that goes on no pit, a course that ends by the clock
    """
    require("ortools", "planning a day")
    memory, tell = cache or OptionCache(), progress or _silent
    ways = ways_in_lots(wishes)
    if len(ways) > 1:
        nearest = []
        for way in ways:
            answer = _planned(*way, members, seed, limit_s, workers, memory, lessons, tell)
            if answer.schedule is not None:
                return answer
            nearest.append(0.0 if answer.nearest is None else answer.nearest.chance)
        # Where neither can be done, what would help is looked for with the lots that find their places.
        ways = (ways[0] if nearest[0] > nearest[1] else ways[1],)
    return _planned(*ways[0], members, seed, limit_s, workers, memory, lessons, tell, explain=explain)


def _planned(
    wishes: Wishes,
    parted: Sequence[str],
    members: int | None,
    seed: int,
    limit_s: float,
    workers: int,
    memory: OptionCache,
    lessons: Lessons | None,
    tell: Callable[[str], None],
    *,
    explain: bool = False,
) -> Answer:
    """The answer for wishes whose items lie on their pits; parted: what was put into lots for that."""
    begun, given_s = time.perf_counter(), limit_s
    amounts = amounts_of(wishes)
    cases = cases_of(wishes, amounts)
    _must_go_on(wishes, cases)
    many = sum(len(each) for each in cases) > MANY_WAYS
    count = members or (MEMBERS_MANY if many else MEMBERS)
    others = UNSEEN_MANY if many else max(min(UNSEEN, UNSEEN_OF_ALL // len(wishes.items)), UNSEEN_MANY)
    limit_s *= MANY_LIMIT if many else 1.0
    seen, _ = memory.of(wishes, seed, count)
    _, unseen = memory.of(wishes, seed, others)
    _, third = memory.of(wishes, seed + THIRD, others)
    cases = cases_of(wishes, amounts, known=seen)
    tell(said("cooking each of {n} ways {count} times", n=sum(len(each) for each in cases), count=count))
    options = options_of(wishes, cases, count, seed, cache=seen, coarse=True)
    taught = lessons or {}
    day = day_of(wishes, amounts, options, taught)
    scenarios_s = time.perf_counter() - begun
    schedule: Schedule | None = None
    found = Found(day, None, (), 0)
    broken: tuple[str, ...] = ()
    banned: list[Sequence[Slot]] = []
    tries = 0
    # A fire that goes out while nobody is there is planned only where there is no other way, and then it is said.
    left = [(replace(day, unfed=True), guard_s) for guard_s in GUARDS_S[:GUARDS_MANY]] if may_go_out(day) else []
    left += [(day, guard_s) for guard_s in GUARDS_S[: GUARDS_MANY if many else None]]
    while left:
        here, guard_s = left.pop(0)
        tell(said("choosing when each goes on" if schedule is None else "choosing again, a little earlier"))
        tries += 1
        same = (likeness(here), guard_s, limit_s, workers, seed)
        got = memory.choices.get(same) if not banned else None
        if got is None:
            with ThreadPoolExecutor(1) as ahead:
                # What goes on where is known before trips and fuel are chosen: it is tried meanwhile.
                got = choose(
                    here,
                    guard_s=guard_s,
                    limit_s=limit_s,
                    workers=workers,
                    seed=seed,
                    banned=banned,
                    # Of a day that is known it has mostly been tried.
                    after=None if unseen else partial(_ahead, ahead, wishes, cases, day, others, seed, unseen),
                )
            if not banned:
                memory.keep(same, got)
        got = _that_fits(wishes, amounts, got, guard_s, limit_s, workers, seed, banned)
        if got.picked is None:
            found = found if found.picked is not None else got
            left = [each for each in left if each[0] is not here]
            continue
        tell(said("trying the choice on meat and fires that it has not seen"))
        tried = _schedule(wishes, amounts, cases, got, others, seed, unseen)
        faults = checked(wishes, tried)
        if faults:
            broken = broken or faults
            banned.append(got.picked.slots)
            if len(banned) <= MOST_BROKEN:
                left.insert(0, (here, guard_s))  # the next best
            continue
        if schedule is None or tried.chance > schedule.chance:
            schedule, found = tried, got
        if tried.chance >= wishes.chance - (_error(wishes.chance, others) if here.unfed else 0.0):
            break
    if schedule is not None and found.picked is not None and tries > 1:
        # The guard was chosen on the unseen: what is promised is judged on scenarios that nothing was chosen on.
        schedule = _schedule(wishes, amounts, cases, found, others, seed + THIRD, third)
    nearest: Schedule | None = None
    why: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    timed_out = bool(found.stages) and found.picked is None and found.stages[0].status == "unknown"
    if schedule is not None and schedule.chance < wishes.chance - _error(wishes.chance, others):
        # What the choice has seen it keeps, and what it has not it does not: that is no promise.
        nearest, schedule = schedule, None
        kept, asked = format_percent(nearest.chance), format_percent(wishes.chance)
        why = (said(UNSEEN_LESS, kept=kept, asked=asked),)
    if schedule is None and nearest is None:
        tell(said("choosing the nearest that can be done"))
        near = nearest_of(day, limit_s=limit_s, workers=workers, seed=seed)
        near = _that_fits(wishes, amounts, near, 0.0, limit_s, workers, seed)
        if near.picked is not None:
            _, few = memory.of(wishes, seed, UNSEEN_MANY)
            nearest = _schedule(wishes, amounts, cases, near, UNSEEN_MANY, seed, few)
            faults = checked(wishes, nearest)
            if faults:
                broken, nearest = broken or faults, None
            elif nearest.chance < NONE_AT_ALL:
                nearest = None
        if broken:
            why = (broken_words(broken),)
    if schedule is None and explain and not broken:
        from pitreckon.plan.schedule.changes import best_changes  # noqa: PLC0415  it plans in its turn
        from pitreckon.plan.schedule.infeasible import Trial, reasons  # noqa: PLC0415  as above

        trial = Trial(count, seed, workers, memory, until_s=time.perf_counter() + max(EXPLAIN_S, limit_s))
        try:
            tell(said("asking what stands in the way"))
            why = why or reasons(wishes, day, trial)
            fresh = partial(
                plan,
                members=members,
                seed=seed,
                limit_s=given_s,
                workers=workers,
                explain=False,
                cache=memory,
                lessons=lessons,
            )
            changes = best_changes(wishes, nearest, trial, tell, fresh)
        except KeyboardInterrupt:
            trial.timed_out = True
        timed_out = timed_out or trial.timed_out
    solving = Solving(
        status=_status(found.stages),
        gap=max((stage.gap for stage in found.stages if not math.isnan(stage.value)), default=math.nan),
        seconds=time.perf_counter() - begun,
        scenarios_s=scenarios_s,
        members=count,
        slots=found.slots,
        unseen=others,
    )
    schedule = None if schedule is None else with_fires(wishes, schedule, taught)
    nearest = None if nearest is None else with_fires(wishes, nearest, taught)
    best = schedule or nearest
    learned = () if best is None else lesson_notes(taught, [pit.label for pit in best.pits])
    notes = (*parted, *_notes(wishes, schedule), *learned)
    if timed_out:
        notes = (*notes, said(NOT_ALL))
    if broken and not why:
        notes = (*notes, broken_words(broken))
    return Answer(schedule, nearest, why, changes, solving, notes, wishes, timed_out)


def _silent(_words: str) -> None:
    """Tell nobody."""


def checked(wishes: Wishes, schedule: Schedule, now_utc: datetime | None = None) -> tuple[str, ...]:
    """What the checker finds in a schedule, whatever its chance; that is for the messages of the program too.

    now_utc: of the rest of a day that has begun
    """
    faults = faults_of(wishes, schedule, chance=0.0, now_utc=now_utc)
    for each in faults:
        log.error("a plan of '%s' that cannot be done: %s", wishes.name, each)
    return faults


def broken_words(faults: Sequence[str]) -> str:
    """What the cook is told of a schedule that did not pass."""
    return said(BROKEN, faults="; ".join(faults))


def _error(chance: float, members: int) -> float:
    """The standard error of a share of so many scenarios: less than that short of what was asked is as asked."""
    return math.sqrt(chance * (1.0 - chance) / members)


def choose(
    day: Day,
    *,
    guard_s: float = 0.0,
    limit_s: float = 8.0,
    workers: int = 1,
    seed: int = 1,
    without: Sequence[str] = (),
    aims: Sequence[str] = AIMS,
    banned: Sequence[Sequence[Slot]] = (),
    after: Callable[[Picked], None] | None = None,
) -> Found:
    """Pick the best slots of a day that keep the asked chance, if there are any. after: as ``pick`` has it"""
    need = needed(day)
    enough = math.ceil(day.members * (day.chance + BETTER * (1.0 - day.chance)) - 1e-9)
    # All on time in so many scenarios asks that each is in as many.
    each = [list(slots_of(day, i, guard_s=guard_s, least=need)) for i in range(len(day.tasks))]
    slots = [slot for own in each for slot in promising(own, MOST_SLOTS // len(each))]
    picked, stages = pick(
        day,
        slots,
        need,
        enough,
        limit_s=limit_s,
        workers=workers,
        seed=seed,
        without=without,
        aims=aims,
        banned=banned,
        after=after,
    )
    return Found(day, picked, stages, len(slots))


def _ahead(
    pool: ThreadPoolExecutor,
    wishes: Wishes,
    cases: Sequence[Sequence[Case]],
    day: Day,
    members: int,
    seed: int,
    cache: Options,
    picked: Picked,
) -> None:
    """Begin to try a choice on scenarios that it has not seen; what was run is in the cache when the pool is closed."""
    pool.submit(unseen_ok, wishes, cases, Found(day, picked, (), 0), members, seed, cache)


def promising(slots: Sequence[Slot], most: int) -> list[Slot]:
    """The slots of an item that a choice among many items looks at: the likeliest, and of the others the best held."""
    if len(slots) <= most:
        return list(slots)
    likely = sorted(slots, key=lambda slot: (-int(slot.ok.sum()), slot.cost))[: most - most // 4]
    kept = {id(slot) for slot in likely}
    cheap = sorted((slot for slot in slots if id(slot) not in kept), key=lambda slot: slot.cost)[: most // 4]
    wanted = kept | {id(slot) for slot in cheap}
    return [slot for slot in slots if id(slot) in wanted]


def needed(day: Day) -> int:
    """Scenarios in which all have to be on time."""
    return math.ceil(day.chance * day.members - 1e-9)


def nearest_of(day: Day, *, limit_s: float, workers: int, seed: int, without: Sequence[str] = ()) -> Found:
    """Pick the slots with the best chance, however small that is."""
    slots: list[Slot] = []
    for i in range(len(day.tasks)):
        own = sorted(slots_of(day, i), key=lambda slot: -int(slot.ok.sum()))
        slots += own[: min(WORST_SLOTS, MOST_SLOTS // len(day.tasks))]
    picked, stages = pick(
        day, slots, 0, day.members, limit_s=limit_s / 2.0, workers=workers, seed=seed, without=without, aims=AIMS[:1]
    )
    if picked is None:
        return Found(day, None, stages, len(slots))
    # A chance or two in a hundred is less than what its scenarios can tell: given away for the other aims.
    need = max(picked.on_time - math.ceil(0.015 * day.members), 0)
    slots = [slot for slot in slots if int(slot.ok.sum()) >= need]
    again, more = pick(day, slots, need, need, limit_s=limit_s, workers=workers, seed=seed, without=without)
    return Found(day, again or picked, (*stages, *more), len(slots))


def _status(stages: Sequence[Stage]) -> str:
    words = [stage.status for stage in stages]
    if not words:
        return "unknown"
    if words[0] not in {"optimal", "feasible"}:
        return words[0]
    return "optimal" if all(word == "optimal" for word in words) else "feasible"


def _must_go_on(wishes: Wishes, cases: Sequence[Sequence[Case]]) -> None:
    """Every item goes on at least one of its pits, by itself."""
    pits = {pit.label: pit for pit in wishes.pits}
    for of_item in cases:
        rooms = []
        wish, amount = of_item[0].wish, of_item[0].amount
        for label in pits_of(wishes, wish):
            lot = Pieces(wish.label, wish.cut, amount.pieces, amount.mass_kg, wish.thickness_factor)
            rooms.append((pits[label], lot, room_for(pits[label], [lot])))
        if not any(room.fits for _, _, room in rooms):
            pit, lot, _ = max(rooms, key=lambda each: each[2].usable_m2)
            try:
                need_room(pit, [lot])
            except InputError as error:
                raise InputError(error.trouble, error.remedy, Place(field=f"item '{wish.label}': pieces")) from None


def _that_fits(
    wishes: Wishes,
    amounts: Sequence[Amount],
    found: Found,
    guard_s: float,
    limit_s: float,
    workers: int,
    seed: int,
    banned: Sequence[Sequence[Slot]] = (),
) -> Found:
    """What was picked, laid out piece by piece; where only the areas fit, picked anew with a little less room."""
    for _ in range(3):
        crowded = crowded_pits(wishes, amounts, found) if found.picked is not None else ()
        if not crowded:
            return found
        day = replace(
            found.day,
            places=tuple(
                replace(place, area_m2=place.area_m2 * 0.93) if place.label in crowded else place
                for place in found.day.places
            ),
        )
        found = choose(day, guard_s=guard_s, limit_s=limit_s, workers=workers, seed=seed, banned=banned)
    return found if not crowded_pits(wishes, amounts, found) else Found(found.day, None, found.stages, found.slots)


def crowded_pits(wishes: Wishes, amounts: Sequence[Amount], found: Found) -> tuple[str, ...]:
    """Pits on which what was picked does not lie at some time."""
    if found.picked is None:
        return ()
    pits = {pit.label: pit for pit in wishes.pits}
    crowded = []
    for label, pit in pits.items():
        here = [s for s in found.picked.slots if found.day.tasks[s.task].options[s.option].pit == label]
        for at in {slot.put_on_s for slot in here}:
            lots = [
                Pieces(
                    wishes.items[s.task].label,
                    wishes.items[s.task].cut,
                    amounts[s.task].pieces,
                    amounts[s.task].mass_kg,
                    wishes.items[s.task].thickness_factor,
                )
                for s in here
                if s.put_on_s <= at < s.off_s
            ]
            if lots and not room_for(pit, lots).fits:
                crowded.append(label)
                break
    return tuple(crowded)


def unseen_ok(
    wishes: Wishes,
    cases: Sequence[Sequence[Case]],
    found: Found,
    members: int,
    seed: int,
    cache: Options | None = None,
) -> tuple[list[Bools], list[Option]]:
    """Of each item in each of so many scenarios that the choice has not seen: is it on time?"""
    picked = found.picked
    assert picked is not None
    chosen = []
    for slot in picked.slots:
        task, case = found.day.tasks[slot.task], cases[slot.task][slot.option]
        chosen.append([held_till_served(case, task.options[slot.option], task.serve_s - slot.put_on_s, cache)])
    options = [option for (option,) in options_of(wishes, chosen, members, seed + 7919, cache=cache)]
    ok = []
    for slot, (case,), option in zip(picked.slots, chosen, options, strict=True):
        task = found.day.tasks[slot.task]
        course = run_course(task, as_far_as_followed(case, option), np.array([slot.put_on_s]), found.day.away)
        ok.append(on_time(task, course)[0])
    return ok, options


def _schedule(
    wishes: Wishes,
    amounts: Sequence[Amount],
    cases: Sequence[Sequence[Case]],
    found: Found,
    members: int,
    seed: int,
    cache: Options | None = None,
) -> Schedule:
    ok, _ = unseen_ok(wishes, cases, found, members, seed, cache)
    assert found.picked is not None
    return schedule_of(wishes, amounts, found.day, found.picked, ok)


def _notes(wishes: Wishes, schedule: Schedule | None) -> tuple[str, ...]:
    notes = []
    if schedule is not None and schedule.chance < wishes.chance:
        notes.append(said(CAME_OUT, kept=format_percent(schedule.chance), asked=format_percent(wishes.chance)))
    for item in wishes.items:
        if item.most_hold_s > 0.0 and schedule is not None:
            held_s = schedule.held_s(item.label)
            if held_s > 3 * 3600.0:
                span = format_duration(900.0 * round(held_s / 900.0))
                notes.append(said(LONG_HELD, item=item.label, span=span, value=temperature(item.hold_c)))
    return tuple(notes)
