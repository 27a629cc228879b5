"""A mix file (TOML) to a :class:`pitreckon.flavour.mix.Mix`; its form: ``docs/reference/mix-file.md``."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

from pitreckon.catalog.foods import Food, foods, read_table
from pitreckon.catalog.meats import meats
from pitreckon.errors import InputError
from pitreckon.flavour.amounts import (
    parse_acid,
    parse_amount,
    parse_count,
    parse_cover,
    parse_grams,
    parse_milligrams,
    parse_price,
    parse_shu,
)
from pitreckon.flavour.mix import LABEL_KEYS, MIX_BODIES, MIX_USES, Mix, MixLine, OwnFood, Plate
from pitreckon.forms.fields import Fields
from pitreckon.forms.text import read_text
from pitreckon.forms.toml_lines import Lines, parse_toml
from pitreckon.units import parse_mass, parse_share, parse_volume, shown

T = TypeVar("T")
Find = Callable[[str], str | None]
DEEPEST = 8
"""Mixes in mixes."""


def read_mix(path: Path) -> Mix:
    """The mix that a mix file gives, with the mixes in it read from the files it names.

    Raises InputError: a file cannot be read, or something in it is wrong (file, line and field), or a mix is in itself.
    """
    return _read(path, ())


def mix_from_text(text: str, file: str, beside: Path | Find | None = None) -> Mix:
    """The mix that the text of a mix file gives.

    file: its name for messages; beside: the folder in which the mixes that it names are, or what gives the text of a
    mix by its name (None: there is none); None: it may name none

    Raises InputError: something in it is wrong (file, line and field).
    """
    return _mix(text, file, beside, ())


def _read(path: Path, around: tuple[Path | str, ...]) -> Mix:
    return _mix(read_text(path), str(path), path.parent, (*around, path.resolve()))


def _mix(text: str, file: str, beside: Path | Find | None, around: tuple[Path | str, ...]) -> Mix:
    raw = parse_toml(text, file)
    lines = Lines(text)
    top = Fields(raw, (), "file", file, lines)
    top.only("mix", "ingredient", "food", "plate")
    head = raw.get("mix")
    if not isinstance(head, dict):
        raise top.fault("mix", "there is no [mix]", "Write [mix] with its name and its use")
    fields = Fields(head, ("mix",), "mix", file, lines)
    fields.only("name", "use", "part", "covers", "serving", "body", "currency")
    own = tuple(_own_food(each) for each in top.tables("food", "food"))
    _no_twins(top.tables("food", "food"), own)
    tables = top.tables("ingredient", "ingredient")
    ingredients = tuple(_line(each, own, beside, around) for each in tables)
    mix = fields.build(
        lambda: Mix(
            name=fields.need("name", str.strip),
            use=fields.need("use", _use),
            lines=ingredients,
            part=fields.maybe("part", parse_amount),
            covers=tuple(_each(fields, "covers", parse_cover)),
            foods=own,
            serving=fields.maybe("serving", parse_amount),
            plate=_plate(top),
            body=fields.maybe("body", lambda text: _one_of(text, MIX_BODIES, "body of a mix")),
            currency=fields.maybe("currency", str.strip) or "USD",
        )
    )
    _spoons_can_be_weighed(mix, tables)
    return mix


def _line(
    fields: Fields, own: tuple[OwnFood, ...], beside: Path | Find | None, around: tuple[Path | str, ...]
) -> MixLine:
    fields.only("food", "mix", "amount", "price")
    name, inner = fields.text("food"), fields.text("mix")
    if (name is None) == (inner is None):
        raise fields.fault("food", "an ingredient is one food or one mix", "Write either food = or mix =")
    key, of_own = _food(fields, name, own) if name is not None else (None, None)
    return fields.build(
        lambda: MixLine(
            amount=fields.need("amount", parse_amount),
            food=key,
            own=of_own,
            mix=_inner(fields, inner, beside, around) if inner is not None else None,
            price_per_kg=fields.maybe("price", parse_price),
        )
    )


def _food(fields: Fields, text: str, own: tuple[OwnFood, ...]) -> tuple[str | None, str | None]:
    """Catalog key or own name of what an ingredient is."""
    for each in own:
        if each.name.casefold() == text.strip().casefold():
            return None, each.name
    known = _spellings()
    key = known.get(_plain(text))
    if key is None:
        names = {_plain(each.name): each.name for each in own} | known
        near = [names[word] for word in difflib.get_close_matches(_plain(text), names, n=4, cutoff=0.5)]
        listed = "; 'pitreckon mix --foods' lists all"
        remedy = f"Write {' or '.join(dict.fromkeys(near))}{listed}" if near else f"Give it a [[food]]{listed}"
        raise fields.fault("food", f"{shown(text)} is no food that we know", remedy)
    return key, None


def _inner(fields: Fields, text: str, beside: Path | Find | None, around: tuple[Path | str, ...]) -> Mix:
    if beside is None:
        raise fields.fault("mix", "this mix is not in a folder in which others could be", "Read it from a file")
    path = beside / text if isinstance(beside, Path) else None
    if (path.resolve() if path is not None else text.strip().casefold()) in around:
        raise fields.fault("mix", f"{shown(text)} is a mix that this one is a part of", "A mix cannot be in itself")
    if len(around) >= DEEPEST:
        raise fields.fault("mix", f"mixes are nested more than {DEEPEST} deep", "Write its ingredients here")
    if path is None:
        return _kept(fields, text, beside, around)
    try:
        return _read(path, around)
    except InputError as error:
        if error.place.file == str(path) and error.place.line is None:  # the file itself: say who named it
            raise InputError(error.trouble, error.remedy, fields.place("mix")) from None
        raise


def _kept(fields: Fields, name: str, find: Path | Find, around: tuple[Path | str, ...]) -> Mix:
    """A mix that is not in a file but kept by its name."""
    inside = None if isinstance(find, Path) else find(name.strip())
    if inside is None:
        raise fields.fault("mix", f"{shown(name)} is no mix that is kept here", "Keep that one first, under this name")
    return _mix(inside, name.strip(), find, (*around, name.strip().casefold()))


def _own_food(fields: Fields) -> OwnFood:
    fields.only("name", "serving", "serving_weight", *LABEL_KEYS.values(), "pungency", "acid", "contains", "measured")
    words = [row["word"] for row in read_table("pitreckon.catalog", "foods/allergens.csv")]
    serving = fields.maybe("serving", parse_volume)
    measured = fields.raw.get("measured", False)
    if not isinstance(measured, bool):
        raise fields.fault("measured", "measured is neither true nor false", "Write measured = true, or leave it out")
    said: dict[str, Any] = {
        name: fields.maybe(key, parse_milligrams if name.endswith("_mg") else parse_grams)
        for name, key in LABEL_KEYS.items()
        if name != "energy_kcal"
    }
    return fields.build(
        lambda: OwnFood(
            name=fields.need("name", str.strip),
            serving_kg=fields.need("serving_weight", parse_mass),
            serving_m3=serving,
            energy_kcal=fields.maybe("calories", parse_count),
            **said,
            shu=fields.maybe("pungency", parse_shu),
            acid=fields.maybe("acid", parse_acid),
            contains=tuple(_each(fields, "contains", lambda text: _one_of(text, words, "allergen"))),
            measured=measured,
        )
    )


def _plate(top: Fields) -> Plate | None:
    raw = top.raw.get("plate")
    if raw is None:
        return None
    if not isinstance(raw, dict):
        raise top.fault("plate", "plate is not one table", "Head it with [plate]")
    fields = Fields(raw, ("plate",), "plate", top.file, top.lines)
    fields.only("meat", "raw", "serves", "yield", "stays")
    stays = fields.maybe("stays", parse_share)
    return fields.build(
        lambda: Plate(
            meat=fields.need("meat", _meat),
            raw_kg=fields.need("raw", parse_mass),
            serves=fields.need("serves", parse_count),
            yield_share=fields.maybe("yield", parse_share),
            stays=1.0 if stays is None else stays,
        )
    )


def _meat(text: str) -> str:
    known = {_plain(word): meat.key for meat in meats().values() for word in (*meat.also, meat.name, meat.key)}
    return _resolved(text, known, "meat")


def _use(text: str) -> str:
    return _one_of(text, MIX_USES, "use of a mix")


def _one_of(text: str, known: Iterable[str], what: str) -> str:
    words = list(known)
    return _resolved(text, {_plain(word): word for word in words}, what)


def _resolved(text: str, known: dict[str, str], what: str) -> str:
    found = known.get(_plain(text))
    if found is None:
        near = difflib.get_close_matches(_plain(text), known, n=3, cutoff=0.6)
        listed = list(dict.fromkeys(known[word] for word in near)) or sorted(set(known.values()))
        raise InputError(f"{shown(text)} is no {what} that we know", f"Write one of: {', '.join(listed)}")
    return found


def _spellings() -> dict[str, str]:
    """Keys win over names and names over other spellings."""
    listed: list[Food] = list(foods().values())
    found = {_plain(also): food.key for food in listed for also in food.also}
    found |= {_plain(food.name): food.key for food in listed}
    return found | {_plain(food.key): food.key for food in listed}


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").replace(",", " ").replace("_", " ").split())


def _each(fields: Fields, key: str, parse: Callable[[str], T]) -> list[T]:
    """The values of a key that may be one text or a list of them."""
    raw: Any = fields.raw.get(key, [])
    texts = [raw] if isinstance(raw, str) else raw
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        raise fields.fault(key, f"{key} is not a list of texts", 'Write it as in ["one", "another"]')
    try:
        return [parse(text) for text in texts]
    except InputError as error:
        raise InputError(error.trouble, error.remedy, fields.place(key)) from None


def _no_twins(tables: list[Fields], own: tuple[OwnFood, ...]) -> None:
    seen: set[str] = set()
    for fields, each in zip(tables, own, strict=True):
        if each.name.casefold() in seen:
            raise fields.fault("name", f"{shown(each.name)} is there twice", "Give each food its own name")
        seen.add(each.name.casefold())


def _spoons_can_be_weighed(mix: Mix, tables: list[Fields]) -> None:
    """Refuse a spoonful of what nobody knows the weight of."""
    by_spoon = mix.part is not None and mix.part.kind == "spoons"
    for fields, line in zip(tables, mix.lines, strict=True):
        if line.amount.kind == "spoons" or (line.amount.kind == "parts" and by_spoon):
            density = foods()[line.food].density_kg_m3 if line.food else 1.0
            if line.own is not None and mix.own(line.own).serving_m3 is None:
                raise fields.fault(
                    "amount",
                    f"nothing says what a spoonful of '{line.own}' weighs",
                    'Give its [[food]] a serving = "1 tbsp", or write its weight',
                )
            if density is None:
                trouble = f"nothing says what a spoonful of '{line.food}' weighs"
                raise fields.fault("amount", trouble, "Write its weight")
