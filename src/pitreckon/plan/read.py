"""A cook file that leaves the day to be planned to :class:`pitreckon.plan.wishes.Wishes`.

The form is that of :mod:`pitreckon.cook.read` with more keys, and fewer that are needed;
``docs/how-to/plan-the-day.md``.
"""

from dataclasses import replace
from pathlib import Path

from pitreckon.cook import Away
from pitreckon.cook.keys import know_pits, look_around, stages_of
from pitreckon.cook.read import EMPTY
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.forms.toml_write import Table
from pitreckon.plan.keys import AWAY, DAY, GUESTS, HANDS, ITEM, ONE_PIT, PIT, TASK, UNTIL
from pitreckon.plan.wishes import LONGEST_HOLD_S, ItemWish, PitWish, Wishes
from pitreckon.text.file import read_text
from pitreckon.text.toml import parse_toml


def read_wishes(path: Path, known: KnownNames | None = None) -> Wishes:
    """What a cook file asks for.

    known: names of cuts, pits and wraps; None: those of the catalog

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return wishes_from_text(read_text(path), str(path), known)


def wishes_from_text(text: str, file: str, known: KnownNames | None = None) -> Wishes:
    """What the text of a cook file asks for; ``file`` is its name for messages.

    Raises InputError: something in it is wrong (file, line and field).
    """
    return _wishes(Fields.of_text(text, file, empty=EMPTY), known)


def wishes_from_tables(tables: Table, where: str, known: KnownNames | None = None) -> Wishes:
    """What was filled in at a form, by the tables and keys of a cook file. Raises InputError (field)."""
    return _wishes(Fields.of_tables(tables, where), known)


def asks_for_a_plan(text: str, file: str) -> bool:
    """Does the text of a cook file leave something to be planned: whom to feed, or when something goes on?

    Raises InputError: it is no TOML.
    """
    raw = parse_toml(text, file)
    items = raw.get("item")
    rows = [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []
    pits = raw.get("pit")
    several = isinstance(pits, list) and any(isinstance(pit, dict) and isinstance(pit.get("set"), list) for pit in pits)
    return several or bool({"guests", "hands"} & set(raw)) or any("put_on" not in item for item in rows)


def _wishes(top: Fields, known: KnownNames | None) -> Wishes:
    top.only("cook", "guests", "hands", "pit", "item", "task", "trips", heads=True)
    head = top.need_table("cook", "Write [cook] with its name, its zone and when to serve")
    said = DAY.said(look_around(top, head, known))
    pits = tuple(_pit(each) for each in top.tables("pit"))
    know_pits(top, [pit.label for pit in pits])
    items = tuple(_item(each) for each in top.tables("item"))
    guests, hands = top.table("guests"), top.table("hands")
    if guests is not None:
        said["guests"] = GUESTS.read(guests, adults=0)
    if hands is not None:
        said["hands"] = HANDS.read(hands, away=tuple(_away(each) for each in hands.tables("away")))
    tasks = tuple(TASK.read(each) for each in top.tables("task"))
    return head.build(lambda: Wishes(**said, pits=pits, items=items, tasks=tasks))


def _away(fields: Fields) -> Away:
    """A time away. A clock time without a day is that on the day before or of serving: the last before serving."""
    fields.around = replace(fields.around, serve_utc=UNTIL.read(fields))
    return AWAY.read(fields)


def _pit(fields: Fields) -> PitWish:
    said = PIT.said(fields)
    return fields.build(lambda: PitWish(**said | {"sets_c": tuple(dict.fromkeys(said["sets_c"]))}))


def _item(fields: Fields) -> ItemWish:
    said = ITEM.said(fields)
    if (one := ONE_PIT.read(fields)) is not None:
        if "pits" in said:
            raise fields.fault("pits", "the item has pit and pits", "Leave one of them out")
        said["pits"] = one
    least_s = max(said.get("least_hold_s", 0.0), said.get("travel_s", 0.0))
    usual = {"most_hold_s": max(LONGEST_HOLD_S, least_s)}
    begins = said.get("put_on_utc", fields.around.serve_utc)
    return fields.build(lambda: ItemWish(**usual | said, stages=stages_of(fields, begins)))
