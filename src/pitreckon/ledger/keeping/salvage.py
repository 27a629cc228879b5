"""What is left of a damaged ledger, in a new one: the damaged file is only read.

Entries are read by SQLite where it still can, then out of the pages themselves, then out of copies that are named: an
entry never changes, so any copy of it is the entry. Where all of a cook's are found, its link says so.
"""

import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from sqlalchemy import Connection, Table, insert

from pitreckon.errors import StoreError
from pitreckon.ledger.keeping.pages import Values, rows_in
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.batches import HEAD, add_anew
from pitreckon.ledger.store.ingest import take_in
from pitreckon.ledger.store.records import KINDS
from pitreckon.ledger.store.schema import batches, cooks, events, metadata, pairing_links, seals, sessions, settings

_EVENT: Final = tuple(column.name for column in events.columns)
_COOK: Final = tuple(column.name for column in cooks.columns)
_LOST: Final[dict[str, Any]] = {
    "plan_toml": "# its plan was lost\n", "plan_version": 1, "created_us": 0, "last_seq": 0, "link": "",
}  # fmt: skip
_NOT_REVIVED: Final = (sessions, pairing_links)
"""An old copy lets nobody in again."""
_AT_ONCE: Final = 5000
_STEP: Final = 4096


@dataclass(frozen=True, slots=True)
class SavedCook:
    """One cook.

    entries: how many were saved; missing: numbers that were not found; dropped: corrections of what was lost
    whole: its link says that all are there, each as it was taken in
    """

    cook_id: str
    name: str
    entries: int
    missing: tuple[int, ...]
    dropped: int
    whole: bool


@dataclass(frozen=True, slots=True)
class Saved:
    """What was saved. torn: names of tables of which not every row could be read"""

    cooks: tuple[SavedCook, ...]
    torn: tuple[str, ...]


@dataclass
class _Found:
    """Rows by their keys."""

    cooks: dict[str, dict[str, Any]] = field(default_factory=dict)
    events: dict[tuple[str, int], Values] = field(default_factory=dict)
    others: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    torn: list[str] = field(default_factory=list)

    def add_event(self, values: Values) -> None:
        self.events.setdefault((values[0], values[1]), values)

    def fill(self, table: Table, rows: Iterable[dict[str, Any]]) -> None:
        """Rows of an older copy for those of a torn table that are not there."""
        keys = [column.name for column in table.primary_key]
        there = self.others.setdefault(table.name, [])
        known = {tuple(row.get(name) for name in keys) for row in there}
        there += [row for row in rows if tuple(row.get(name) for name in keys) not in known]

    def add_cook(self, row: dict[str, Any]) -> None:
        """The one that knows most: of old copies in the pages the latest."""
        there = self.cooks.get(row["id"])
        if there is None or (row["plan_version"], row["last_seq"]) > (there["plan_version"], there["last_seq"]):
            self.cooks[row["id"]] = row


def salvage(damaged: Path, to: Path, copies: Sequence[Path] = ()) -> Saved:
    """Make a new ledger of what is left of one.

    copies: older or torn copies of the same ledger, which fill what is missing

    Raises StoreError: there is nothing to read, or the new file is there already.
    """
    if to.exists():
        raise StoreError("there is a file already", "Name a new one", str(to))
    for each in (damaged, *copies):
        if not each.is_file():
            raise StoreError("there is no such file", "Name the damaged ledger, and copies of it", str(each))
    found = _Found()
    for n, each in enumerate((damaged, *copies)):
        _read(each, found, first=n == 0)
    for cook_id, _ in found.events:
        if cook_id not in found.cooks:
            found.add_cook({**_LOST, "id": cook_id, "name": cook_id[:60]})
    if not found.cooks and not found.others.get(batches.name):
        raise StoreError("no cook could be made out in it", "Put back a copy: 'pitreckon ledger restore'", str(damaged))
    with Store.open(to) as store:
        done = store.write(lambda connection: _write(connection, found))
    return Saved(done, tuple(dict.fromkeys(found.torn)))


def _read(file: Path, found: _Found, *, first: bool) -> None:
    with TemporaryDirectory() as folder:  # SQLite writes to a log that it finds: not to the one that is left
        work = Path(folder) / "ledger.sqlite"
        shutil.copyfile(file, work)
        log = file.with_name(file.name + "-wal")
        if log.is_file():
            shutil.copyfile(log, work.with_name("ledger.sqlite-wal"))
        kept = Path(folder) / "as-it-was"
        kept.mkdir()
        for each in Path(folder).glob("ledger.sqlite*"):
            shutil.copyfile(each, kept / each.name)
        with closing(sqlite3.connect(work)) as connection:
            connection.row_factory = sqlite3.Row
            _by_sqlite(connection, found, others=first)
        for values in rows_in(kept / "ledger.sqlite"):
            if _is_event(values):
                found.add_event(values)
            elif _is_cook(values):
                found.add_cook(dict(zip(_COOK, (*values, "")[: len(_COOK)], strict=True)))


