"""The store of all cooks and their ledgers."""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from concurrent.futures import Future
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, insert, select, update

from pitreckon.errors import InputError, StoreError
from pitreckon.forms.checks import fault, is_label
from pitreckon.ledger.events import Ledger
from pitreckon.ledger.store.cameout import add_how, how_of
from pitreckon.ledger.store.documents import check_long_text, check_text
from pitreckon.ledger.store.engine import close_engine, open_engine
from pitreckon.ledger.store.errors import faults_at
from pitreckon.ledger.store.house import add_left_out, left_out_of
from pitreckon.ledger.store.ingest import take_in
from pitreckon.ledger.store.lines import (
    FORM,
    WITH_MARKS,
    WITH_PLANS,
    came_out_line,
    end_line,
    entry_line,
    head_line,
    left_out_line,
    meat_line,
    plan_line,
    read_lines,
    state_line,
)
from pitreckon.ledger.store.meat import add_meat, check_meat, meat_of, say_meat
from pitreckon.ledger.store.place import place_of
from pitreckon.ledger.store.reading import (
    cook_row,
    entries_of,
    entry_at,
    find_cook,
    last_seq,
    ledger_of,
    replaced_plans_of,
)
from pitreckon.ledger.store.records import KINDS, CookRow, Entry, MeatSaid, Receipt, ReplacedPlan, StoredEntry
from pitreckon.ledger.store.removal import remove_cook
from pitreckon.ledger.store.rows import Row, row_of
from pitreckon.ledger.store.schema import cooks, plan_versions, us_of
from pitreckon.ledger.store.states import CookState, change_state, states_in
from pitreckon.ledger.store.writer import Writer
from pitreckon.units import Scale

T = TypeVar("T")
_COOK_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_LONGEST_PLAN: Final = 200_000
_PAGE: Final = 2000


def utc_now() -> datetime:
    """This machine's clock, UTC."""
    return datetime.now(UTC)


