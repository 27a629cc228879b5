"""A cook of which nothing was ever recorded can go for good. What has entries stays: a ledger is never cut."""

from typing import Final

from sqlalchemy import Connection, delete, update

from pitreckon.forms.checks import fault
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.schema import (
    acknowledged,
    came_out,
    cooks,
    devices,
    house_lessons,
    left_out,
    meat_said,
    plan_versions,
    seals,
    told_to,
    wishes,
)

_OF_A_COOK: Final = (acknowledged, came_out, house_lessons, left_out, meat_said, plan_versions, seals, told_to, wishes)


def remove_cook(connection: Connection, cook_id: str) -> None:
    """Remove a cook with all that hangs on it; devices that sent to it alone send to the cook that is going on.

    Raises InputError: there is none of that id, or it has entries.
    """
    if find_cook(connection, cook_id, to_change=True).last_seq:
        raise fault("cook", "something was recorded in this cook", "Put it away instead: its ledger is kept")
    connection.execute(update(devices).where(devices.c.cook_id == cook_id).values(cook_id=None))
    for table in _OF_A_COOK:
        connection.execute(delete(table).where(table.c.cook_id == cook_id))
    connection.execute(delete(cooks).where(cooks.c.id == cook_id))
