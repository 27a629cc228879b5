"""What can be recorded with a tap or two, for each item and each pit."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from pitreckon import catalog
from pitreckon.cook import ItemPlan
from pitreckon.cook.looks import KINDS, LookKind
from pitreckon.cook.swatches import SWATCHES
from pitreckon.reckon import ItemOutlook, Outlook
from pitreckon.reckon.fires import DONE_AS
from pitreckon.reckon.words import AT_ONCE, next_look_words
from pitreckon.units import fahrenheit_from_celsius
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.scene import Scene, Standing

CRUST: Final = {"raw": 0, "tan": 1, "amber": 2, "red-brown": 3, "mahogany": 4, "too dark": 6}
"""How much of a swatch is dark crust."""
BONES: Final = {
    "lb": ((0.0, "0 in"), (3.2, "1/8 in"), (6.4, "1/4 in"), (9.5, "3/8 in"), (12.7, "1/2 in"), (19.0, "3/4 in")),
    "kg": ((0.0, "0 mm"), (3.0, "3 mm"), (6.0, "6 mm"), (10.0, "10 mm"), (13.0, "13 mm"), (20.0, "20 mm")),
}
"""Bone showing [mm], and as it is recorded, by the scale that goes with pounds or kilograms."""
DONE_WORDS: Final = {
    "put on": "put on",
    "wrap": "wrapped",
    "unwrap": "unwrapped",
    "sauce": "sauced",
    "put back": "unwrapped",
    "take off": "took off",
    "hold": "hold",
}
USUAL_C: Final = 60.0
DIAL: Final = {"F": (150, 450), "C": (65, 230)}
"""From where to where a pit is set with a finger; what lies beyond is typed."""
MEAT_DIAL: Final = {"F": (30, 220), "C": (0, 105)}
"""The same of a thermometer in meat."""
PIT_STEP: Final = 5


@dataclass(frozen=True, slots=True)
class Tap:
    """One button: what it says and what it records. ask: what is asked before it does"""

    says: str
    kind: str
    what: str
    value: str = ""
    due: bool = False
    ask: str = ""

    @property
    def record(self) -> str:
        """As one value of a form."""
        return f"{self.kind}|{self.what}|{self.value}"


@dataclass(frozen=True, slots=True)
class Button:
    """A tap of a group, with its picture: a face's fill and specks, or how much bone shows [mm]."""

    tap: Tap
    fill: str = ""
    specks: tuple[tuple[float, float, float], ...] = ()
    length_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Group:
    """What is recorded of one thing. form, name, heading: as a look's ``OnPage`` has them

    what: which look or act, by its kind; start: where a dial begins, in the person's degrees
    least, most, by: the ends of a dial, and its steps
    """

    form: str
    name: str
    heading: str
    what: str
    buttons: tuple[Button, ...] = ()
    start: int = 0
    kind: str = "look"
    least: int = 0
    most: int = 0
    by: int = 1


@dataclass(frozen=True, slots=True)
class Panel:
    """All that can be recorded of one item or pit.

    on: it is on the pit, or off again and not served; standing: where it is, in words
    next: what is to be done next; groups: what is likeliest wanted first
    ask: what is asked before a look or an act of it is recorded, "" for nothing
    worth: which look at it would tell most, "" for none
    """

    label: str
    is_pit: bool
    on: bool
    standing: str
    next: tuple[Tap, ...]
    groups: tuple[Group, ...]
    acts: tuple[Tap, ...]
    pieces: int
    ask: str = ""
    worth: str = ""


STANDINGS: Final = {"not on": "not on yet", "on": "on the pit", "off": "off the pit", "served": "served"}
PIT_TAPS: Final = (
    ("lid open, a moment", "lid open", "1 min"),
    ("lid open, 5 min", "lid open", "5 min"),
    ("lit", "lit", ""),
    ("fed the fire", "fed the fire", ""),
    ("filled the water pan", "filled the pan", ""),
    ("knocked the ash down", "knocked the ash down", ""),
    ("shut down", "shut down", ""),
)
"""What is done at a pit, and how it is recorded."""