class Store:
    """Cooks and their ledgers, in one SQLite file or one PostgreSQL database.

    Readers, as many as there are, ask from any thread. All writing goes through one thread of its own; what a
    call has returned is kept, whatever dies next. Close it, or use it in a ``with``.

    Every method raises StoreError when the database fails, with nothing of that call kept. Should an answer get lost
    on the way back from a server, the same entries sent again are known by their ids.
    """

    def __init__(self, given: str | Path | None) -> None:
        place = place_of(given)
        self.where = place.where
        self._engine = open_engine(place)
        self._writer = Writer(self._engine, self.where, last_seq)

    @classmethod
    def open(cls, url_or_path: str | Path | None = None) -> Store:
        """The store there; made where there is none.

        url_or_path: a file, or postgresql://user@host/database; None: $PITRECKON_LEDGER, else
            pitreckon/ledger.sqlite in the user's data folder

        Raises StoreError: it cannot be opened or made, is of a newer Pitreckon, or something else.
        """
        return cls(url_or_path)

    def close(self) -> None:
        """Write what waits, then let go."""
        self._writer.close()
        close_engine(self._engine)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # --- cooks

    def add_cook(self, plan_toml: str, name: str, *, cook_id: str | None = None) -> CookRow:
        """Keep a cook; the plan is not looked into.

        cook_id: 1 to 64 of a-z, 0-9, ``.``, ``_`` and ``-``; None: made from the name. Added again with the same
            name and plan it is the cook that is there

        Raises InputError: a bad id or name, or another cook has the id.
        """
        row = _new_cook(cook_id or _id_from(name), name, plan_toml, us_of(utc_now()))
        return self.write(lambda connection: _add_cook(connection, row))

    def cooks(self) -> list[CookRow]:
        """Every cook, the latest added first."""
        asked = select(cooks).order_by(cooks.c.created_us.desc(), cooks.c.id)
        return self.read(lambda connection: [cook_row(row) for row in connection.execute(asked)])

    def cook(self, cook_id: str) -> CookRow:
        """One cook. Raises InputError: there is none of this id."""
        return self.read(lambda connection: find_cook(connection, cook_id))

    def replace_plan(self, cook_id: str, plan_toml: str, by: str = "", *, name: str = "") -> CookRow:
        """Keep another plan for a cook; its version goes up by one. The one before is kept too.

        by: the label of the person who does so; name: what the cook is called from now on, "": as before

        Raises InputError: no such cook.
        """
        check_text("by", by)
        check_long_text("plan", plan_toml, _LONGEST_PLAN)
        if name:
            is_label("name", name)

        def work(connection: Connection) -> CookRow:
            before = find_cook(connection, cook_id, to_change=True)
            old = {"cook_id": cook_id, "plan_version": before.plan_version, "plan_toml": before.plan_toml}
            connection.execute(insert(plan_versions), {**old, "replaced_us": us_of(utc_now()), "replaced_by": by})
            version = before.plan_version + 1
            changed = update(cooks).where(cooks.c.id == cook_id)
            called = name or before.name
            connection.execute(changed.values(name=called, plan_toml=plan_toml, plan_version=version))
            return replace(before, name=called, plan_toml=plan_toml, plan_version=version)

        return self.write(work, touched=cook_id)

    def remove_cook(self, cook_id: str) -> None:
        """Remove a cook of which nothing was recorded. Raises InputError: no such cook, or it has entries."""
        self.write(lambda connection: remove_cook(connection, cook_id))

    def replaced_plans(self, cook_id: str) -> list[ReplacedPlan]:
        """Every plan that a cook had before the one that holds, the oldest first. Raises InputError: no such cook."""
        return self.read(lambda connection: replaced_plans_of(connection, cook_id))

    def say_meat(self, cook_id: str, item: str, words: str, by: str) -> MeatSaid:
        """Keep what somebody says was done to an item's meat; what was said before is kept too.

        Raises InputError: no such cook, a text that cannot be kept.
        """
        said = MeatSaid(item, 0, words, utc_now(), by)
        check_meat(said)
        return self.write(lambda connection: say_meat(connection, cook_id, said), touched=cook_id)

    def meat_said(self, cook_id: str) -> list[MeatSaid]:
        """All that was said of the meat of a cook, in the order in which it was; of an item the last holds."""
        return self.read(lambda connection: meat_of(connection, cook_id))

    # --- entries

    def append(self, cook_id: str, entries: Sequence[Entry]) -> list[Receipt]:
        """Record entries, all or none; returns when they are kept for good.

        An entry whose id is there already is known again: its receipt has the old number and is not new. Who sent it,
        its line in a file and what made it unused may differ.

        Raises InputError: no such cook; an id that stands for something else; a correction of what is not there; a
        value that no store can keep. It names the entry.
        """
        self._writer.check_waiter()
        return self.append_soon(cook_id, entries).result()

    def append_soon(self, cook_id: str, entries: Sequence[Entry]) -> Future[list[Receipt]]:
        """As :meth:`append`, with a future of the receipts (for asyncio: ``asyncio.wrap_future``).

        Raises InputError and StoreError at once for what can be seen at once; the rest is the future's.
        """
        rows = [row_of(entry) for entry in entries]
        return self._writer.submit(
            lambda connection: take_in(connection, cook_id, rows, us_of(utc_now())),
            rows=len(rows),
            touched=cook_id,
        )

    def ledger(self, cook_id: str, until_seq: int | None = None) -> Ledger:
        """The cook's ledger up to and at a number: corrected events left out or replaced.

        Raises InputError: no such cook.
        """
        return self.read(lambda connection: ledger_of(connection, cook_id, until_seq))

    def entries(
        self,
        cook_id: str,
        after_seq: int = 0,
        limit: int = 1000,
        *,
        before_seq: int | None = None,
        kinds: Collection[str] | None = None,
        on: str | None = None,
        newest_first: bool = False,
    ) -> list[StoredEntry]:
        """Entries as recorded, corrected ones and corrections too, by number.

        after_seq, before_seq: only those between, without the two
        kinds: some of reading, look, act, correction; None: all
        on: the label of an item or a pit

        Raises InputError: no such cook, or no such kind.
        """
        for kind in kinds or ():
            if kind not in KINDS:
                raise fault("kinds", f"{kind[:40]!r} is no kind of entry", f"Write some of: {', '.join(KINDS)}")
        return self.read(
            lambda connection: entries_of(
                connection,
                cook_id,
                after_seq=after_seq,
                before_seq=before_seq,
                limit=limit,
                kinds=kinds,
                on=on,
                newest_first=newest_first,
            )
        )

    def last_seq(self, cook_id: str) -> int:
        """Number of the cook's latest entry, 0 for none. Raises InputError: no such cook."""
        return self.read(lambda connection: last_seq(connection, cook_id))

    def entry_at(self, cook_id: str, entry_id: str) -> datetime | None:
        """The time of an entry, by its id; None: there is none of it."""
        return self.read(lambda connection: entry_at(connection, cook_id, entry_id))

    def watch(self, watcher: Callable[[str, int], object]) -> Callable[[], None]:
        """Call ``watcher(cook_id, last_seq)`` after each commit that touched a cook, by this program or another one.

        It runs in a thread of the store's: it has to be quick and must not wait for the store. Calling what is
        returned ends it. Of what another program commits one hears at once from PostgreSQL, within a second from a
        file.
        """
        return self._writer.watch(watcher)

    def states(self) -> dict[str, CookState]:
        """What became of the cooks that were called off or put away, by their ids."""
        return self.read(states_in)

    # --- files

    def export_jsonl(self, cook_id: str) -> Iterator[str]:
        """The lines of one file that holds the cook and its whole ledger, as it is when the first is asked for.

        Raises InputError: no such cook.
        """
        cook, plans, meat, out, state, how = self.read(
            lambda connection: (
                find_cook(connection, cook_id),
                replaced_plans_of(connection, cook_id),
                meat_of(connection, cook_id),
                left_out_of(connection, cook_id),
                states_in(connection).get(cook_id),
                how_of(connection, cook_id),
            )
        )
        marked = out or state or how
        yield head_line(cook, form=WITH_MARKS if marked else WITH_PLANS if plans or meat else FORM)
        yield from map(plan_line, plans)
        yield from map(meat_line, meat)
        yield from map(left_out_line, [out] if out else [])
        yield from map(state_line, [state] if state else [])
        yield from map(came_out_line, how)
        after = 0
        # Page by page: entries never change, and no reader holds the log open while a slow line takes the file.
        while after < cook.last_seq:
            page = self.entries(cook_id, after, _PAGE, before_seq=cook.last_seq + 1)
            yield from map(entry_line, page)
            after = page[-1].seq
        yield end_line(cook.last_seq)

    def import_jsonl(self, lines: Iterable[str], file: str | None = None) -> str:
        """Take in an export, all or nothing; the cook's id.

        Where the cook is there already, what it has is known again and the rest is added.

        file: its name for messages

        Raises InputError: not an export, or cut short (file, line and field); another cook or plan has its id.
        """
        found = read_lines(lines, file)
        try:
            row = _new_cook(found.cook_id, found.name, found.plan_toml, found.created_us)
            row["plan_version"] = max((each.plan_version for each in found.plans), default=0) + 1
            for each in found.meat:
                check_meat(each)
        except InputError as error:
            raise error.at(file=file, line=1) from None

        def work(connection: Connection) -> str:
            _add_cook(connection, row)
            _add_plans(connection, found.plans)
            add_meat(connection, found.cook_id, found.meat)
            if found.left_out is not None:
                add_left_out(connection, found.left_out)
            if found.state != CookState() and found.cook_id not in states_in(connection):
                change_state(connection, found.cook_id, lambda _: found.state)
            add_how(connection, found.came_out)
            take_in(connection, found.cook_id, found.rows, us_of(utc_now()))
            return found.cook_id

        try:
            return self.write(work, rows=len(found.rows), touched=found.cook_id)
        except InputError as error:
            raise error.at(file=file) from None

    def export_csv(self, cook_id: str, *, degrees: Scale = "F") -> str:
        """The ledger, corrections applied, as a log that ``pitreckon reckon --log`` reads.

        Raises InputError: no such cook, or its plan cannot be read.
        """
        from pitreckon.cook.read import cook_from_text  # noqa: PLC0415  with the catalog; only needed here
        from pitreckon.ledger.log.write import log_text  # noqa: PLC0415  with the catalog; only needed here

        row = self.cook(cook_id)
        return log_text(self.ledger(cook_id), cook_from_text(row.plan_toml, row.name), degrees=degrees)

    def refuse(self, error: StoreError) -> None:
        """From now on take nothing in, and say this: the file was found damaged."""
        self._writer.refuse(error)

    # --- for the small tables beside the ledger

    def read(self, work: Callable[[Connection], T]) -> T:
        """What ``work`` finds, in a transaction of its own."""
        with faults_at(self.where), self._engine.connect() as connection:
            return work(connection)

    def write(self, work: Callable[[Connection], T], *, rows: int = 1, touched: str | None = None) -> T:
        """What ``work`` returns, once it is kept; done by the writer. An InputError from it undoes it."""
        self._writer.check_waiter()
        done: Future[T] = self._writer.submit(work, rows=rows, touched=touched)
        return done.result()


