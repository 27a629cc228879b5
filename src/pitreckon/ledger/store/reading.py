"""What is asked of a store; every question sees whole commits only."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, Select, func, select

from pitreckon.ledger.events import Event, Ledger, Look
from pitreckon.ledger.store.ingest import no_cook
from pitreckon.ledger.store.records import CookRow, Correction, ReplacedPlan, StoredEntry
from pitreckon.ledger.store.rows import EVENT_COLUMNS, event_of
from pitreckon.ledger.store.schema import cooks, events, plan_versions, utc_of

Seen = TypeVar("Seen", bound=Event | Correction | None)


def cook_row(row: Any) -> CookRow:
    """The record of a row of ``cooks``."""
    return CookRow(row.id, row.name, row.plan_toml, row.plan_version, utc_of(row.created_us), row.last_seq)


def find_cook(connection: Connection, cook_id: str, *, to_change: bool = False) -> CookRow:
    """The cook. to_change: nobody else may change it until the transaction ends. Raises InputError: no such cook."""
    asked = select(cooks).where(cooks.c.id == cook_id)
    row = connection.execute(asked.with_for_update() if to_change else asked).first()
    if row is None:
        raise no_cook(cook_id)
    return cook_row(row)


def last_seq(connection: Connection, cook_id: str) -> int:
    """Number of the latest entry, 0 for none. Raises InputError: no such cook."""
    last = connection.execute(select(cooks.c.last_seq).where(cooks.c.id == cook_id)).scalar()
    if last is None:
        raise no_cook(cook_id)
    return int(last)


def replaced_plans_of(connection: Connection, cook_id: str) -> list[ReplacedPlan]:
    """The plans before the one that holds, the oldest first. Raises InputError: no such cook."""
    find_cook(connection, cook_id)
    asked = select(plan_versions).where(plan_versions.c.cook_id == cook_id).order_by(plan_versions.c.plan_version)
    return [
        ReplacedPlan(row.cook_id, row.plan_version, row.plan_toml, utc_of(row.replaced_us), row.replaced_by)
        for row in connection.execute(asked)
    ]


def entry_at(connection: Connection, cook_id: str, entry_id: str) -> datetime | None:
    """The time of an entry, by its id; None: there is none of it."""
    asked = select(events.c.at_us).where(events.c.cook_id == cook_id, events.c.id == entry_id)
    at_us = connection.execute(asked).scalar()
    return None if at_us is None else utc_of(at_us)


_EVENT: Final = [events.c[name] for name in EVENT_COLUMNS]
_ENTRY: Final = [events.c[name] for name in ("seq", "id", "by_whom", "recorded_us")]
_LEDGER: Final = select(events.c.id, events.c.by_whom, *_EVENT)


def ledger_of(connection: Connection, cook_id: str, until_seq: int | None) -> Ledger:
    """Everything up to and at a number, with the corrections up to there applied.

    Raises InputError: no such cook.
    """
    # Both questions stop at one number, so that entries that come in between them are in neither answer.
    last = last_seq(connection, cook_id)
    until = last if until_seq is None else min(until_seq, last)
    asked = _LEDGER.where(events.c.cook_id == cook_id, events.c.seq <= until).order_by(events.c.seq)
    corrections: dict[str, Correction] = {}
    for row in connection.execute(asked.where(events.c.of_id.is_not(None))):
        correction = event_of(*row[2:])
        assert isinstance(correction, Correction)
        corrections[correction.of_id] = correction
    return Ledger.of(_holding(connection, asked.where(events.c.of_id.is_(None)), corrections))


def rows_between(
    connection: Connection, cook_id: str, after_seq: int, until_seq: int
) -> Iterator[tuple[str, Event | Correction]]:
    """Ids and what was recorded, corrections too, by number: those after the one and up to the other."""
    asked = _LEDGER.where(events.c.cook_id == cook_id, events.c.seq > after_seq, events.c.seq <= until_seq)
    for entry_id, by, *values in connection.execute(asked.order_by(events.c.seq)):
        yield entry_id, seen_by(event_of(*values), by)


def _holding(connection: Connection, asked: Select[Any], corrections: dict[str, Correction]) -> Iterator[Event]:
    """The events that hold. A replacement stands where the event stood that it replaces."""
    for entry_id, by, *values in connection.execute(asked):
        correction = corrections.get(entry_id) if corrections else None
        event = event_of(*values) if correction is None else correction.event
        if event is not None:
            assert not isinstance(event, Correction)
            yield seen_by(event, by)


def seen_by(event: Seen, by: str) -> Seen:
    """A look with whose it was; anything else as it is. Who puts a look right has not seen it."""
    return replace(event, by=by) if by and isinstance(event, Look) else event


def entries_of(
    connection: Connection,
    cook_id: str,
    *,
    after_seq: int = 0,
    before_seq: int | None = None,
    limit: int,
    kinds: Collection[str] | None = None,
    on: str | None = None,
    newest_first: bool = False,
) -> list[StoredEntry]:
    """Entries by number, those of some kinds and of one item or pit if given. Raises InputError: no such cook."""
    last_seq(connection, cook_id)
    asked = select(*_ENTRY, *_EVENT).where(events.c.cook_id == cook_id, events.c.seq > after_seq).limit(limit)
    asked = asked.order_by(events.c.seq.desc() if newest_first else events.c.seq)
    if before_seq is not None:
        asked = asked.where(events.c.seq < before_seq)
    if kinds is not None:
        asked = asked.where(events.c.kind.in_(sorted(kinds)))
    if on is not None:
        asked = asked.where(events.c.on_label == on)
    rows = connection.execute(asked).all()
    holds = _corrections(connection, cook_id)
    return [
        StoredEntry(seq, entry_id, event_of(*values), by, utc_of(recorded_us), holds.get(entry_id))
        for seq, entry_id, by, recorded_us, *values in rows
    ]


def _corrections(connection: Connection, cook_id: str) -> dict[str, str]:
    """Ids of what has been corrected, each with that of the correction that holds."""
    latest = (
        select(func.max(events.c.seq))
        .where(events.c.cook_id == cook_id, events.c.of_id.is_not(None))
        .group_by(events.c.of_id)
    )
    asked = select(events.c.of_id, events.c.id).where(events.c.cook_id == cook_id, events.c.seq.in_(latest))
    return {str(of_id): str(found) for of_id, found in connection.execute(asked)}
