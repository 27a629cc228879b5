"""What earlier cooks teach of each pit's fuel, for a day that is being planned."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from pitreckon import catalog
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.plan.fuel.calibration import FuelLesson, learn_from

if TYPE_CHECKING:
    from pitreckon.ledger.store import Store
    from pitreckon.plan.wishes import Wishes

Earlier = Sequence[tuple[Cook, Ledger]]
"""Cooks with what happened in them."""
Lessons = Mapping[str, FuelLesson]
"""What was learned of a pit, by its label; only of pits that were fed."""

MOST_COOKS: Final = 200
"""A store's latest cooks that are looked at."""

log = logging.getLogger(__name__)


def earlier_in(store: Store, wishes: Wishes) -> list[tuple[Cook, Ledger]]:
    """The store's cooks that were served before this day and fed one of its pits; a plan that cannot be read is passed
    over.

    Raises StoreError: the store cannot be read.
    """
    found = []
    for row in store.cooks()[:MOST_COOKS]:
        labels = [pit.label for pit in wishes.pits if pit.label in row.plan_toml]  # most cooks are on other pits
        if not labels:
            continue
        try:
            cook = cook_from_text(row.plan_toml, row.id)
        except InputError as fault:
            log.warning("the fuel of cook %s teaches nothing, its plan cannot be read: %s", row.id, fault)
            continue
        if (cook.serve_utc or cook.start_utc) >= wishes.serve_utc:
            continue
        ledger = store.ledger(row.id)
        if any(act.act == "fed the fire" for label in labels for act in ledger.acts(label)):
            found.append((cook, ledger))
    return found


def lessons_of(wishes: Wishes, earlier: Earlier) -> dict[str, FuelLesson]:
    """What the pits of a day have taught, those that were fed with the same name and kind.

    Raises InputError: a pit's kind is not in the catalog.
    """
    lessons = {}
    for pit in wishes.pits:
        kind = catalog.pit(pit.kind)
        if kind.fire is None or not catalog.fuel(kind.fuel).burns:
            continue
        lesson = learn_from(pit.label, kind.key, earlier)
        if lesson.cooks or lesson.missing:
            lessons[pit.label] = lesson
    return lessons


def lesson_notes(lessons: Lessons, labels: Sequence[str]) -> tuple[str, ...]:
    """What was learned of the pits of these labels, a sentence each."""
    return tuple(f"{label}: {lessons[label].note}" for label in labels if label in lessons)
