"""What a page says, as plain values for its template: no reckoning, only choosing and wording."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.store import Correction, StoredEntry
from pitreckon.reckon import ItemOutlook, Outlook, Task, Trip
from pitreckon.reckon.statements import Statement, item_statements, statements
from pitreckon.reckon.whatif import LEAVE, ItemThen, WhatIf
from pitreckon.reckon.words import AT_ONCE, STANDING, colour_word, doing_words, waiting_words, whole_minute
from pitreckon.units import format_duration, format_percent
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.strips import ready_words, strips

UNDONE: Final = 0.8


@dataclass(frozen=True, slots=True)
class TaskView:
    """item: what it is about; do: what to do; wait: until what, in words after "when"; chance: how likely then."""

    item: str
    do: str
    wait: str
    chance: str


@dataclass(frozen=True, slots=True)
class TripView:
    """at: its clock time; away: how far off; due: it is time; tasks: what to do."""

    at: str
    away: str
    due: bool
    tasks: tuple[TaskView, ...]


@dataclass(frozen=True, slots=True)
class ItemView:
    """One item on the Now page."""

    label: str
    cut: str
    state: str
    ready: str
    strip: Markup
    core: str
    pit: str
    colour: str
    lost: str
    supper: tuple[Statement, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NowView:
    """The first screen and what is under it.

    urgent: something is due; overdue: be back at once; free, back: clock times, "" for none, back also "" where the
        two are one
    supper: what is said of it: ready by then, still at its best then; or that it was served
    served: it was, and there is nothing left to do but to look back
    """

    now: str
    urgent: bool
    overdue: bool
    next: TripView | None
    later: tuple[TripView, ...]
    free: str
    back: str
    serve: str
    supper: tuple[Statement, ...]
    served: bool
    items: tuple[ItemView, ...]
    hours: Markup
    rejected: tuple[str, ...]


def _task(task: Task, outlook: Outlook, clock: ClockWords, *, several: bool, coming: bool) -> TaskView:
    item = f"{task.item} ({task.pit})" if several and task.pit else task.item
    wait, chance = "", "" if task.act == "do" else task.note
    if task.until or task.until_core_c is not None:
        wait = waiting_words(task.until, task.until_core_c, clock.preferences.degrees)
        if task.again_utc is not None:
            chance = f"{format_percent(task.open)} by then"
            if coming and task.again_utc > outlook.now_utc:
                chance += f"; if not yet, again at {clock(task.again_utc)}"
    return TaskView(item, doing_words(task), wait, chance)


def trip_view(trip: Trip, outlook: Outlook, clock: ClockWords, *, coming: bool) -> TripView:
    """One trip in words."""
    several = len({task.pit for each in outlook.trips for task in each.tasks if task.pit}) > 1
    due = trip.from_utc <= outlook.now_utc + AT_ONCE
    at_now = trip.at_utc <= outlook.now_utc + AT_ONCE
    return TripView(
        at="now" if at_now else clock(trip.at_utc),
        away="" if at_now else clock.in_words(trip.at_utc),
        due=due,
        tasks=tuple(_task(task, outlook, clock, several=several, coming=coming) for task in trip.tasks),
    )


def state_of(item: ItemOutlook, outlook: Outlook, clock: ClockWords) -> str:
    """Where an item is, in words."""
    if outlook.now_utc < item.put_on_utc:
        return f"on at {clock(item.put_on_utc)}"
    if item.put_on_planned:
        return f"not on yet? Planned {clock(item.put_on_utc)}"
    if item.served_utc is not None:
        return f"served {clock(item.served_utc)}"
    current = max(item.stages, key=lambda stage: stage.now, default=None)
    if current is None or current.now <= 0.0:
        return "off"
    return STANDING[current.kind]


def _item(item: ItemOutlook, outlook: Outlook, clock: ClockWords, drawn: str) -> ItemView:
    preferences = clock.preferences
    on = outlook.now_utc >= item.put_on_utc and item.served_utc is None
    return ItemView(
        label=item.label,
        cut=f"{item.pieces} × {item.cut_name}" if item.pieces > 1 else item.cut_name,
        state=state_of(item, outlook, clock),
        ready=ready_words(item, clock).replace(" to ", "–"),  # a phone is narrow
        strip=Markup(drawn),
        core=preferences.warm(item.core_c) if on else "–",
        pit=preferences.warm(item.pit_c) if on else "–",
        colour=colour_word(item.colour.p50) if on and item.colour.known else "–",
        lost=format_percent(item.loss_fraction.p50) if on and item.loss_fraction.known else "–",
        supper=item_statements(item, outlook, clock),
        notes=item.notes if item.served_utc is None else (),
    )


def now_view(outlook: Outlook, clock: ClockWords) -> NowView:
    """The Now page of an outlook."""
    now = outlook.now_utc
    drawn, hours = strips(outlook, clock)
    free, back = outlook.free_until_utc, outlook.be_back_utc
    one = free is not None and back is not None and free > now and back - free <= 2 * AT_ONCE
    trips = [trip_view(trip, outlook, clock, coming=n == 0) for n, trip in enumerate(outlook.trips)]
    return NowView(
        now=clock(now),
        urgent=free is not None and free <= now + AT_ONCE,
        overdue=back is not None and back <= now + 2 * AT_ONCE,
        next=trips[0] if trips else None,
        later=tuple(trips[1:]),
        free="" if free is None else clock(whole_minute(free)),
        back="" if back is None or one else clock(whole_minute(back)),
        serve="" if outlook.serve_utc is None else clock(outlook.serve_utc),
        supper=statements(outlook, clock),
        served=outlook.served_utc is not None,
        items=tuple(_item(item, outlook, clock, svg) for item, svg in zip(outlook.items, drawn, strict=True)),
        hours=Markup(hours),
        rejected=outlook.rejected,
    )


# --- the plan


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage of an item in words."""

    kind: str
    until: str
    when: str
    done: bool


