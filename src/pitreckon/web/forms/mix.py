"""The form of a mix, as the tables of a mix file and back; :mod:`pitreckon.flavour.read` reads and judges them."""

from typing import Any, Final

from starlette.datastructures import FormData

from pitreckon.flavour.mix import Amount, Mix
from pitreckon.forms.toml_write import Table, typed
from pitreckon.text.words import plain
from pitreckon.units import POUND_KG, TEASPOON_M3, format_spoons, nearest_spoons
from pitreckon.web.forms.fields import clean, price_with_unit, rows_of
from pitreckon.web.views.reader import Preferences

__all__ = ["LEAST_ROWS", "filled_of", "from_mix", "plain_form", "tables_of"]

LEAST_ROWS: Final = 6
HEAD_KEYS: Final = ("name", "use", "part", "serving", "currency")
COVER_KEYS: Final = ("pieces", "weight", "area")
LINE_KEYS: Final = ("what", "amount", "price")


def filled_of(form: FormData) -> dict[str, Any]:
    """What was filled in, row by row; kept as it was typed, to be shown again where something is wrong."""
    return {
        "head": {key: clean(form.get(key)) for key in HEAD_KEYS},
        "covers": {key: clean(form.get(f"covers_{key}")) for key in COVER_KEYS},
        "lines": [row for row in rows_of(form, "line", LINE_KEYS) if any(row.values())],
    }


def tables_of(filled: dict[str, Any], mixes: set[str], preferences: Preferences) -> Table:
    """The tables of a mix file. mixes: names of those that are kept, which an ingredient may be as well as a food.

    A bare price is for a pound or a kilogram, as the form says.
    """
    covers = [value for value in filled["covers"].values() if value]
    known = {plain(name) for name in mixes}
    lines = [
        {
            "mix" if plain(line["what"]) in known else "food": line["what"],
            **typed({"amount": line["amount"], "price": price_with_unit(line["price"], f"per {preferences.mass}")}),
        }
        for line in filled["lines"]
    ]
    return {"mix": {**typed(filled["head"]), **({"covers": covers} if covers else {})}, "ingredient": lines}


def plain_form(mix: Mix) -> bool:
    """Does the form show all of a mix? Own foods, plates, bodies and packs are for the text alone."""
    packs = any(line.pack_kg is not None for line in mix.lines)
    return not mix.foods and mix.plate is None and mix.body is None and not packs


def from_mix(mix: Mix, preferences: Preferences) -> dict[str, Any]:
    """The form filled with a mix that it can show."""
    pound = POUND_KG if preferences.mass == "lb" else 1.0
    covers = {"pieces": "", "weight": "", "area": ""}
    for cover in mix.covers:
        if cover.what == "weight":
            covers["weight"] = f"{cover.value:g} kg"
        elif cover.what == "area":
            covers["area"] = f"{cover.value:g} m2"
        else:
            covers["pieces"] = f"{cover.value:g} {cover.what}"
    head = {"name": mix.name, "use": mix.use, "currency": mix.currency}
    head |= {"part": _amount(mix.part), "serving": _amount(mix.serving)}
    lines = [
        {
            "what": line.label,
            "amount": _amount(line.amount),
            "price": "" if line.price_per_kg is None else f"{line.price_per_kg * pound:.6g}",
        }
        for line in mix.lines
    ]
    return {"head": head, "covers": covers, "lines": lines}


def _amount(amount: Amount | None) -> str:
    """As it is read again, to what a spoon can measure; an odd volume goes as millilitres."""
    if amount is None:
        return ""
    if amount.kind == "weight":
        return f"{1000.0 * amount.value:.6g} g"
    if amount.kind == "parts":
        return f"{amount.value:.6g} parts"
    near = float(nearest_spoons(amount.value)) * TEASPOON_M3
    exact = abs(near / amount.value - 1.0) < 1e-6
    return format_spoons(amount.value) if exact else f"{1e6 * amount.value:.6g} ml"
