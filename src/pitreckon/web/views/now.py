"""The Now page: the next trip with its jobs, until when one is away, whether supper is ready, where each meat is."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from pitreckon.cook import ItemPlan
from pitreckon.reckon import ItemOutlook, Outlook
from pitreckon.reckon.outlook import NextLook
from pitreckon.reckon.statements import item_statements
from pitreckon.reckon.whatif import WhatIf
from pitreckon.reckon.words import AT_ONCE, STANDING, colour_word, whole_minute
from pitreckon.text.said import Said
from pitreckon.units import format_percent
from pitreckon.web.views.measured import SILENT, Measured, latest_pit, measured_of
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.scene import Scene
from pitreckon.web.views.spans import Span, span_of
from pitreckon.web.views.strips import Drawn, strips
from pitreckon.web.views.supper import Promise, Supper, promises_of, supper_of
from pitreckon.web.views.trips import TripView, trip_view

OUT: Final = timedelta(hours=2)
OUT_HOT: Final = timedelta(hours=1)
HOT_C: Final = 32.2
"""So long may food stand out, and where it is hotter than 90 degF: FSIS, "Leftovers and Food Safety" (from memory)."""
LEFTOVERS: Final = (
    "What is left over: into the cold by {at}, in shallow trays; by {sooner} where it is over {warm} outside."
)


@dataclass(frozen=True, slots=True)
class ItemView:
    """One item on the Now page.

    state: where it is and how long still; standing: the same without how long
    measured: the cook's own numbers, the newest first; core: what is reckoned; ends: when its rest or hold is over
    ready: None once it is served; supper: what is said of it at the hour of serving
    look: what a look at it would tell, at the one of which that is most; "" at the others
    strip: drawn for a phone, and wide
    """

    label: str
    cut: str
    state: str
    standing: str
    ends: datetime | None
    measured: tuple[Measured, ...]
    ready: Span | None
    supper: tuple[Promise, ...]
    look: str
    strip: Drawn
    core: str
    core_range: str
    heat: str
    colour: str
    lost: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PitView:
    """A pit: what its thermometer says, how long ago, and what it is set to. value: "" where it has said nothing."""

    label: str
    value: str
    age: str
    old: bool
    aim: str


@dataclass(frozen=True, slots=True)
class NowView:
    """The first screen and what is under it.

    urgent: something is due; overdue: be back at once; away: until when one may be away, "" for no end in sight
    back: by when to be back, "" where that is the same but for a minute or two; back_utc: the same, for who counts down
    served: when all was served, "" while it is not; leftovers: by when what is left belongs into the cold, "" before
    rejected: what was kept and not believed, and of how many lines it is the latest
    """

    now: str
    urgent: bool
    overdue: bool
    next: TripView | None
    later: tuple[TripView, ...]
    away: str
    back: str
    back_utc: datetime | None
    supper: Supper | None
    served: str
    leftovers: str
    items: tuple[ItemView, ...]
    pits: tuple[PitView, ...]
    hours: Drawn
    rejected: tuple[tuple[str, int], ...]


def now_view(scene: Scene, outlook: Outlook, clock: ClockWords, options: Sequence[WhatIf] = ()) -> NowView:
    """The Now page of an outlook."""
    now = outlook.now_utc
    drawn, hours = strips(outlook, clock)
    free, back = outlook.free_until_utc, outlook.be_back_utc
    trips = [trip_view(trip, outlook, clock, coming=n == 0, scene=scene) for n, trip in enumerate(outlook.trips)]
    served = outlook.served_utc
    one = free is not None and back is not None and back - free <= 2 * AT_ONCE
    return NowView(
        now=clock(now),
        urgent=free is not None and free <= now + AT_ONCE,
        overdue=back is not None and back <= now + 2 * AT_ONCE,
        next=trips[0] if trips else None,
        later=tuple(trips[1:]),
        away="" if free is None else clock(whole_minute(free)),
        back="" if back is None or one else clock(whole_minute(back)),
        back_utc=back,
        supper=supper_of(outlook, options, clock),
        served="" if served is None else clock(served),
        leftovers="" if served is None else _leftovers(outlook, served, clock),
        items=tuple(_item(item, scene, outlook, clock, svg) for item, svg in zip(outlook.items, drawn, strict=True)),
        pits=tuple(_pit(pit.label, scene, clock) for pit in scene.cook.pits),
        hours=hours,
        rejected=_alike([_not_believed(line, clock) for line in outlook.rejected]),
    )


def _leftovers(outlook: Outlook, served: datetime, clock: ClockWords) -> str:
    """By when what is left belongs into the cold: as counted from the dish of this meal that was on the table first."""
    meal = [each.served_utc for each in outlook.items if each.served_utc is not None]
    first = min(at for at in meal if served - at <= OUT)
    at, sooner, warm = clock(first + OUT), clock(first + OUT_HOT), clock.preferences.temperature(HOT_C)
    return clock.preferences.say(LEFTOVERS, at=at, sooner=sooner, warm=warm)


def _not_believed(line: str, clock: ClockWords) -> str:
    """What was not believed, and why; a verdict of the moment when it came in was kept with it in English."""
    if isinstance(line, Said):
        return clock.retold(line)
    label, between, why = line.partition(": ")
    return f"{label}{between}{clock.of_task(why)}"


def _alike(lines: Sequence[str]) -> tuple[tuple[str, int], ...]:
    """The latest of the lines that differ by nothing but their numbers, and how many of them there are.

    >>> _alike(["pit: stuck for 55 min", "pit: stuck for 1 h", "racks: too hot"])
    (('pit: stuck for 1 h', 2), ('racks: too hot', 1))
    """
    found: dict[str, tuple[str, int]] = {}
    for line in lines:
        like = re.sub(r"\d+", "0", re.sub(r"\d+ h( \d+ min)?", "0 min", line))
        found[like] = line, found.get(like, ("", 0))[1] + 1
    return tuple(found.values())


def _item(item: ItemOutlook, scene: Scene, outlook: Outlook, clock: ClockWords, drawn: Drawn) -> ItemView:
    mine, say = clock.preferences, clock.preferences.say
    on = outlook.now_utc >= item.put_on_utc and item.served_utc is None and not item.put_on_planned
    pieces = _planned(item, scene).pieces
    core = mine.temperature(item.core_c.p50) if on and item.core_c.known else ""
    standing, ends = _state(item, scene, outlook, clock)
    left_s = 0.0 if ends is None else (ends - outlook.now_utc).total_seconds()
    state = say("{state}, {span} left", state=standing, span=clock.span(left_s)) if left_s > 0.0 else standing
    said = item_statements(item, outlook, clock.short)
    return ItemView(
        label=item.label,
        cut=f"{item.pieces} × {say(item.cut_name)}" if item.pieces > 1 else say(item.cut_name),
        state=state,
        standing=standing,
        ends=ends,
        measured=tuple(measured_of(scene.ledger, item.label, pieces, clock)) if on else (),
        ready=None if item.served_utc is not None else span_of(item, item.marks["ready"], clock),
        supper=promises_of(said, clock),
        look=_look(item.next_look, clock) if item.next_look and item is _most_told(outlook) else "",
        strip=drawn,
        core=core,
        core_range=mine.warm(item.core_c) if on else "",
        heat=mine.warm(item.pit_c) if scene.standing(item.label) == "on" else "",
        colour=say(colour_word(item.colour.p50)) if on and item.colour.known else "",
        lost=format_percent(item.loss_fraction.p50) if on and item.loss_fraction.known else "",
        notes=item.notes if item.served_utc is None else (),
    )


def _most_told(outlook: Outlook) -> ItemOutlook | None:
    """The item whose window a look would narrow most."""
    told = [(each.next_look.width_s - each.next_look.after_s, each) for each in outlook.items if each.next_look]
    return max(told, key=lambda pair: pair[0], default=(0.0, None))[1]


def _look(look: NextLook, clock: ClockWords) -> str:
    """What a look would buy, on one line; which one is said on Look."""
    narrow = max(round(look.after_s / 300.0) * 5, 5)
    say = clock.preferences.say
    return say("a look at {when} narrows that to about {narrow} min", when=clock(look.at_utc[0]), narrow=narrow)


def _planned(item: ItemOutlook, scene: Scene) -> ItemPlan:
    return next(each for each in scene.cook.items if each.label == item.label)


def _state(item: ItemOutlook, scene: Scene, outlook: Outlook, clock: ClockWords) -> tuple[str, datetime | None]:
    """Where an item is, in words, and when a rest or a hold is over."""
    say = clock.preferences.say
    if item.served_utc is not None:
        return say("served {at}", at=clock(item.served_utc)), None
    if outlook.now_utc < item.put_on_utc:
        return say("goes on {at}", at=clock(item.put_on_utc)), None
    if item.put_on_planned:
        return say("not on yet? Planned {at}", at=clock(_planned(item, scene).put_on_utc)), None
    current = max(item.stages, key=lambda stage: stage.now, default=None)
    if current is None or current.now <= 0.0:
        return say("off the pit"), None
    counts = current.kind in {"rest", "hold"} and current.ends_s.known
    return say(STANDING[current.kind]), item.instant(current.ends_s.p50) if counts else None


def _pit(label: str, scene: Scene, clock: ClockWords) -> PitView:
    mine, last = clock.preferences, latest_pit(scene.ledger, label, clock.now)
    aim = mine.temperature(scene.set_c(label))
    if last is None:
        return PitView(label, "", "", old=True, aim=aim)
    old = clock.now - last.at_utc > SILENT
    return PitView(label, mine.temperature(last.value_c), clock.in_words(last.at_utc), old, aim)
