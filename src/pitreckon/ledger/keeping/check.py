"""A ledger looked over: the pages of its file, its numbers, and the links over its entries."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, select

from pitreckon.errors import StoreError
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.batches import batch_faults
from pitreckon.ledger.store.links import EVERY, LINKED, first_link, next_link
from pitreckon.ledger.store.place import place_of
from pitreckon.ledger.store.schema import cooks, events, seals

_MOST: Final = 20
_LINKED: Final = [events.c[name] for name in LINKED]


@dataclass(frozen=True, slots=True)
class Looked:
    """What was found. where: for messages; faults: in words, nothing when all is well"""

    where: str
    cooks: int
    entries: int
    faults: tuple[str, ...]


def look_over(place: str | Path | None) -> Looked:
    """Look a ledger over, without changing it where its file is damaged.

    Raises StoreError: there is none, it is something else, or of a newer Pitreckon.
    """
    there = place_of(place)
    if there.file is not None:
        if not there.file.is_file():
            raise StoreError("there is no ledger", "Name the file of one", there.where)
        pages = page_faults(there.file)
        if pages:
            return Looked(there.where, 0, 0, pages)
    with Store.open(place) as store:
        return store.read(lambda connection: _look(connection, store.where))


def page_faults(file: Path) -> tuple[str, ...]:
    """What is wrong with the pages of an SQLite file; nothing when they are whole. It is only read."""
    try:
        with closing(sqlite3.connect(file.absolute().as_uri() + "?mode=ro", uri=True, timeout=10.0)) as connection:
            said = [str(row[0]) for row in connection.execute(f"PRAGMA integrity_check({_MOST})")]
            said += [f"a row of {row[0]} belongs to nothing" for row in connection.execute("PRAGMA foreign_key_check")]
    except sqlite3.DatabaseError as fault:
        if getattr(fault, "sqlite_errorname", "") in {"SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_CANTOPEN"}:
            raise StoreError(
                f"it cannot be looked at: {fault}", "Close what holds it, then try again", str(file)
            ) from None
        return (str(fault),)
    # What is said before the first "***" or of one page is many lines of one text.
    lines = [line for text in said for line in text.splitlines() if line and line != "ok"]
    return tuple(lines[:_MOST])


def _look(connection: Connection, where: str) -> Looked:
    faults: list[str] = []
    count = 0
    rows = connection.execute(select(cooks.c.id, cooks.c.last_seq, cooks.c.link).order_by(cooks.c.id)).all()
    for cook_id, last_seq, link in rows:
        kept = select(seals.c.seq, seals.c.link).where(seals.c.cook_id == cook_id)
        found, wrong = _look_at_cook(
            connection, cook_id, last_seq, link, {row.seq: row.link for row in connection.execute(kept)}
        )
        count += found
        faults += wrong
    faults += batch_faults(connection)
    return Looked(where, len(rows), count, tuple(faults[:_MOST]))


def _look_at_cook(
    connection: Connection, cook_id: str, last_seq: int, link: str, kept: dict[int, str]
) -> tuple[int, list[str]]:
    """Number of entries there, and what is wrong with them. kept: links by number"""
    faults: list[str] = []
    count, now, begun = 0, first_link(cook_id), 1
    ends = {**kept, last_seq: link}
    for row in _rows(connection, cook_id):
        seq = row[0]
        count += 1
        if seq != count and not faults:
            faults.append(f"{cook_id}: entry {count} is missing")
        now = next_link(now, row)
        if seq in ends:
            if ends[seq] != now:
                faults.append(f"{cook_id}: something in entries {begun} to {seq} is otherwise than it was taken in")
                now = ends[seq]  # what comes after is held by itself
            begun = seq + 1
    if count != last_seq:
        faults.append(f"{cook_id}: there are {count} entries, and the last number is {last_seq}")
    return count, faults


def _rows(connection: Connection, cook_id: str) -> Iterator[tuple[object, ...]]:
    after = 0
    while True:
        asked = select(*_LINKED).where(events.c.cook_id == cook_id, events.c.seq > after).order_by(events.c.seq)
        rows = connection.execute(asked.limit(EVERY)).all()
        yield from (tuple(row) for row in rows)
        if len(rows) < EVERY:
            return
        after = rows[-1][0]
