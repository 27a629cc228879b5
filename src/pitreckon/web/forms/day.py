"""The form of a day to be planned, as the text of a cook file; :mod:`pitreckon.plan.read` reads and judges it."""

from __future__ import annotations

from typing import Any, Final

from starlette.datastructures import FormData

from pitreckon.forms.toml_write import Table, Value, tables_text, whole_number
from pitreckon.web.forms.fields import clean, rows_of, with_unit
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


def text_of(filled: dict[str, Any], preferences: Preferences) -> str:
    """The cook file. A bare number is in the units that the form shows beside its field."""
    cook = {
        key: with_unit(value, preferences.degrees) if key == "air" else value for key, value in filled["cook"].items()
    }
    cook["chance"] = f"{cook['chance']} %" if cook["chance"].isdigit() else cook["chance"]
    parts: list[Table] = [("[cook]", _there(cook))]
    guests: dict[str, Value] = {key: whole_number(value) for key, value in filled["guests"].items() if value}
    if guests:
        parts.append(("[guests]", guests))
    hands = filled["hands"]
    if hands["cooks"]:
        parts.append(("[hands]", {"cooks": whole_number(hands["cooks"])}))
    if hands["from"] or hands["until"]:
        parts.append(("[[hands.away]]", _there({"from": hands["from"], "until": hands["until"]})))
    for pit in filled["pits"]:
        sets = [with_unit(each, preferences.degrees) for each in [*pit["set"], pit["other"]] if each]
        parts.append(("[[pit]]", {"name": pit["name"], "kind": pit["kind"], "set": sets}))
    parts += [("[[item]]", _meat(meat, preferences)) for meat in filled["meats"]]
    return tables_text(parts)


def _meat(meat: dict[str, str], preferences: Preferences) -> dict[str, Value]:
    out: dict[str, Value] = {"name": meat["name"], "cut": meat["cut"]}
    if meat["share"]:
        out["share"] = _number(meat["share"])
    if meat["pieces"]:
        out["pieces"] = whole_number(meat["pieces"])
    if meat["weight"]:
        out["weight"] = with_unit(meat["weight"], preferences.mass)
    if meat["wrapping"]:
        out["wrapping"] = meat["wrapping"]
    if meat["longest_hold"]:
        out["longest_hold"] = with_unit(meat["longest_hold"], "h")
    if meat["price"]:
        out["price"] = meat["price"] if "/" in meat["price"] else f"{meat['price']} / {preferences.mass}"
    return out


def _there(values: dict[str, str]) -> dict[str, Value]:
    return {key: value for key, value in values.items() if value}


def _number(text: str) -> Value:
    try:
        return float(text)
    except ValueError:
        return text
