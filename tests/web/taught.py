"""A house that has learned something, made by hand: what each cook taught, without reckoning it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from pitreckon import catalog
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry, LearnedCook, Store
from pitreckon.ledger.store.house import keep_learned, leave_out, say_of_pit, start_anew
from pitreckon.lessons.house.form import text_of_lessons
from pitreckon.reckon.hands import HandTold
from pitreckon.reckon.learned import GRATE, HOW_LONG, MADE_WITH, Lesson, Lessons
from pitreckon.reckon.levels import ROW, UNKNOWNS

FIRST = datetime(2026, 9, 5, 23, 0, tzinfo=UTC)
LATER = FIRST + timedelta(days=100)
"""After every other cook of these tests: they learn nothing from what comes after them."""
PIT, KIND, CUT = "barn pit", "pellet-cooker", "st-louis-ribs"
SHELVES = catalog.cuts(), catalog.pits()
"""Read while these tests are gathered, for no loop may wait for them."""


def plan_of(name: str, at: datetime, pit: str = PIT, item: str = "racks") -> str:
    """A cook of racks that goes on four hours before it is served, in Chicago's summer."""
    hour = (at - timedelta(hours=5)).strftime("%Y-%m-%d %H:%M")
    on = (at - timedelta(hours=9)).strftime("%Y-%m-%d %H:%M")
    return f"""\
[cook]
name = "{name}"
zone = "America/Chicago"
serve = "{hour}"

[[pit]]
name = "{pit}"
kind = "{KIND}"
set = "275 F"

[[item]]
name = "{item}"
cut = "{CUT}"
pieces = 4
weight = "2 lb 10 oz"
put_on = "{on}"
"""


def lesson(
    cook: str, at: datetime, *, offset_k: float, rate: float = 0.0, pit: str = PIT, hand: str | None = "owner"
) -> Lesson:
    """That a grate is so much over others of its kind, and the meat was done so much sooner (a logarithm), as if it
    turned tender faster; whoever looked finds meat more tender than most.
    """
    slope = np.zeros((2, len(UNKNOWNS)))
    told = (HandTold(hand, "probe feel", 0.2, 0.08),) if hand else ()
    slope[0, ROW["offset"]], slope[1, ROW["gelatin"]] = 1.0, -1.0
    return Lesson(
        *(cook, "racks", None, at, CUT, pit, KIND, None, False, True, 35, slope),
        *(np.array([offset_k, -rate]), np.array([3.0, 0.06]), hand, told),
        what=(GRATE, HOW_LONG),
    )


def teach(
    store: Store,
    cook: str,
    name: str,
    at: datetime,
    *,
    offset_k: float,
    rate: float = 0.0,
    pit: str = PIT,
    hands: tuple[HandTold, ...] | None = None,
) -> None:
    """A finished cook that taught this. hands: what it told of them; None: as ``lesson`` has it"""
    store.add_cook(plan_of(name, at, pit), name, cook_id=cook)
    store.append(cook, [Entry("on", Act(at - timedelta(hours=4), "racks", "put on"), "owner")])
    store.append(cook, [Entry("served", Act(at, "racks", "served"), "owner")])
    taught = lesson(cook, at, offset_k=offset_k, rate=rate, pit=pit)
    text = text_of_lessons(Lessons((taught if hands is None else replace(taught, hand=None, hands=hands),)))
    assert keep_learned(store, LearnedCook(cook, 2, 1, MADE_WITH, at, at, text))


def fill_house(store: Store, pit: str = PIT, first: datetime = FIRST, name: str = "supper") -> None:
    """Four cooks that agree, and one that says otherwise. first: when the first of them was served"""
    for n, (offset_k, rate) in enumerate(((-9.0, 0.2), (-7.0, 0.1), (-8.5, 0.15), (-7.5, 0.2))):
        teach(store, f"c{n}", f"{name} {n}", first + timedelta(days=7 * n), offset_k=offset_k, rate=rate, pit=pit)
    teach(store, "odd", "the odd one", first + timedelta(days=30), offset_k=25.0, pit=pit)


def argue(store: Store, pit: str = PIT, by: str = "owner") -> None:
    """Somebody leaves a cook out, starts the pit anew, and says outright how it is."""
    leave_out(store, "c0", by, FIRST)
    say_of_pit(store, (pit, KIND, "offset"), -4.0, 2.7, LATER, by, LATER)
    start_anew(store, pit, LATER, by, LATER)