def _id_from(name: str) -> str:
    """The words of a name and a little chance, so that two cooks of one name differ."""
    words = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:40].strip("-")
    return f"{words or 'cook'}-{secrets.token_hex(3)}"


def _new_cook(cook_id: str, name: str, plan_toml: str, created_us: int) -> Row:
    if not _COOK_ID.fullmatch(cook_id):
        raise fault(
            "cook", f"{cook_id[:64]!r} cannot be the id of a cook", "Write 1 to 64 letters, digits, dots and hyphens"
        )
    is_label("name", name)
    check_long_text("plan", plan_toml, _LONGEST_PLAN)
    return {
        "id": cook_id,
        "name": name,
        "plan_toml": plan_toml,
        "plan_version": 1,
        "created_us": created_us,
        "last_seq": 0,
    }


def _add_plans(connection: Connection, plans: Sequence[ReplacedPlan]) -> None:
    """Plans that an export has, unless they are there."""
    for each in plans:
        row = {"cook_id": each.cook_id, "plan_version": each.plan_version, "plan_toml": each.plan_toml}
        this = (plan_versions.c.cook_id == each.cook_id) & (plan_versions.c.plan_version == each.plan_version)
        if connection.execute(select(plan_versions.c.plan_version).where(this)).first() is None:
            row |= {"replaced_us": us_of(each.replaced_utc), "replaced_by": each.replaced_by}
            connection.execute(insert(plan_versions), row)


def _add_cook(connection: Connection, row: Row) -> CookRow:
    there: Any = connection.execute(select(cooks).where(cooks.c.id == row["id"])).first()
    if there is None:
        connection.execute(insert(cooks), row)
        return find_cook(connection, row["id"])
    if (there.name, there.plan_toml) != (row["name"], row["plan_toml"]):
        raise fault("cook", f"another cook has the id {row['id']!r}, or another plan", "Give another id, or one plan")
    return cook_row(there)
