"""What can be recorded with a tap or two, for each item and each pit."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan
from pitreckon.cook.looks import KINDS, LookKind
from pitreckon.reckon import ItemOutlook, Outlook
from pitreckon.reckon.words import AT_ONCE
from pitreckon.units import fahrenheit_from_celsius
from pitreckon.web.views.reader import Preferences

SWATCHES: Final = {  # how a face looks, on paper: fill, and how much of it is dark crust
    "raw": ("#d98f88", 0),
    "tan": ("#d9b184", 1),
    "amber": ("#c4803b", 2),
    "red-brown": ("#96472a", 3),
    "mahogany": ("#5d2417", 4),
    "too dark": ("#1c1311", 6),
}
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


@dataclass(frozen=True, slots=True)
class Tap:
    """One button: what it says and what it records."""

    says: str
    kind: str
    what: str
    value: str = ""
    due: bool = False

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

    what: which look or act; start: where a stepper begins, in the person's degrees
    """

    form: str
    name: str
    heading: str
    what: str
    buttons: tuple[Button, ...] = ()
    start: int = 0


@dataclass(frozen=True, slots=True)
class Panel:
    """All that can be recorded of one item or pit. next: what is to be done next; first: the group that stands first"""

    label: str
    is_pit: bool
    next: tuple[Tap, ...]
    first: str
    groups: tuple[Group, ...]
    acts: tuple[Tap, ...]
    pieces: int


def panels(cook: Cook, outlook: Outlook | None, preferences: Preferences) -> tuple[list[Panel], int]:
    """A panel for each item and pit, and which one is likeliest wanted."""
    views = [
        _item(item, cook, None if outlook is None else outlook.item(item.label), outlook, preferences)
        for item in cook.items
    ]
    chosen = 0
    if outlook is not None and outlook.trips:
        labels = {item.label for item in cook.items}
        wanted = next((task.item for trip in outlook.trips for task in trip.tasks if task.item in labels), "")
        chosen = next((n for n, panel in enumerate(views) if panel.label == wanted), 0)
    return [*views, *(_pit(pit.label, pit.set_c, preferences) for pit in cook.pits)], chosen


def _item(
    item: ItemPlan, cook: Cook, seen: ItemOutlook | None, outlook: Outlook | None, preferences: Preferences
) -> Panel:
    cut = catalog.cuts()[item.cut]
    is_rack = type(cut.shape).__name__ == "Rack"
    now_kind = "open"
    if seen is not None and seen.stages:
        now_kind = max(seen.stages, key=lambda stage: stage.now).kind
    core_c = USUAL_C if seen is None or not math.isfinite(seen.core_c.p50) else seen.core_c.p50
    return Panel(
        label=item.label,
        is_pit=False,
        next=tuple(_next(seen, outlook)),
        first="feel" if now_kind in {"wrapped", "rest", "hold"} or cut.texture.done_by == "core" else "colour",
        groups=tuple(
            Group(
                kind.page.form,
                kind.page.group,
                kind.page.heading,
                kind.name,
                tuple(_buttons(kind, kind.page.form, preferences)),
                _degrees(core_c, preferences),
            )
            for kind in KINDS
            if kind.page is not None and (is_rack or not kind.page.racks)
        ),
        acts=tuple(_acts()),
        pieces=item.pieces,
    )


def _buttons(kind: LookKind, form: str, preferences: Preferences) -> Iterator[Button]:
    if form == "lengths":
        for length_mm, text in BONES[preferences.mass]:
            yield Button(Tap(text, "look", kind.name, text), length_mm=length_mm)
    for word in kind.scale:
        yield Button(Tap(word, "look", kind.name, word), *(_face(word) if form == "faces" else ()))


def _degrees(temp_c: float, preferences: Preferences) -> int:
    return round(fahrenheit_from_celsius(temp_c) if preferences.degrees == "F" else temp_c)


def _face(word: str) -> tuple[str, tuple[tuple[float, float, float], ...]]:
    """Fill and specks of crust of a colour's picture; the specks make it readable without its colour."""
    fill, crust = SWATCHES[word]
    specks = tuple(  # spread evenly, and the same each time
        (4 + 40 * ((k * 0.7549) % 1.0), 4 + 24 * ((k * 0.5698) % 1.0), 1.0 + 0.3 * crust) for k in range(crust * 5)
    )
    return fill, specks


def _next(seen: ItemOutlook | None, outlook: Outlook | None) -> list[Tap]:
    if seen is None or outlook is None or not seen.windows:
        return []
    window = seen.windows[0]
    what = DONE_WORDS[window.act]
    coming = {(task.item, task.act) for task in outlook.trips[0].tasks} if outlook.trips else set()
    free = outlook.free_until_utc
    due = (seen.label, window.act) in coming and free is not None and free <= outlook.now_utc + AT_ONCE
    value = window.wrap or "" if what == "wrapped" else ""
    return [Tap(f"{what} in {value}" if value else what, "act", what, value, due)]


def _acts() -> list[Tap]:
    return [
        Tap("put on", "act", "put on"),
        Tap("wrapped in foil", "act", "wrapped", "foil"),
        Tap("wrapped in paper", "act", "wrapped", "paper"),
        Tap("unwrapped", "act", "unwrapped"),
        Tap("sauced", "act", "sauced"),
        Tap("took off", "act", "took off"),
        Tap("resting", "act", "rest"),
        Tap("in the hold", "act", "hold"),
        Tap("served", "act", "served"),
    ]


def _pit(label: str, set_c: float, preferences: Preferences) -> Panel:
    acts = (
        Tap("lid open, a moment", "act", "lid open", "1 min"),
        Tap("lid open, 5 min", "act", "lid open", "5 min"),
        Tap("lit", "act", "lit"),
        Tap("fed the fire", "act", "fed the fire"),
        Tap("filled the water pan", "act", "filled the pan"),
        Tap("knocked the ash down", "act", "knocked the ash down"),
        Tap("shut down", "act", "shut down"),
    )
    stepper = Group("stepper", "spot", "Set the pit to", "set pit", start=_degrees(set_c, preferences))
    return Panel(label, True, (), "", (stepper,), acts, 1)
