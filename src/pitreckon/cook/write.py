"""The text of a cook file; :mod:`pitreckon.cook.read` reads and judges it."""

from pitreckon.cook.keys import AWAY, COOK, ITEM, PIT, TASK, Around, item_tables
from pitreckon.cook.plan import Cook
from pitreckon.forms.toml_write import toml_text


def cook_text(cook: Cook) -> str:
    """The text of a cook file of this cook, without its trip costs; :func:`.read.cook_from_text` reads it."""
    around = Around(cook.zone_info, cook.serve_utc)
    return toml_text(
        {
            "cook": COOK.write(cook, around),
            "pit": [PIT.write(pit, around) for pit in cook.pits],
            "item": item_tables(ITEM, cook.items, around),
            "task": [TASK.write(task, around) for task in cook.tasks],
            "away": [AWAY.write(away, around) for away in cook.away],
        }
    )