def panels(scene: Scene, preferences: Preferences) -> tuple[list[Panel], int]:
    """A panel for each item and pit, and which one is likeliest wanted: of those on the pit, the next trip's."""
    cook, outlook = scene.cook, scene.outlook
    views = [_item(item, scene, preferences) for item in cook.items]
    on = [n for n, panel in enumerate(views) if panel.on]
    trips = () if outlook is None else outlook.trips
    wanted = [task.item for trip in trips for task in trip.tasks]  # a pit's too, which is no panel of an item
    chosen = next((n for label in wanted for n in on if views[n].label == label), on[0] if on else 0)
    if not on:
        labels = [panel.label for panel in views]
        chosen = next((labels.index(label) for label in wanted if label in labels), 0)
    return [*views, *(_pit(pit.label, scene, preferences) for pit in cook.pits)], chosen


def _clock(scene: Scene, preferences: Preferences) -> ClockWords:
    return ClockWords(scene.cook.zone_info, scene.now, preferences)


def _item(item: ItemPlan, scene: Scene, preferences: Preferences) -> Panel:
    say, outlook = preferences.say, scene.outlook
    seen = None if outlook is None else outlook.item(item.label)
    cut = catalog.cuts()[item.cut]
    is_rack = type(cut.shape).__name__ == "Rack"
    now_kind = "open"
    if seen is not None and seen.stages:
        now_kind = max(seen.stages, key=lambda stage: stage.now).kind
    standing = scene.standing(item.label)
    asks = {
        "not on": say("{item} is not on yet. Record it all the same?", item=item.label),
        "served": say("{item} has been served. Record it all the same?", item=item.label),
    }
    groups = [
        group_of(kind, seen, preferences)
        for kind in KINDS
        if kind.page is not None and not kind.of_pit and (is_rack or not kind.page.racks)
    ]
    by_feel = now_kind in {"wrapped", "rest", "hold"} or cut.texture.done_by == "core"
    ahead = ("ready", "feel", "spot") if by_feel else ("ready",)
    return Panel(
        label=item.label,
        is_pit=False,
        on=standing in {"on", "off"},
        standing=say(STANDINGS[standing]),
        next=tuple(_next(seen, outlook, standing, preferences)),
        groups=tuple(sorted(groups, key=lambda group: ahead.index(group.name) if group.name in ahead else len(ahead))),
        acts=tuple(_acts(item.label, standing, preferences)),
        pieces=item.pieces,
        ask=asks.get(standing, ""),
        worth=""
        if seen is None or seen.next_look is None
        else next_look_words(seen.next_look, _clock(scene, preferences), say),
    )


def group_of(kind: LookKind, seen: ItemOutlook | None, preferences: Preferences) -> Group:
    """How a kind of look is recorded of an item with taps. seen: what is reckoned of the item, where there is anything

    Raises ValueError: the kind is recorded by the log alone.
    """
    if kind.page is None:
        raise ValueError(kind.name)
    core_c = USUAL_C if seen is None or not math.isfinite(seen.core_c.p50) else seen.core_c.p50
    buttons = tuple(_buttons(kind, kind.page.form, preferences))
    heading = preferences.say(kind.page.heading)
    least, most = MEAT_DIAL[preferences.degrees]
    start = _degrees(core_c, preferences)
    return Group(kind.page.form, kind.page.group, heading, kind.name, buttons, start, least=least, most=most)


def _buttons(kind: LookKind, form: str, preferences: Preferences) -> Iterator[Button]:
    if form == "lengths":
        for length_mm, text in BONES[preferences.mass]:
            yield Button(Tap(text, "look", kind.name, text), length_mm=length_mm)
    for word in kind.scale:
        yield Button(Tap(preferences.say(word), "look", kind.name, word), *(_face(word) if form == "faces" else ()))


