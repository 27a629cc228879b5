"""A mix file (TOML) to a :class:`pitreckon.flavour.mix.Mix`; its form: ``docs/reference/mix-file.md``."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

from pitreckon.catalog.foods import foods, read_table
from pitreckon.catalog.meats import meats
from pitreckon.errors import InputError
from pitreckon.flavour.amounts import (
    parse_acid,
    parse_amount,
    parse_count,
    parse_cover,
    parse_grams,
    parse_milligrams,
    parse_shu,
)
from pitreckon.flavour.mix import MIX_BODIES, MIX_USES, Mix, MixLine, OwnFood, Plate
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, Key, Keys, name, several, text
from pitreckon.forms.toml_write import Table
from pitreckon.text.file import read_text
from pitreckon.text.words import resolve, spellings
from pitreckon.units import parse_mass, parse_price, parse_share, parse_volume, shown

Find = Callable[[str], str | None]
DEEPEST = 8
"""Mixes in mixes."""


@cache
def _allergens() -> dict[str, str]:
    return {row["word"]: row["word"] for row in read_table("pitreckon.catalog", "foods/allergens.csv")}


def _meats() -> dict[str, str]:
    return spellings(meats().values())


_AMOUNT, _WEIGHT, _GRAMS = text(parse_amount), text(parse_mass), text(parse_grams)
_MILLIGRAMS, _COUNT, _SHARE = text(parse_milligrams), text(parse_count), text(parse_share)

MIX = Keys(
    Mix,
    Key("name", text(), '"gate rub"', needed=True),
    Key("use", name(MIX_USES, "use of a mix"), '"rub"', needed=True),
    Key("part", _AMOUNT, '"1 tbsp"'),
    Key("covers", several(text(parse_cover)), '["2 racks", "2.5 kg"]'),
    Key("serving", _AMOUNT, '"2 tbsp"'),
    Key("body", name(MIX_BODIES, "body of a mix"), '"syrup"'),
    Key("currency", text(lambda text: text.strip() or "USD"), '"USD"'),
)
LINE = Keys(
    MixLine,
    Key("food", text(str), '"brown sugar"'),
    Key("mix", text(str), '"pepper-base.toml"'),
    Key("amount", _AMOUNT, '"2 tbsp"', needed=True),
    Key("price", text(parse_price), '"3.20 per kg"', "price_per_kg"),
    Key("pack", _WEIGHT, '"500 g"', "pack_kg"),
)
OWN_FOOD = Keys(
    OwnFood,
    Key("name", text(), '"yard honey"', needed=True),
    Key("serving", text(parse_volume), '"1 tbsp"', "serving_m3"),
    Key("serving_weight", _WEIGHT, '"21 g"', "serving_kg", needed=True),
    Key("calories", _COUNT, "60", "energy_kcal"),
    Key("fat", _GRAMS, '"0 g"', "fat_g"),
    Key("saturated_fat", _GRAMS, '"0 g"', "satfat_g"),
    Key("carbohydrate", _GRAMS, '"15 g"', "carb_g"),
    Key("fibre", _GRAMS, '"0 g"', "fiber_g"),
    Key("sugars", _GRAMS, '"13 g"', "sugars_g"),
    Key("added_sugars", _GRAMS, '"12 g"', "added_g"),
    Key("protein", _GRAMS, '"0 g"', "protein_g"),
    Key("cholesterol", _MILLIGRAMS, '"0 mg"', "cholesterol_mg"),
    Key("sodium", _MILLIGRAMS, '"290 mg"', "sodium_mg"),
    Key("water", _GRAMS, '"20 g"', "water_g"),
    Key("pungency", text(parse_shu), '"1000 to 2500 SHU"', "shu"),
    Key("acid", text(parse_acid), '"5 %"'),
    Key("contains", several(name(_allergens, "allergen")), '["soy", "wheat"]'),
    Key("measured", FLAG, "true"),
)
PLATE = Keys(
    Plate,
    Key("meat", name(_meats, "meat"), '"spareribs"', needed=True),
    Key("raw", _WEIGHT, '"6 kg"', "raw_kg", needed=True),
    Key("serves", _COUNT, "12", needed=True),
    Key("yield", _SHARE, '"70 %"', "yield_share"),
    Key("stays", _SHARE, '"90 %"'),
)


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
    return _mix(Fields.of_text(text, file), beside, ())


def mix_from_tables(tables: Table, where: str, beside: Path | Find | None = None) -> Mix:
    """The mix of what was filled in at a form, by the tables and keys of a mix file. Raises InputError (field)."""
    return _mix(Fields.of_tables(tables, where), beside, ())


def _read(path: Path, around: tuple[Path | str, ...]) -> Mix:
    return _mix(Fields.of_text(read_text(path), str(path)), path.parent, (*around, path.resolve()))


def _mix(top: Fields, beside: Path | Find | None, around: tuple[Path | str, ...]) -> Mix:
    top.only("mix", "ingredient", "food", "plate", heads=True)
    head = top.need_table("mix", "Write [mix] with its name and its use")
    own = tuple(OWN_FOOD.read(each) for each in top.tables("food"))
    tables, plate = top.tables("ingredient"), top.table("plate")
    mix = MIX.read(
        head,
        foods=own,
        lines=tuple(_line(each, own, beside, around) for each in tables),
        plate=None if plate is None else PLATE.read(plate),
    )
    _spoons_can_be_weighed(mix, tables)
    return mix


def _line(
    fields: Fields, own: tuple[OwnFood, ...], beside: Path | Find | None, around: tuple[Path | str, ...]
) -> MixLine:
    said = LINE.said(fields)
    name, inner = said.pop("food", None), said.pop("mix", None)
    if (name is None) == (inner is None):
        raise fields.fault("food", "an ingredient is one food or one mix", "Write either food = or mix =")
    if inner is not None:
        said["mix"] = _inner(fields, inner, beside, around)
    if name is not None:
        said["food"], said["own"] = fields.parsed("food", name, lambda text, _: _food(text, own))
    return fields.build(lambda: MixLine(**said))


def _food(text: str, own: tuple[OwnFood, ...]) -> tuple[str | None, str | None]:
    """Catalog key or own name of what an ingredient is."""
    for each in own:
        if each.name.casefold() == text.strip().casefold():
            return None, each.name
    names = {each.name: each.name for each in own} | spellings(foods().values())
    listed = "; 'pitreckon mix --foods' lists all"
    return resolve(text, names, "food", listing=listed, otherwise=f"Give it a [[food]]{listed}"), None


def _inner(fields: Fields, text: str, beside: Path | Find | None, around: tuple[Path | str, ...]) -> Mix:
    if beside is None:
        raise fields.fault("mix", "this mix is not in a folder in which others could be", "Read it from a file")
    path = beside / text if isinstance(beside, Path) else None
    if (path.resolve() if path is not None else text.strip().casefold()) in around:
        raise fields.fault(
            "mix", f"{shown(text)} is a mix that this one is a part of", "Leave it out: a mix cannot be in itself"
        )
    if len(around) >= DEEPEST:
        raise fields.fault("mix", f"mixes are nested more than {DEEPEST} deep", "Write its ingredients here")
    if path is None:
        return _kept(fields, text, beside, around)
    try:
        return _read(path, around)
    except InputError as error:
        if error.place.file == str(path) and error.place.line is None:  # the file itself: say who named it
            raise error.put(fields.place("mix")) from None
        raise


def _kept(fields: Fields, name: str, find: Path | Find, around: tuple[Path | str, ...]) -> Mix:
    """A mix that is not in a file but kept by its name."""
    inside = None if isinstance(find, Path) else find(name.strip())
    if inside is None:
        raise fields.fault("mix", f"{shown(name)} is no mix that is kept here", "Keep that one first, under this name")
    return _mix(Fields.of_text(inside, name.strip()), find, (*around, name.strip().casefold()))


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
