"""How a cook came out, as those who ate say: each has one word on it, the last one holds."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, select

from pitreckon.forms.checks import fault, is_label
from pitreckon.ledger.store.documents import check_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.records import CameOut
from pitreckon.ledger.store.schema import came_out, us_of, utc_of

if TYPE_CHECKING:
    from pitreckon.ledger.store.store import Store

BEST: Final = 5


def say_how(store: Store, cook_id: str, by: str, rating: int, note: str, now: datetime) -> CameOut:
    """Keep how somebody says that a cook came out. Raises InputError: no such cook, no such rating, a bad text."""
    said = CameOut(cook_id, by, rating, note, now)
    check_how(said)

    def work(connection: Connection) -> None:
        find_cook(connection, cook_id)
        add_how(connection, [said])

    store.write(work)
    return said


def how_all(store: Store) -> dict[str, tuple[CameOut, ...]]:
    """What was said of each cook, in the order in which it was."""
    found: dict[str, tuple[CameOut, ...]] = {}
    for row in store.read(lambda connection: connection.execute(_asked()).all()):
        found[row.cook_id] = (*found.get(row.cook_id, ()), _of(row))
    return found


def how_of(connection: Connection, cook_id: str) -> list[CameOut]:
    """The same of one cook."""
    return [_of(row) for row in connection.execute(_asked().where(came_out.c.cook_id == cook_id))]


def check_how(said: CameOut) -> None:
    """Raises InputError: something that no store can keep."""
    is_label("by", said.by)
    check_text("note", said.note)
    if not 1 <= said.rating <= BEST:
        raise fault("rating", f"there is no rating {said.rating}", f"Choose one from 1 to {BEST}")


def add_how(connection: Connection, said: Iterable[CameOut]) -> None:
    """Keep what was said, unless the same person has said something later."""
    for each in said:
        row = {"cook_id": each.cook_id, "said_by": each.by, "said_us": us_of(each.said_utc)}
        there = [known for known in how_of(connection, each.cook_id) if known.by == each.by]
        if not there or there[0].said_utc <= each.said_utc:
            put(connection, came_out, {**row, "rating": each.rating, "note": each.note})


def _asked() -> Any:
    return select(came_out).order_by(came_out.c.said_us, came_out.c.said_by)


def _of(row: Any) -> CameOut:
    return CameOut(row.cook_id, row.said_by, row.rating, row.note, utc_of(row.said_us))
