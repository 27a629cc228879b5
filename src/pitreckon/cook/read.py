"""A cook file (TOML) to a :class:`pitreckon.cook.plan.Cook`; its form: ``docs/reference/cook-file.md``."""

from pathlib import Path

from pitreckon.cook.keys import AWAY, COOK, ITEM, PIT, TASK, TRIPS, know_pits, look_around, stages_of
from pitreckon.cook.plan import Cook, ItemPlan
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.forms.toml_write import Table
from pitreckon.text.file import read_text

EMPTY = "Write a [cook], a [[pit]] and an [[item]]"


def read_cook(path: Path, known: KnownNames | None = None) -> Cook:
    """The cook that a cook file plans.

    known: names of cuts, pits and wraps; None: those of the catalog

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return cook_from_text(read_text(path), str(path), known)


def cook_from_text(text: str, file: str, known: KnownNames | None = None) -> Cook:
    """The cook that the text of a cook file plans; ``file`` is its name for messages.

    Raises InputError: something in it is wrong (file, line and field).
    """
    return _cook(Fields.of_text(text, file, empty=EMPTY), known)


def cook_from_tables(tables: Table, where: str, known: KnownNames | None = None) -> Cook:
    """The cook of what was filled in at a form, by the tables and keys of a cook file. Raises InputError (field)."""
    return _cook(Fields.of_tables(tables, where), known)


def _cook(top: Fields, known: KnownNames | None) -> Cook:
    top.only("cook", "pit", "item", "task", "away", "trips", heads=True)
    head = top.need_table("cook", "Write [cook] with its name and its zone")
    said = COOK.said(look_around(top, head, known))
    pits = tuple(PIT.read(each) for each in top.tables("pit"))
    know_pits(top, [pit.label for pit in pits])
    items = tuple(_item(each) for each in top.tables("item"))
    if (trips := top.table("trips")) is not None:
        said["trips"] = TRIPS.read(trips)
    tasks = tuple(TASK.read(each) for each in top.tables("task"))
    away = tuple(AWAY.read(each) for each in top.tables("away"))
    return head.build(lambda: Cook(**said, pits=pits, items=items, tasks=tasks, away=away))


def _item(fields: Fields) -> ItemPlan:
    said = {"pieces": 1, **ITEM.said(fields)}
    if "pit" not in said:
        labels = list(fields.around.pits.values())
        if len(labels) != 1:
            remedy = f"Write one of: {', '.join(labels)}" if labels else "Write a [[pit]] first"
            raise fields.fault("pit", "pit is missing, and the cook has not just one", remedy)
        said["pit"] = labels[0]
    return fields.build(lambda: ItemPlan(**said, stages=stages_of(fields, said["put_on_utc"])))