def _degrees(temp_c: float, preferences: Preferences) -> int:
    return round(fahrenheit_from_celsius(temp_c) if preferences.degrees == "F" else temp_c)


def _face(word: str) -> tuple[str, tuple[tuple[float, float, float], ...]]:
    """Fill and specks of crust of a colour's picture; the specks make it readable without its colour."""
    fill, crust = SWATCHES[word], CRUST[word]
    specks = tuple(  # spread evenly, and the same each time
        (4 + 40 * ((k * 0.7549) % 1.0), 4 + 24 * ((k * 0.5698) % 1.0), 1.0 + 0.3 * crust) for k in range(crust * 5)
    )
    return fill, specks


def _next(seen: ItemOutlook | None, outlook: Outlook | None, standing: Standing, preferences: Preferences) -> list[Tap]:
    """What is done to an item next: what is not on is put on, whatever is reckoned of it."""
    if seen is None or outlook is None or not (seen.windows or standing == "not on"):
        return []
    act, wrap = ("put on", "") if standing == "not on" else (seen.windows[0].act, seen.windows[0].wrap or "")
    what = DONE_WORDS.get(act)
    if what is None:
        return []
    coming = {(task.item, task.act) for task in outlook.trips[0].tasks} if outlook.trips else set()
    free = outlook.free_until_utc
    due = (seen.label, act) in coming and free is not None and free <= outlook.now_utc + AT_ONCE
    value = wrap if what == "wrapped" else ""
    return [Tap(preferences.say(f"{what} in {value}" if value else what), "act", what, value, due)]


def _acts(label: str, standing: Standing, preferences: Preferences) -> Iterator[Tap]:
    """Every act on an item; one that cannot be, by what was recorded so far, asks first."""
    say = preferences.say
    off = say("{item} has not been taken off. Record it all the same?", item=label)
    asks = {
        ("put on", "on"): say("{item} is on already. Put on once more?", item=label),
        ("put on", "off"): say("{item} was on already. Put on once more?", item=label),
        ("served", "on"): off,
        ("rest", "on"): "",
    }
    for says, what, value in (
        ("put on", "put on", ""),
        ("wrapped in foil", "wrapped", "foil"),
        ("wrapped in paper", "wrapped", "paper"),
        ("unwrapped", "unwrapped", ""),
        ("sauced", "sauced", ""),
        ("took off", "took off", ""),
        ("resting", "rest", ""),
        ("kept warm", "hold", ""),
        ("served", "served", ""),
    ):
        yield Tap(say(says), "act", what, value, ask=asks.get((what, standing), ""))


def _pit(label: str, scene: Scene, preferences: Preferences) -> Panel:
    say = preferences.say
    acts = tuple(Tap(say(says), "act", what, value) for says, what, value in PIT_TAPS)
    start = _degrees(scene.set_c(label), preferences)
    least, most = DIAL[preferences.degrees]
    dial = Group(
        "dial", "spot", say("I set it to"), "set pit", start=start, kind="act", least=least, most=most, by=PIT_STEP
    )
    looks = (
        Group(kind.page.form, kind.page.group, say(kind.page.heading), kind.name, start=start, least=least, most=most)
        for kind in KINDS
        if kind.of_pit and kind.page is not None
    )
    return Panel(label, True, True, say("pit"), _next_fire(label, scene.outlook, preferences), (dial, *looks), acts, 1)


def _next_fire(label: str, outlook: Outlook | None, preferences: Preferences) -> tuple[Tap, ...]:
    """What is done to a fire on the next trip."""
    if outlook is None or not outlook.trips:
        return ()
    trip = outlook.trips[0]
    due = trip.from_utc <= outlook.now_utc + AT_ONCE
    acts = [DONE_AS[task.act] for task in trip.tasks if task.item == label and task.act in DONE_AS]
    return tuple(Tap(preferences.say(act), "act", act, "", due) for act in acts)