def stage_views(item: ItemOutlook, clock: ClockWords) -> list[StageView]:
    """An item's course with its times."""
    out = []
    for stage in item.stages:
        quantiles = stage.ends_s
        if not quantiles.known:
            when = "not in sight"
        else:
            low, mid = clock(item.instant(quantiles.p05)), clock(item.instant(quantiles.p50))
            high = clock(item.instant(quantiles.p95)) if math.isfinite(quantiles.p95) else "late"
            when = mid if low == high else f"{mid} ({low} to {high})"
        until = waiting_words(stage.until, stage.until_core_c, clock.preferences.degrees)
        kind = STANDING[stage.kind] + (f" in {stage.wrap}" if stage.wrap and stage.kind == "wrapped" else "")
        out.append(StageView(kind, until, when, stage.done))
    return out


@dataclass(frozen=True, slots=True)
class OptionView:
    """A what-if card.

    name: what one would do; on: pit or item; sums: what it comes to; items: what each item would do
    acts: what one tap records, as values of a form
    """

    name: str
    on: str
    sums: tuple[str, ...]
    items: tuple[str, ...]
    acts: tuple[dict[str, str], ...]
    leaves: bool


def option_views(options: Sequence[WhatIf], outlook: Outlook, clock: ClockWords) -> list[OptionView]:
    """What could be done now, the best first."""
    as_it_is = next((option for option in options if option.what == LEAVE), None)
    out = []
    for option in options:
        shown = [item for item in option.items if option.changes(item, as_it_is)]
        name = option.what
        set_c = next((act.air_c for act in option.acts if act.act == "set pit"), None)
        if set_c is not None:
            name = f"{name}: set it to {clock.preferences.temperature(set_c)}"
        out.append(
            OptionView(
                name=name,
                on=option.on,
                sums=tuple(_sums(option, as_it_is, clock.preferences)),
                items=tuple(f"{item.label}: {_then(item, clock)}" for item in shown),
                acts=tuple(_act_form(act) for act in option.acts),
                leaves=option.what == LEAVE,
            )
        )
    return out


