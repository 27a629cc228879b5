"""Trips to the pit in a page's words: when, what to do there, and what is recorded by a tap on each job."""

from dataclasses import dataclass, replace
from typing import Final

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.reckon import ItemOutlook, Outlook, Task, Trip
from pitreckon.reckon.fires import DONE_AS
from pitreckon.reckon.words import AT_ONCE, DOING, waiting_words
from pitreckon.units import format_percent
from pitreckon.web.views.look import DONE_WORDS, Group, Tap, group_of
from pitreckon.web.views.reader import ClockWords, Moment
from pitreckon.web.views.scene import Scene

DONE_MAY_BE: Final = 0.5
"""Where it is less likely than this that a job can be done, its page says first that it may not be so far."""
NOT_YET: Final = next(iter(LOOK_KINDS["ready"].scale))


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to do on a trip.

    item: what it is about; pit: where, "" where there is but one; do: what to do; wait: until what, after "when"
    chance: how likely then, and when to come again; note: how it is done; done: what a tap records
    not_yet: what a tap records where it is not so far; look: what is seen then
    on, piece: of what these are recorded; "" for ``item`` itself, None for all its pieces
    """

    item: str
    pit: str
    do: str
    wait: str
    chance: str
    note: str = ""
    done: Tap | None = None
    not_yet: Tap | None = None
    look: Group | None = None
    on: str = ""
    piece: int | None = None


@dataclass(frozen=True, slots=True)
class TripView:
    """at: its clock time; moment: the same in its parts, None for now; away: how far off; due: it is time."""

    at: str
    moment: Moment | None
    away: str
    due: bool
    jobs: tuple[Job, ...]


def trip_view(trip: Trip, outlook: Outlook, clock: ClockWords, *, coming: bool, scene: Scene | None = None) -> TripView:
    """One trip in words. coming: it is the next one, whose jobs are recorded by a tap where the scene is given."""
    several = len({task.pit for each in outlook.trips for task in each.tasks if task.pit}) > 1
    at_now = trip.at_utc <= outlook.now_utc + AT_ONCE
    return TripView(
        at=clock.preferences.say("now") if at_now else clock(trip.at_utc),
        moment=None if at_now else clock.parts(trip.at_utc),
        away="" if at_now else clock.in_words(trip.at_utc),
        due=trip.from_utc <= outlook.now_utc + AT_ONCE,
        jobs=tuple(_job(task, outlook, clock, several=several, coming=coming, scene=scene) for task in trip.tasks),
    )


def _job(task: Task, outlook: Outlook, clock: ClockWords, *, several: bool, coming: bool, scene: Scene | None) -> Job:
    say = clock.preferences.say
    wait, chance = "", ""
    if task.until or task.until_core_c is not None:
        wait = clock.retold(waiting_words(task.until, task.until_core_c, clock.preferences.degrees))
        if task.again_utc is not None:
            chance = say("may not be there yet") if task.open < DONE_MAY_BE else format_percent(task.open)
            if task.open >= DONE_MAY_BE:
                chance = say("{chance} there by then", chance=chance)
            if coming and task.again_utc > outlook.now_utc:
                chance += say("; if not, look again {at}", at=clock(task.again_utc))
    pit = task.pit or "" if several and task.pit != task.item else ""
    note = "" if task.act == "do" else clock.retold(task.note)
    job = Job(task.item, pit, _doing(task, clock), wait, chance, note)
    if scene is None or not coming:
        return job
    item, piece = _whose(task, outlook)
    return replace(
        job,
        done=_done(task, clock),
        not_yet=_not_yet(task, clock),
        look=None if item is None else _seen(task, item, clock),
        on=task.item if item is None else item.label,
        piece=piece,
    )


def _whose(task: Task, outlook: Outlook) -> tuple[ItemOutlook | None, int | None]:
    """The item that a task is about, and its piece where that has a course of its own; None: it is about a pit."""
    for item in outlook.items:
        if item.label == task.item:
            return item, None
    for item in outlook.items:
        number = task.item.removeprefix(f"{item.label} ")
        if number != task.item and number.isascii() and number.isdigit():
            return item, int(number)
    return None, None


def _doing(task: Task, clock: ClockWords) -> str:
    say = clock.preferences.say
    words = clock.of_task(task.note) if task.act == "do" else say(DOING[task.act])
    return say("{doing} in {wrap}", doing=words, wrap=say(task.wrap)) if task.wrap else words


def _done(task: Task, clock: ClockWords) -> Tap | None:
    """What a tap records once a job is done; None: no act of the ledger stands for it."""
    what = DONE_WORDS.get(task.act) or DONE_AS.get(task.act)
    if what is None:
        return None
    value = task.wrap or "" if what == "wrapped" else ""
    return Tap(clock.preferences.say(f"{what} in {value}" if value else what), "act", what, value)


def _not_yet(task: Task, clock: ClockWords) -> Tap | None:
    """The look that tells that a job waits for what has not come, or not in truth; None: it waits for nothing."""
    if not task.until and not task.waited_for and task.until_core_c is None:
        return None
    return Tap(clock.preferences.say(NOT_YET), "look", "ready", NOT_YET)


def _seen(task: Task, item: ItemOutlook, clock: ClockWords) -> Group | None:
    """The look that tells whether a job can be done: by what it waits for, or did."""
    waits = task.until or task.waited_for
    if task.act == "put on":
        return None
    if task.until_core_c is not None:
        kind = "spot temperature"
    elif "colour" in waits:
        kind = "colour"
    elif "probe" in waits:
        kind = "probe feel"
    else:
        return None
    return group_of(LOOK_KINDS[kind], item, clock.preferences)
