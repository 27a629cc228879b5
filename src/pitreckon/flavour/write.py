"""A mix as the text of its file; :mod:`pitreckon.flavour.read` reads the same mix back, to rounding in the last digit.

A value is written in the first kitchen unit in which it is short and read back the same, else in SI with all digits.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from pitreckon.errors import InputError, Place
from pitreckon.flavour import amounts
from pitreckon.flavour.mix import LABEL_GRAMS, LABEL_KEYS, LABEL_MILLIGRAMS, Amount, Cover, Mix, MixLine, OwnFood, Plate
from pitreckon.forms.toml_write import Value, toml_text
from pitreckon.units import OUNCE_KG, POUND_KG, format_spoons, parse_mass, parse_price, parse_share, parse_volume
from pitreckon.units.spoons import CUP_M3, TABLESPOON_M3, TEASPOON_M3

T = TypeVar("T")


def mix_text(mix: Mix, names: Mapping[str, str] | None = None) -> str:
    """The text of a mix file. names: the file of each mix in it, by the mix's name; None: the name itself"""
    head: dict[str, Value] = {
        "name": mix.name,
        "use": mix.use,
        "part": None if mix.part is None else _amount(mix.part),
        "covers": [_cover(each) for each in mix.covers] or None,
        "serving": None if mix.serving is None else _amount(mix.serving),
        "body": mix.body,
        "currency": None if mix.currency == "USD" else mix.currency,
    }
    tables: dict[str, Any] = {"mix": _said(head)}
    tables["ingredient"] = [_line(each, names or {}) for each in mix.lines]
    tables["food"] = [_own(each) for each in mix.foods]
    if mix.plate is not None:
        tables["plate"] = _plate(mix.plate)
    return toml_text(tables)


def files_of_mix(mix: Mix, name: str) -> dict[str, str]:
    """The text of a mix and of every mix in it, by the names of their files, those inside first.

    name: of the mix's own file

    Raises InputError: two different mixes in it are called the same, or one as the file
    """
    files: dict[str, str] = {}
    _add(mix, name, files)
    return files


def _add(mix: Mix, name: str, files: dict[str, str]) -> None:
    inside = {each.mix.name: f"{_slug(each.mix.name)}.toml" for each in mix.lines if each.mix is not None}
    for each in mix.lines:
        if each.mix is not None:
            _add(each.mix, inside[each.mix.name], files)
    text = mix_text(mix, inside)
    if files.setdefault(name, text) != text:
        raise InputError(
            f"'{mix.name}' would be written over another mix", "Give one of them another name", Place(name)
        )


def _slug(name: str) -> str:
    return re.sub(r"[^\w]+", "-", name.casefold()).strip("-") or "mix"


def _said(table: Mapping[str, Value]) -> dict[str, Value]:
    return {key: value for key, value in table.items() if value is not None}


def _line(line: MixLine, names: Mapping[str, str]) -> dict[str, Value]:
    inner = None if line.mix is None else names.get(line.mix.name, line.mix.name)
    return _said({
        "food": line.food or line.own,
        "mix": inner,
        "amount": _amount(line.amount),
        "price": None if line.price_per_kg is None else _same([f"{line.price_per_kg:.2f} per kg"], line.price_per_kg,
                                                              parse_price, "{} per kg"),
        "pack": None if line.pack_kg is None else _mass(line.pack_kg),
    })  # fmt: skip


def _own(food: OwnFood) -> dict[str, Value]:
    table: dict[str, Value] = {
        "name": food.name,
        "serving": None if food.serving_m3 is None else _volume(food.serving_m3),
        "serving_weight": _mass(food.serving_kg),
        "calories": None if food.energy_kcal is None else _plain(food.energy_kcal),
    }
    for field in (*LABEL_GRAMS, *LABEL_MILLIGRAMS, "water_g"):
        value = getattr(food, field)
        if value is not None:
            grams = field.endswith("_g")
            parse, unit = (amounts.parse_grams, "{} g") if grams else (amounts.parse_milligrams, "{} mg")
            table[LABEL_KEYS[field]] = _same([unit.format(f"{value:g}")], value, parse, unit)
    if food.shu is not None:
        table["pungency"] = f"{_plain(food.shu[0])} to {_plain(food.shu[1])} SHU"
    if food.acid is not None:
        table["acid"] = " to ".join(_share(each) for each in food.acid)
    table["contains"] = list(food.contains) or None
    table["measured"] = True if food.measured else None
    return _said(table)


def _plate(plate: Plate) -> dict[str, Value]:
    return _said({
        "meat": plate.meat,
        "raw": _mass(plate.raw_kg),
        "serves": _plain(plate.serves),
        "yield": None if plate.yield_share is None else _share(plate.yield_share),
        "stays": None if plate.stays == 1.0 else _share(plate.stays),
    })  # fmt: skip


def _amount(amount: Amount) -> str:
    if amount.kind == "parts":
        return "1 part" if amount.value == 1.0 else f"{_plain(amount.value)} parts"
    return _mass(amount.value) if amount.kind == "weight" else _volume(amount.value)


def _cover(cover: Cover) -> str:
    if cover.what == "weight":
        return _mass(cover.value)
    if cover.what == "area":
        return f"{_plain(cover.value)} m2"
    many = (
        cover.what
        if cover.value == 1.0
        else f"{cover.what}{'es' if cover.what.endswith(('ch', 'sh', 'ss', 'x')) else 's'}"
    )
    return f"{_plain(cover.value)} {many if amounts.piece_word(many) == cover.what else cover.what}"


def _mass(mass_kg: float) -> str:
    ways = [f"{1e3 * mass_kg:.6g} g"] if mass_kg < 1.0 else [f"{mass_kg:.6g} kg"]
    ways += [f"{mass_kg / unit_kg:.6g} {unit}" for unit, unit_kg in (("oz", OUNCE_KG), ("lb", POUND_KG))]
    return _same(ways, mass_kg, parse_mass, "{} kg")


def _volume(volume_m3: float) -> str:
    spoons = [f"{volume_m3 / size:.6g} {unit}" for unit, size in
              (("cup", CUP_M3), ("tbsp", TABLESPOON_M3), ("tsp", TEASPOON_M3), ("ml", 1e-6))]  # fmt: skip
    return _same([format_spoons(volume_m3), *spoons], volume_m3, parse_volume, "{} l", 1e3)


def _share(share: float) -> str:
    return _same([f"{100.0 * share:.6g} %"], share, parse_share, "{} %", 100.0)


def _same(ways: Sequence[str], value: float, parse: Callable[[str], float], exact: str, per: float = 1.0) -> str:
    """The first of these texts that is read as just that value; else all digits of it, in the exact unit."""
    for text in ways:
        try:
            if "e" not in text.split(" ")[0] and parse(text) == value:
                return text
        except InputError:  # no such amount in this unit
            continue
    return exact.format(_plain(value * per))


def _plain(value: float) -> str:
    """All digits of a number that can be read, without an exponent: twenty behind the point."""
    return f"{round(Decimal(repr(value)), 20).normalize():f}"
