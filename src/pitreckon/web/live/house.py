"""The house's lessons as they are kept: those that count, and how many earlier cooks they come from."""

from __future__ import annotations

import logging
from datetime import datetime
from functools import lru_cache
from typing import Final

from pitreckon.errors import InputError
from pitreckon.ledger.store import HouseRows, PitSaid, Store
from pitreckon.ledger.store.house import house_rows
from pitreckon.lessons.house.form import lessons_of_text
from pitreckon.lessons.house.said import (
    ANOTHER,
    OFFSET,
    SAME,
    THERMOMETER_KIND,
    another_thermometer,
    said_offset,
    said_thermometer,
)
from pitreckon.reckon.learned import Lesson, Lessons, ThermometerSaid

log = logging.getLogger(__name__)
MOST_READ: Final = 256


def lessons_in(rows: HouseRows) -> Lessons:
    """Those of cooks that are not left out, with what people said outright."""
    out = {each.cook_id for each in rows.left_out}
    found = [
        lesson for row in rows.learned if row.cook_id not in out for lesson in lessons_of(row.content, row.cook_id)
    ]
    found += [lesson for each in rows.said if each.kind != THERMOMETER_KIND for lesson in _said(each)]
    anew = {each.pit: each.since_utc for each in rows.anew}
    same = {
        each.pit: each.since_utc for each in sorted(rows.said, key=lambda said: said.since_utc) if each.what == SAME
    }
    thermometers = tuple(_thermometer(each) for each in rows.said if each.kind == THERMOMETER_KIND)
    return Lessons((), anew, same, thermometers).plus(found)


def known_before(store: Store, cook_id: str, at: datetime) -> Lessons:
    """What the house had learned when a cook began, which teaches itself nothing."""
    return lessons_in(house_rows(store)).without(cook_id).before(at)


def cooks_in(lessons: Lessons) -> int:
    """How many cooks they come from, of those that count."""
    return len({each.cook for each in lessons.used if not each.was_said})


@lru_cache(MOST_READ)
def lessons_of(content: str, cook_id: str) -> tuple[Lesson, ...]:
    """What one cook taught; of what cannot be read any more nothing, until it is learned anew."""
    try:
        return lessons_of_text(content, cook_id).lessons
    except InputError as fault:
        log.warning("what %s taught cannot be read: %s", cook_id, fault)
        return ()


def _thermometer(said: PitSaid) -> ThermometerSaid:
    if said.what == ANOTHER:
        return another_thermometer(said.id, said.pit, said.since_utc)
    return said_thermometer(said.id, said.pit, said.amount, said.give, said.since_utc)


def _said(said: PitSaid) -> tuple[Lesson, ...]:
    if said.what != OFFSET:
        return ()
    try:
        return (said_offset(said.id, said.pit, said.kind, said.amount, said.give, said.by, said.since_utc),)
    except InputError as fault:
        log.warning("what %s said of %s counts for nothing: %s", said.by, said.pit, fault)
        return ()
