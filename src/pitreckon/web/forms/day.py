"""The form of a day to be planned, as the tables of a cook file; :mod:`pitreckon.plan.read` reads and judges them."""

import contextlib
import re
from typing import Any, Final

from starlette.datastructures import FormData

from pitreckon.forms.toml_write import Table, typed
from pitreckon.web.forms.fields import clean, free_name, price_with_unit, rows_of, with_unit
from pitreckon.web.views.reader import Preferences

PITS, MEATS = 1, 2
"""Rows that an empty form shows; more are added."""
MOST_PITS: Final = 12
COOK_KEYS: Final = ("name", "zone", "serve", "earliest", "air", "chance")
GUEST_KEYS: Final = ("adults", "children", "hungry")
MEAT_KEYS: Final = ("name", "cut", "share", "pieces", "weight", "wrapping", "longest_hold", "price")
SETS: Final = {"F": ("225", "250", "275", "300"), "C": ("107", "121", "135", "149")}


def filled_of(form: FormData) -> dict[str, Any]:
    """What was filled in, row by row; kept as it was typed, to be shown again where something is wrong."""
    pits: list[dict[str, Any]] = []
    for n in range(MOST_PITS):
        pit: dict[str, Any] = {key: clean(form.get(f"pit{n}_{key}")) for key in ("name", "kind", "other")}
        pit["set"] = [clean(value) for value in form.getlist(f"pit{n}_set")]
        if pit["kind"]:
            pit["name"] = pit["name"] or ("pit" if not pits else f"pit {len(pits) + 1}")
            pits.append(pit)
    meats = [row for row in rows_of(form, "meat", MEAT_KEYS) if row["cut"]]
    taken: set[str] = set()
    for row in meats:
        row["name"] = free_name(row["name"] or row["cut"].replace("-", " "), taken)
    return {
        "cook": {key: clean(form.get(key)) for key in COOK_KEYS},
        "guests": {key: clean(form.get(key)) for key in GUEST_KEYS},
        "hands": {key: clean(form.get(key)) for key in ("cooks", "from", "until")},
        "pits": pits,
        "meats": meats,
    }


def filled_from(tables: Table, preferences: Preferences) -> dict[str, Any]:
    """The form filled with the tables of a cook file, so that what is wanted can be changed: ``tables_of`` undone.

    What the form has no field for is left out.
    """
    head, guests, hands = (dict(tables.get(key, {})) for key in ("cook", "guests", "hands"))
    head["chance"] = str(head.get("chance", "")).removesuffix("%").strip()
    away: dict[str, Any] = next(iter(hands.get("away", [])), {})
    pits = [_filled_pit(pit, preferences) for pit in tables.get("pit", [])]
    meats = [{key: _shown(key, meat.get(key), preferences) for key in MEAT_KEYS} for meat in tables.get("item", [])]
    return {
        "cook": {key: _shown(key, head.get(key), preferences) for key in COOK_KEYS},
        "guests": {key: _shown(key, guests.get(key), preferences) for key in GUEST_KEYS},
        "hands": {"cooks": _shown("", hands.get("cooks"), preferences)}
        | {key: _shown("", away.get(key), preferences) for key in ("from", "until")},
        "pits": pits,
        "meats": meats,
    }


def _filled_pit(pit: Table, preferences: Preferences) -> dict[str, Any]:
    given = pit.get("set", [])
    sets = [_bare(str(each), preferences.degrees) for each in ([given] if isinstance(given, str) else given)]
    offered = SETS[preferences.degrees]
    other = next((each for each in sets if each not in offered), "")
    return {
        "name": str(pit.get("name", "")),
        "kind": str(pit.get("kind", "")),
        "other": other,
        "set": [each for each in sets if each in offered],
    }


def _shown(key: str, value: Any, preferences: Preferences) -> str:
    """A value as it is typed into its field, without the unit that stands beside it."""
    unit = {"weight": preferences.mass, "longest_hold": "h", "price": f"/ {preferences.mass}"}.get(key, "")
    if key == "air":
        unit = preferences.degrees
    text = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
    return _bare(text, unit)


def _bare(text: str, unit: str) -> str:
    """A number without its unit, where that is the one that the form adds again; anything else as it is."""
    number = text.removesuffix(unit).strip() if unit and text.endswith(unit) else ""
    return number if re.fullmatch(r"[$€£]?\s*[0-9.]+", number) else text


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
