"""A copy of a ledger that is in use, and a copy put back. A copy is a ledger itself: one SQLite file, looked over."""

import os
import re
import sqlite3
from contextlib import closing, suppress
from datetime import date, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Table, func, insert, select

from pitreckon.errors import StoreError
from pitreckon.ledger.keeping.check import look_over, page_faults
from pitreckon.ledger.keeping.photos import BESIDE, copy_photos, folder_of
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.errors import CLOSED_FOLDER, faults_at
from pitreckon.ledger.store.place import place_of
from pitreckon.ledger.store.schema import batches, cooks, events, metadata

DAYS: Final = 7
WEEKS: Final = 8
"""Of nightly copies so many are kept, and of the first of a week so many more."""
_ROWS: Final = 1000
_SQLITE: Final = b"SQLite format 3\0"
"""How each of its files begins (SQLite, Database File Format, 1.3)."""
_NAME: Final = re.compile(r"ledger-(\d{4})-(\d\d)-(\d\d)\.sqlite")


def back_up(place: str | Path | None, to: Path, *, photos: bool = True) -> Path:
    """Copy a ledger into a file, whole and as of one moment, while others use it; an older file there is replaced.

    photos: its photos go into a folder beside the copy, which other copies share

    Raises StoreError: the ledger is damaged, or the copy cannot be written or is not whole; what is there is no copy,
        or has more in it. Then what was there stays.
    """
    there = place_of(place)
    if there.file is not None and not there.file.is_file():
        raise StoreError("there is no ledger", "Name the file of one", there.where)
    if there.file is not None and there.file == to.absolute():
        raise StoreError("a copy in its own place would be none", "Name another file", str(to))
    to = Path(os.path.realpath(to)) if to.is_symlink() else to
    _is_a_copy(to)
    part = to.with_name(f".{to.name}.part")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        _gone(part)
        os.close(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    except OSError as fault:
        raise StoreError(f"{CLOSED_FOLDER[0]} ({fault.strerror})", CLOSED_FOLDER[1], str(to)) from None
    try:
        if there.file is not None:
            _copy_file(there.file, part)
        else:
            part.unlink()
            with Store.open(place) as source, Store.open(part) as target:
                source.read(lambda connection: _copy_rows(connection, target))
        found = look_over(part)
        if found.faults:
            raise StoreError(
                f"the ledger is damaged: {found.faults[0]}", "Look at 'pitreckon ledger salvage'", there.where
            )
        _has_no_more(to, found.entries)
        if photos:
            copy_photos(folder_of(place), to.absolute().parent / BESIDE)
        _settle(part, to)
    except OSError as fault:
        raise StoreError(f"the copy cannot be written ({fault.strerror})", "Make room there", str(to)) from None
    finally:
        _gone(part)
    return to


def _is_a_copy(to: Path) -> None:
    """Nothing is there, or something that a copy may take the place of. Raises StoreError: it may not."""
    if to.exists() and not (to.is_file() or to.is_dir()):
        raise StoreError("it is a device and no file", "Name a file of its own for the copy", str(to))
    if to.is_file() and to.stat().st_size:
        with to.open("rb") as file:
            if file.read(len(_SQLITE)) != _SQLITE:
                raise StoreError(
                    "there is another file, which is no copy of a ledger",
                    "Name a file of its own for the copy",
                    str(to),
                )


def _has_no_more(to: Path, entries: int) -> None:
    """A copy never takes the place of a ledger that has more in it. Raises StoreError: it would."""
    if not to.is_file() or not to.stat().st_size:
        return
    remedy = "Name another file, or move that one away; --ledger says what is copied"
    try:
        with closing(sqlite3.connect(to.absolute().as_uri() + "?mode=ro", uri=True, timeout=10.0)) as there:
            (count,) = there.execute(f"SELECT count(*) FROM {events.name}").fetchone()
    except sqlite3.DatabaseError as fault:
        raise StoreError(f"there is another file, which is no copy of a ledger ({fault})", remedy, str(to)) from None
    if count > entries:
        raise StoreError(f"what is there has {count} entries, and the copy would have {entries}", remedy, str(to))


def _copy_file(source: Path, to: Path) -> None:
    """SQLite's own online copy: of one moment, and begun anew where somebody writes meanwhile."""
    with (
        faults_at(str(source)),
        closing(sqlite3.connect(source.as_uri() + "?mode=ro", uri=True, timeout=30.0)) as there,
        closing(sqlite3.connect(to)) as here,
    ):
        there.backup(here, pages=-1)  # all in one step, so of one moment; writers go on beside it
        here.execute("PRAGMA journal_mode = DELETE")


def _copy_rows(source: Connection, target: Store) -> None:
    """Every row of every table, in the order in which they need each other."""
    if source.dialect.name == "postgresql":
        source.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")

    target.write(lambda connection: _copy_tables(source, connection))


def _copy_tables(source: Connection, target: Connection) -> None:
    for table in metadata.sorted_tables:
        _copy_table(source, target, table)


def _copy_table(source: Connection, target: Connection, table: Table) -> None:
    keys = list(table.primary_key.columns)
    found = source.execution_options(yield_per=_ROWS).execute(select(table).order_by(*keys))
    for rows in found.mappings().partitions(_ROWS):
        target.execute(insert(table), [dict(row) for row in rows])


def _settle(part: Path, to: Path) -> None:
    """The finished copy in its place, also after the plug is pulled."""
    with part.open("rb") as file:
        os.fsync(file.fileno())
    part.replace(to)
    _gone(to, itself=False)
    with suppress(OSError):  # not every system opens folders
        folder = os.open(to.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _gone(file: Path, *, itself: bool = True) -> None:
    for each in (file, *(file.with_name(file.name + end) for end in ("-wal", "-shm", "-journal")))[not itself :]:
        each.unlink(missing_ok=True)


def put_back(copy: Path, place: str | Path | None, *, over: bool = False) -> str:
    """Make a ledger of a copy, which is looked over first; where it lies, for messages.

    over: what is there gives way; it is kept beside, with ``.before`` at its end

    Raises StoreError: the copy is none or is damaged; there is a ledger already; a database is not empty.
    """
    if not copy.is_file():
        raise StoreError("there is no such copy", "Name a file that 'pitreckon ledger backup' wrote", str(copy))
    faults = page_faults(copy) or look_over(copy).faults
    if faults:
        raise StoreError(f"the copy is damaged: {faults[0]}", "Take another one", str(copy))
    there = place_of(place)
    if there.file is None:
        return _into_database(copy, place)
    if there.file.exists():
        if not over:
            raise StoreError(
                "there is a ledger already", "End what has it open, then say --over: it is kept beside", there.where
            )
        for end in ("", "-wal", "-shm"):
            one = there.file.with_name(there.file.name + end)
            if one.exists():
                one.replace(one.with_name(f"{there.file.name}.before{end}"))
    back_up(copy, there.file, photos=False)
    copy_photos(copy.absolute().parent / BESIDE, folder_of(place))
    return there.where


def _into_database(copy: Path, place: str | Path | None) -> str:
    with Store.open(place) as target, Store.open(copy) as source:
        if target.read(lambda connection: connection.execute(select(func.count()).select_from(cooks)).scalar()):
            raise StoreError("there are cooks in it already", "Give an empty database", target.where)
        if target.read(lambda connection: connection.execute(select(func.count()).select_from(batches)).scalar()):
            raise StoreError("there are batches in it already", "Give an empty database", target.where)

        def work(connection: Connection) -> None:
            for table in reversed(
                metadata.sorted_tables
            ):  # what the first start of a page made; entries there are none
                if table not in (events, batches):
                    connection.execute(table.delete())
            source.read(lambda rows: _copy_tables(rows, connection))

        target.write(work)
        return target.where


# --- each night


def nightly(place: str | Path | None, folder: Path, now: datetime) -> Path | None:
    """Today's copy in a folder, unless it is there; older ones go by turns. None: it was there.

    Raises StoreError: as ``back_up``; then nothing goes.
    """
    to = folder / f"ledger-{now:%Y-%m-%d}.sqlite"
    if to.exists():
        return None
    back_up(place, to)
    for each in too_old([path.name for path in folder.iterdir()]):
        (folder / each).unlink(missing_ok=True)
    return to


def too_old(names: list[str]) -> list[str]:
    """Which nightly copies may go: neither one of the last days nor the first of one of the last weeks."""
    dated = sorted((day, name) for name in names if (day := _day(name)) is not None)
    firsts: dict[tuple[int, int], str] = {}
    for day, name in dated:
        firsts.setdefault(day.isocalendar()[:2], name)
    kept = {name for _, name in dated[-DAYS:]} | {firsts[week] for week in sorted(firsts)[-WEEKS:]}
    return [name for _, name in dated if name not in kept]


def _day(name: str) -> date | None:
    found = _NAME.fullmatch(name)
    try:
        return date(*map(int, found.groups())) if found else None
    except ValueError:
        return None
