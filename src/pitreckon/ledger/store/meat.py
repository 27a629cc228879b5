"""What was done to the meat of a cook before it went on, as somebody said: all of it is kept, the last word holds."""

from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy import Connection, func, insert, select

from pitreckon.forms.checks import is_label
from pitreckon.ledger.store.documents import check_text
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.records import MeatSaid
from pitreckon.ledger.store.schema import meat_said, us_of, utc_of


def say_meat(connection: Connection, cook_id: str, said: MeatSaid) -> MeatSaid:
    """Keep what somebody says of an item, under the next number. Raises InputError: no such cook."""
    find_cook(connection, cook_id, to_change=True)
    mine = (meat_said.c.cook_id == cook_id) & (meat_said.c.item == said.item)
    last = connection.execute(select(func.max(meat_said.c.number)).where(mine)).scalar() or 0
    said = replace(said, number=last + 1)
    add_meat(connection, cook_id, [said])
    return said


def check_meat(said: MeatSaid) -> None:
    """Raises InputError: something that no store can keep."""
    is_label("item", said.item)
    check_text("words", said.words)
    check_text("by", said.by)


def add_meat(connection: Connection, cook_id: str, said: Iterable[MeatSaid]) -> None:
    """Add what was said, each under its number, unless it is there."""
    there = {(each.item, each.number) for each in meat_of(connection, cook_id)}
    for each in said:
        if (each.item, each.number) in there:
            continue
        row = {"item": each.item, "number": each.number, "words": each.words, "said_us": us_of(each.said_utc)}
        connection.execute(insert(meat_said), {**row, "cook_id": cook_id, "said_by": each.by})


def meat_of(connection: Connection, cook_id: str) -> list[MeatSaid]:
    """All that was said in a cook, in the order in which it was."""
    asked = select(meat_said).where(meat_said.c.cook_id == cook_id)
    rows = connection.execute(asked.order_by(meat_said.c.said_us, meat_said.c.item, meat_said.c.number))
    return [MeatSaid(row.item, row.number, row.words, utc_of(row.said_us), row.said_by) for row in rows]
