"""The form of a day to be planned, as the tables of a cook file; :mod:`pitreckon.plan.read` reads and judges them."""

import contextlib
from typing import Any, Final

from starlette.datastructures import FormData

from pitreckon.forms.toml_write import Table, typed
from pitreckon.web.forms.fields import clean, price_with_unit, rows_of, with_unit
from pitreckon.web.views.reader import Preferences

PITS, MEATS = 2, 4
COOK_KEYS: Final = ("name", "zone", "serve", "earliest", "air", "chance")
GUEST_KEYS: Final = ("adults", "children", "hungry")
MEAT_KEYS: Final = ("name", "cut", "share", "pieces", "weight", "wrapping", "longest_hold", "price")
SETS: Final = {"F": ("225", "250", "275", "300"), "C": ("107", "121", "135", "149")}


def filled_of(form: FormData) -> dict[str, Any]:
    """What was filled in, row by row; kept as it was typed, to be shown again where something is wrong."""
    pits: list[dict[str, Any]] = []
    for n in range(PITS):
        pit: dict[str, Any] = {key: clean(form.get(f"pit{n}_{key}")) for key in ("name", "kind", "other")}
        pit["set"] = [clean(value) for value in form.getlist(f"pit{n}_set")]
        if pit["kind"]:
            pit["name"] = pit["name"] or ("pit" if not pits else "second pit")
            pits.append(pit)
    meats = [row for row in rows_of(form, "meat", MEAT_KEYS) if row["cut"]]
    taken: set[str] = set()
    for row in meats:
        row["name"] = _free(row["name"] or row["cut"].replace("-", " "), taken)
    return {
        "cook": {key: clean(form.get(key)) for key in COOK_KEYS},
        "guests": {key: clean(form.get(key)) for key in GUEST_KEYS},
        "hands": {key: clean(form.get(key)) for key in ("cooks", "from", "until")},
        "pits": pits,
        "meats": meats,
    }


def _free(name: str, taken: set[str]) -> str:
    """The name, with a number when another has it already."""
    free, n = name, 2
    while free.casefold() in taken:
        free, n = f"{name} {n}", n + 1
    taken.add(free.casefold())
    return free


def tables_of(filled: dict[str, Any], preferences: Preferences) -> Table:
    """The tables of a cook file. A bare number is in the units that the form shows beside its field."""
    head = dict(filled["cook"], air=with_unit(filled["cook"]["air"], preferences.degrees))
    head["chance"] = f"{head['chance']} %" if head["chance"].isdigit() else head["chance"]
    tables: dict[str, Any] = {"cook": typed(head)}
    if guests := typed(filled["guests"], *GUEST_KEYS):
        tables["guests"] = guests
    hands = filled["hands"]
    away = typed({"from": hands["from"], "until": hands["until"]})
    if away or hands["cooks"]:
        tables["hands"] = {**typed({"cooks": hands["cooks"]}, "cooks"), "away": [away] if away else []}
    tables["pit"] = [_pit(pit, preferences) for pit in filled["pits"]]
    return tables | {"item": [_meat(meat, preferences) for meat in filled["meats"]]}


def _pit(pit: dict[str, Any], preferences: Preferences) -> Table:
    sets = [with_unit(each, preferences.degrees) for each in [*pit["set"], pit["other"]] if each]
    return {"name": pit["name"], "kind": pit["kind"], "set": sets}


def _meat(meat: dict[str, str], preferences: Preferences) -> Table:
    with_units = {
        "weight": with_unit(meat["weight"], preferences.mass),
        "longest_hold": with_unit(meat["longest_hold"], "h"),
        "price": price_with_unit(meat["price"], f"/ {preferences.mass}"),
    }
    table = typed({**meat, **with_units}, "pieces")
    with contextlib.suppress(ValueError, KeyError):
        table["share"] = float(meat["share"])
    return table