def _by_sqlite(connection: sqlite3.Connection, found: _Found, *, others: bool) -> None:
    for row in _all(connection, cooks, found.torn if others else []):
        found.add_cook({name: row.get(name, "") for name in _COOK})
    for cook_id, cook in found.cooks.items():
        for values in _events(connection, cook_id, 1, int(cook["last_seq"])):
            found.add_event(values)
    for table in metadata.sorted_tables:
        if table in (cooks, events, seals):
            continue
        if others:
            found.others[table.name] = list(_all(connection, table, found.torn))
        elif table.name in found.torn and table not in _NOT_REVIVED:
            found.fill(table, _all(connection, table, []))


def _all(connection: sqlite3.Connection, table: Table, torn: list[str]) -> Iterator[dict[str, Any]]:
    """Rows of a table until one cannot be read."""
    try:
        for row in connection.execute(f'SELECT * FROM "{table.name}"'):
            yield {name: row[name] for name in row.keys() if name in table.columns}  # noqa: SIM118  a Row has no other
    except (sqlite3.DatabaseError, UnicodeDecodeError) as fault:
        if "no such table" not in str(fault):  # of an older state
            torn.append(table.name)


def _events(connection: sqlite3.Connection, cook_id: str, first: int, last: int) -> Iterator[Values]:
    """Entries of a cook by number: where some cannot be read, the halves are tried by themselves."""
    asked = f"SELECT {', '.join(_EVENT)} FROM events WHERE cook_id = ? AND seq BETWEEN ? AND ?"
    for start in range(first, last + 1, _STEP):
        end = min(start + _STEP - 1, last)
        try:
            rows = [tuple(row) for row in connection.execute(asked, (cook_id, start, end))]
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            if end - start < 16:
                continue  # the pages themselves are asked next
            middle = (start + end) // 2
            yield from _events(connection, cook_id, start, middle)
            yield from _events(connection, cook_id, middle + 1, end)
        else:
            yield from (row for row in rows if _is_event(row))


def _is_event(values: Values) -> bool:
    """Can these be the values of an entry's row?"""
    if len(values) != len(_EVENT):
        return False
    row = dict(zip(_EVENT, values, strict=True))
    texts = all(isinstance(row[name], str) for name in ("cook_id", "id", "kind", "what", "on_label", "by_whom"))
    numbers = all(isinstance(row[name], int) for name in ("seq", "at_us", "recorded_us"))
    maybe = all(isinstance(row[name], str | None) for name in ("rejected", "of_id", "body"))
    small = all(isinstance(row[name], int | None) for name in ("piece", "source_line"))
    return (
        texts and numbers and maybe and small and isinstance(row["value"], int | float | None) and row["kind"] in KINDS
    )


def _is_cook(values: Values) -> bool:
    """And of a cook's? Rows of an older state have no link."""
    kinds = (str, str, str, int, int, int, str)
    fits = len(values) in {6, 7} and all(isinstance(v, k) for v, k in zip(values, kinds, strict=False))
    return fits and bool(values[0]) and values[3] >= 1 and values[5] >= 0


# --- into the new one


def _write(connection: Connection, found: _Found) -> tuple[SavedCook, ...]:
    for cook in found.cooks.values():
        connection.execute(insert(cooks), {**cook, "last_seq": 0, "link": ""})
    for table in metadata.sorted_tables:
        if table is batches:
            heads = [row["content"] for row in found.others.get(settings.name, ()) if row["name"] == HEAD]
            if not add_anew(connection, found.others.get(table.name, ()), heads):
                found.torn.append(table.name)
            continue
        for row in found.others.get(table.name, ()):
            _put(connection, table, row)
    return tuple(_write_cook(connection, cook, found) for cook in found.cooks.values())


def _put(connection: Connection, table: Table, row: dict[str, Any]) -> None:
    """A row, unless what it belongs to was lost."""
    part = connection.begin_nested()
    try:
        connection.execute(insert(table), row)
    except Exception:
        part.rollback()
    else:
        part.commit()


def _write_cook(connection: Connection, cook: dict[str, Any], found: _Found) -> SavedCook:
    mine = sorted(seq for cook_id, seq in found.events if cook_id == cook["id"])
    last = max(int(cook["last_seq"]), mine[-1] if mine else 0)
    rows = [dict(zip(_EVENT, found.events[cook["id"], seq], strict=True)) for seq in mine]
    kept, dropped = _fitting(rows)
    for start in range(0, len(kept), _AT_ONCE):
        take_in(connection, cook["id"], kept[start : start + _AT_ONCE], 0)
    link = connection.execute(cooks.select().where(cooks.c.id == cook["id"])).mappings().one()["link"]
    missing = tuple(sorted(set(range(1, last + 1)) - set(mine)))
    whole = not missing and not dropped and link == cook["link"]
    return SavedCook(cook["id"], cook["name"], len(kept), missing, dropped, whole)


def _fitting(rows: Iterable[dict[str, Any]]) -> tuple[list[dict[str, Any]], int]:
    """Those that a ledger can take, in their order, and how many it cannot: corrections of what was lost."""
    known: set[str] = set()
    kept, dropped = [], 0
    for row in rows:
        if row["id"] in known or (row["kind"] == "correction" and row["of_id"] not in known):
            dropped += 1
            continue
        known.add(row["id"])
        value = row["value"]
        kept.append({**row, "value": None if value is None else float(value)})
    return kept, dropped
