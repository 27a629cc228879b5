"""The text of a cook file that asks for a day to be planned; :mod:`.read` reads it back to the same wishes."""

from typing import Any

from pitreckon.cook.keys import Around, item_tables
from pitreckon.forms.toml_write import toml_text
from pitreckon.plan.keys import AWAY, DAY, GUESTS, HANDS, ITEM, PIT, TASK
from pitreckon.plan.wishes import Wishes


def wish_text(wishes: Wishes) -> str:
    """A cook file of these wishes, each value with its unit, as :mod:`pitreckon.cook.values` writes it."""
    around, hands = Around(wishes.zone_info, wishes.serve_utc), wishes.hands
    tables: dict[str, Any] = {"cook": DAY.write(wishes, around)}
    if wishes.guests is not None:
        tables["guests"] = GUESTS.write(wishes.guests)
    if hands.cooks != 1 or hands.away:
        tables["hands"] = {**HANDS.write(hands), "away": [AWAY.write(away, around) for away in hands.away]}
    tables["pit"] = [PIT.write(pit, around) for pit in wishes.pits]
    tables["item"] = item_tables(ITEM, wishes.items, around)
    return toml_text(tables | {"task": [TASK.write(task, around) for task in wishes.tasks]})