def _sums(option: WhatIf, as_it_is: WhatIf | None, preferences: Preferences) -> list[str]:
    words = []
    if option.on_time is not None:
        chance = f"all ready, done and still good: {format_percent(option.on_time)}"
        if as_it_is is not None and as_it_is is not option and as_it_is.on_time is not None:
            chance += f" (as it is: {format_percent(as_it_is.on_time)})"
        words.append(chance)
    if option.moved:
        words.append(f"ready {option.moved}")
    if option.fuel_kg is not None:
        words.append(f"about {preferences.weight(option.fuel_kg)} of fuel from now")
    words += [f"how: {option.how}"] if option.how else []
    words += [f"brings: {brought}" for brought in option.brings]
    words += [f"costs: {cost}" for cost in option.costs]
    return words


def _then(item: ItemThen, clock: ClockWords) -> str:
    words = [f"ready {ready_words(item.outlook, clock)}"]
    if item.done < UNDONE and item.ready.known:
        words.append(f"but done only {format_percent(item.done)} likely")
    if item.colour.known:
        words.append(colour_word(item.colour.p50))
    if item.loss.known:
        words.append(f"{format_percent(item.loss.p50)} of its weight lost as water")
    return ", ".join(words)


def _act_form(act: Act) -> dict[str, str]:
    value = act.detail if act.air_c is None else f"{act.air_c:.1f} C"
    return {"kind": "act", "on": act.on, "what": act.act, "value": value}


# --- the ledger


@dataclass(frozen=True, slots=True)
class LineView:
    """One entry of the ledger in words. gone: a correction holds for it; may_go: it can be taken back."""

    seq: int
    id: str
    at: str
    kind: str
    on: str
    words: str
    by: str
    aside: str
    gone: bool
    may_go: bool


def line_view(stored: StoredEntry, clock: ClockWords) -> LineView:
    """One entry as a person reads it."""
    event, preferences = stored.event, clock.preferences
    if isinstance(event, Correction):
        words = f"takes back an entry{': ' + event.why if event.why else ''}"
        return LineView(
            stored.seq, stored.id, clock(stored.recorded_utc), "correction", "", words, stored.by, "", False, False
        )
    gone = stored.corrected_by is not None
    aside = getattr(event, "rejected", None) or ""
    on = event.on if event.piece is None else f"{event.on}, piece {event.piece}"
    return LineView(
        stored.seq,
        stored.id,
        clock(event.at_utc),
        type(event).__name__.casefold(),
        on,
        event_words(event, preferences),
        stored.by,
        aside,
        gone,
        not gone,
    )


def event_words(event: Reading | Look | Act, preferences: Preferences) -> str:
    """What an entry says, without its time and place."""
    if isinstance(event, Reading):
        return f"{event.channel} {'–' if math.isnan(event.value_c) else preferences.temperature(event.value_c)}"
    if isinstance(event, Look):
        return f"{event.kind} {_look_value(event, preferences)}" + (f" ({event.note})" if event.note else "")
    words = event.act
    if event.detail:
        words += f" {'to ' if event.act == 'moved' else 'in '}{event.detail}"
    if event.air_c is not None:
        words += f" {'at' if event.act == 'hold' else 'to'} {preferences.temperature(event.air_c)}"
    if event.duration_s is not None:
        words += f" for {format_duration(event.duration_s)}"
    if event.fuel_kg is not None:
        words += f" with {preferences.weight(event.fuel_kg)}"
    return words + (f" ({event.note})" if event.note else "")


def _look_value(look: Look, preferences: Preferences) -> str:
    if math.isnan(look.value):
        return "–"
    return LOOK_KINDS[look.kind].show(look.value, look.text, preferences.degrees, preferences.mass)
