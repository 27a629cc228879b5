"""Taking entries in: what is already there is known again, the rest gets its number. Runs in the writer."""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, Final

from sqlalchemy import Connection, Dialect, bindparam, insert, select, text, update

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault
from pitreckon.ledger.store.documents import named
from pitreckon.ledger.store.links import EVERY, first_link, linked, next_link
from pitreckon.ledger.store.records import Receipt
from pitreckon.ledger.store.rows import CONTENT, Row
from pitreckon.ledger.store.schema import ID_INDEX, cooks, events, seals

_AT_ONCE: Final = 500  # ids in one question
# Left alone, SQLite takes a cook for a handful of rows and reads all of them rather than look up each id.
_HINT: Final = {"sqlite": f"INDEXED BY {ID_INDEX}"}


def no_cook(cook_id: str) -> InputError:
    """What to say of a cook that is not there."""
    return fault("cook", f"there is no cook {cook_id[:64]!r}", "Add it first, or check its id")


def take_in(connection: Connection, cook_id: str, rows: Sequence[Row], recorded_us: int) -> list[Receipt]:
    """Number and write the rows that are new; a receipt for each, in order. All or, where one is at fault, none.

    rows: from ``row_of``; one with ``recorded_us`` of its own keeps that

    Raises InputError: no such cook; an id that stands for something else; a correction of nothing.
    """
    # The lock on the cook's row is what makes numbers follow each other without gaps, in the order of the commits:
    # a reader that has seen number n has seen all before it.
    asked = select(cooks.c.last_seq, cooks.c.link).where(cooks.c.id == cook_id).with_for_update()
    there_is = connection.execute(asked).first()
    if there_is is None:
        raise no_cook(cook_id)
    first = last = there_is.last_seq
    link, kept = there_is.link or first_link(cook_id), list[Row]()
    known = _known(connection, cook_id, rows)
    fresh: list[Row] = []
    receipts: list[Receipt] = []
    for row in rows:
        there = known.get(row["id"])
        if row["kind"] == "correction":
            row = _aimed(row, known.get(row["of_id"]))  # noqa: PLW2901
        if there is not None:
            if any(there[name] != row[name] for name in CONTENT):
                raise fault(
                    "id",
                    f"entry {row['id']!r} is recorded already and says something else (number {there['seq']})",
                    "Give every entry an id of its own; put a wrong one right with a correction",
                )
            receipts.append(Receipt(row["id"], there["seq"], new=False))
            continue
        last += 1
        row["cook_id"], row["seq"] = cook_id, last
        row.setdefault("recorded_us", recorded_us)
        link = next_link(link, linked(row))
        if last % EVERY == 0:
            kept.append({"cook_id": cook_id, "seq": last, "link": link})
        known[row["id"]] = row
        fresh.append(row)
        receipts.append(Receipt(row["id"], last, new=True))
    if last > first:
        _write(connection, fresh)
        connection.execute(update(cooks).where(cooks.c.id == cook_id).values(last_seq=last, link=link))
        if kept:
            connection.execute(insert(seals), kept)
    return receipts


def _write(connection: Connection, rows: Sequence[Row]) -> None:
    """The hot path: the statement as the driver takes it, so that no row is bound twice."""
    statement, order = _insert_for(connection.dialect)
    values: Any = [tuple(map(row.__getitem__, order)) for row in rows] if order else rows
    connection.exec_driver_sql(statement, values)


@lru_cache
def _insert_for(dialect: Dialect) -> tuple[str, tuple[str, ...]]:
    """The INSERT in a driver's words, with the order of its values; no order where it takes them by name."""
    compiled = insert(events).compile(dialect=dialect)
    return str(compiled), tuple(getattr(compiled, "positiontup", None) or ())


def _known(connection: Connection, cook_id: str, rows: Sequence[Row]) -> dict[str, Mapping[str, Any]]:
    """What is recorded under the ids of the rows, and under those that they correct."""
    ids = list(dict.fromkeys(name for row in rows for name in (row["id"], row["of_id"]) if name is not None))
    hint = _HINT.get(connection.dialect.name, "")
    asked = text(
        f"SELECT id, seq, {', '.join(CONTENT)} FROM events {hint} WHERE cook_id = :cook_id AND id IN :ids"
    ).bindparams(bindparam("ids", expanding=True))
    found: dict[str, Mapping[str, Any]] = {}
    for some in _shares(ids):
        for there in connection.execute(asked, {"cook_id": cook_id, "ids": some}):
            found[there.id] = there._asdict()
    return found


def _shares(ids: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(ids), _AT_ONCE):
        yield ids[start : start + _AT_ONCE]


def _aimed(row: Row, target: Mapping[str, Any] | None) -> Row:
    """A correction with the time and the item of what it corrects, where it has none of its own."""
    if target is None:
        raise named(fault("of_id", f"there is no entry {row['of_id']!r} to correct", "Send that one first"), row["id"])
    if target["kind"] == "correction":
        again = f"Correct {target['of_id']!r} once more"
        raise named(fault("of_id", f"{row['of_id']!r} is a correction itself", again), row["id"])
    if row["on_label"] is not None:
        return row
    return {**row, **{name: target[name] for name in ("at_us", "on_label", "piece")}}
