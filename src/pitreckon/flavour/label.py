"""A nutrition label for home and menu use: what a serving has, rounded and compared as 21 CFR 101.9 says.

It is an estimate from composition tables, not a regulated label.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pitreckon.catalog.foods import NUTRIENTS, Food, Range, read_table
from pitreckon.catalog.meats import Meat, meats
from pitreckon.errors import InputError
from pitreckon.flavour.mix import Amount, Plate
from pitreckon.flavour.weigh.batch import Batch
from pitreckon.flavour.weigh.bought import RULE_OF, label_round, percent_of_drv, percent_of_vitamin
from pitreckon.units import TABLESPOON_M3, TEASPOON_M3, format_mass, format_spoons, round_half_up

STANDING: Final = "An estimate for home and menu use, not a regulated label."

# Order of the lines; name; indented below the line before; the nutrient; does it have a daily value of macronutrients.
_LINES: Final = (
    ("Calories", 0, "energy_kcal"),
    ("Fat", 0, "fat_g"),
    ("Saturated", 1, "satfat_g"),
    ("Trans", 1, "trans_g"),
    ("Cholesterol", 0, "cholesterol_mg"),
    ("Sodium", 0, "sodium_mg"),
    ("Carbohydrate", 0, "carb_g"),
    ("Fibre", 1, "fiber_g"),
    ("Sugars", 1, "sugars_g"),
    ("of which added", 2, "added_g"),
    ("Protein", 0, "protein_g"),
    ("Vitamin D", 0, "vitd_mcg"),
    ("Calcium", 0, "calcium_mg"),
    ("Iron", 0, "iron_mg"),
    ("Potassium", 0, "potassium_mg"),
)
_DAILY: Final = {
    "fat_g": "total fat",
    "satfat_g": "saturated fat",
    "cholesterol_mg": "cholesterol",
    "sodium_mg": "sodium",
    "carb_g": "total carbohydrate",
    "fiber_g": "dietary fiber",
    "added_g": "added sugars",
    "vitd_mcg": "vitamin D",
    "calcium_mg": "calcium",
    "iron_mg": "iron",
    "potassium_mg": "potassium",
}
_VITAMINS: Final = frozenset({"vitd_mcg", "calcium_mg", "iron_mg", "potassium_mg"})
_STEPS: Final = {"vitd_mcg": 0.1, "calcium_mg": 10.0, "iron_mg": 0.1, "potassium_mg": 10.0}
"""Steps in which amounts of vitamins and minerals are given: FDA guidance, from memory."""
_REFERENCE: Final = {
    "rub": "spices, herbs",
    "binder": "minor condiments: hot sauce, mustard, Worcestershire, horseradish",
    "sauce": "barbecue sauce and other dipping sauces",
    "glaze": "barbecue sauce and other dipping sauces",
    "spritz": "major condiments: catsup, steak sauce, soy sauce, vinegar, marinades",
    "wrap": "major condiments: catsup, steak sauce, soy sauce, vinegar, marinades",
    "brine": "major condiments: catsup, steak sauce, soy sauce, vinegar, marinades",
}
"""Category of the reference amount by use: ours; the regulation knows no rub, wrap, spritz or brine."""


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One line of a label.

    name; depth: how far it is indented; unit; value: analysed, per serving; declared: rounded; None: not known
    percent: of the daily value, as declared; None: it has none, or it is not known
    at_least: a part of it is not known, so that the declared value is a least one
    """

    name: str
    depth: int
    nutrient: str
    unit: str
    value: Range
    declared: float | None
    percent: float | None
    at_least: bool


@dataclass(frozen=True, slots=True)
class Label:
    """A label: what a serving is, its lines, what it contains, what it costs.

    contains: allergens by their names; may_contain: of which the bought foods' labels have to be read
    cost: per serving; None: a price is not known
    """

    name: str
    serving: str
    serving_kg: float
    servings: float
    lines: tuple[LabelLine, ...]
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    cost: float | None
    currency: str
    notes: tuple[str, ...]
    standing: str = STANDING


def reference_amount(use: str) -> Amount:
    """The reference amount of a mix of this use (21 CFR 101.12(b), read as quoted elsewhere; which row is ours)."""
    for row in read_table("pitreckon.flavour", "reference_amounts.csv"):
        if row["category"] == _REFERENCE[use]:
            size = {"tbsp": TABLESPOON_M3, "tsp": TEASPOON_M3}[row["unit"]]
            return Amount("spoons", float(row["racc"]) * size)
    raise KeyError(use)


def label_of(batch: Batch, rules: str = "us") -> Label:
    """The label of a batch: of its mix alone, or of the meat that it is served with where the file has a [plate].

    rules: whose allergens are named, ``us`` (nine) or ``eu`` (fourteen); the rounding is that of 21 CFR 101.9

    Raises InputError: a serving is by the spoon, and the mix cannot be measured so; a serving is more than the batch.
    """
    mix = batch.mix
    if mix.plate is not None:
        values, serving_kg = plate_per_serving(batch, mix.plate)
        servings, what = mix.plate.serves, f"{format_mass(serving_kg, 'kg')} of meat with its {mix.use}"
        notes: tuple[str, ...] = _plate_notes(mix.plate)
    else:
        serving = mix.serving or reference_amount(mix.use)
        serving_kg = batch.weighing(serving)
        if serving_kg > batch.mass_kg * (1.0 + 1e-9):
            raise InputError(f"a serving of '{mix.name}' is more than the batch", "Write a smaller serving")
        servings = batch.mass_kg / serving_kg
        values = _of_mix(batch, 1.0 / servings)
        spoons = f"{format_spoons(serving.value)}, " if serving.kind == "spoons" else ""
        what, notes = f"{spoons}{serving_kg * 1000.0:.3g} g", ()
    contains, may_contain = allergens_of(batch, rules)
    return Label(
        name=mix.name,
        serving=what,
        serving_kg=serving_kg,
        servings=servings,
        lines=tuple(_line(*each, values) for each in _LINES),
        contains=contains,
        may_contain=may_contain,
        cost=None if batch.cost is None else batch.cost / servings,
        currency=mix.currency,
        notes=notes,
    )


def plate_per_serving(batch: Batch, plate: Plate) -> tuple[dict[str, Range], float]:
    """What a serving of meat with its mix has, and what it weighs [kg].

    The meat is as the table has it cooked, as much of it as its yield leaves of the raw weight; what ran off it is
    not in it. Of the mix, the share that stays.
    """
    meat = meats()[plate.meat]
    edible_kg = plate.raw_kg * meat.edible_share(plate.yield_share)
    of_mix = _of_mix(batch, plate.stays / plate.serves)
    hundreds = edible_kg * 10.0 / plate.serves
    values = {name: each + meat.per_100g[name].times(hundreds) for name, each in of_mix.items() if name in NUTRIENTS}
    values["added_g"] = of_mix["added_g"]
    return values, (edible_kg + plate.stays * batch.mass_kg) / plate.serves


def allergens_of(batch: Batch, rules: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Allergens that a mix with the meat of its plate contains, and those that what is bought may bring, by the names
    of the rules.

    rules: ``us`` | ``eu``. Highly refined oil of soy counts as nothing (FALCPA, from memory) but is named as a chance.
    """
    rows = {row["word"]: row[rules] for row in read_table("pitreckon.catalog", "foods/allergens.csv")}
    foods: list[Food | Meat] = [portion.food for portion in batch.portions if portion.mass_kg > 0.0]
    if batch.mix.plate is not None:
        foods.append(meats()[batch.mix.plate.meat])
    has = [rows[word] for food in foods for word in food.contains if rows[word]]
    may = [(rows[word], food.name) for food in foods for word in food.may_contain if rows[word]]
    order = list(dict.fromkeys(name for name in rows.values() if name))
    contains = tuple(name for name in order if name in has)
    chances: dict[str, list[str]] = {}
    for name, food in may:
        if name not in contains and food not in chances.setdefault(name, []):
            chances[name].append(food)
    return contains, tuple(f"{name} ({', '.join(chances[name])})" for name in order if name in chances)


def _of_mix(batch: Batch, share: float) -> dict[str, Range]:
    contents = batch.contents
    values = {name: contents.nutrients[name].times(share) for name in NUTRIENTS}
    values["added_g"] = contents.added_g.times(share)
    return values


def _plate_notes(plate: Plate) -> tuple[str, ...]:
    meat = meats()[plate.meat]
    source = "your own yield" if plate.yield_share is not None else meat.yield_source
    notes = [f"Meat: {meat.name}, {meat.source}; yield: {source}."]
    if plate.yield_share is None:
        notes.append("Kitchen yields; barbecue loses more: weigh the cooked meat and write its yield.")
    return tuple(notes)


def daily_values() -> Mapping[str, float]:
    """Daily values for adults by nutrient, in its unit (21 CFR 101.9(c)(8)(iv) and (c)(9))."""
    rows = {row["nutrient"]: row["dv_adult"] for row in read_table("pitreckon.flavour", "label_rules.csv")}
    return {nutrient: float(rows[name]) for nutrient, name in _DAILY.items()}


def _line(name: str, depth: int, nutrient: str, values: Mapping[str, Range]) -> LabelLine:
    percent: float | None
    unit = {"energy_kcal": "kcal"}.get(nutrient, nutrient.rpartition("_")[2])
    value = values.get(nutrient, Range(0.0, float("inf")))
    if not value.known and value.low <= 0.0:
        return LabelLine(name, depth, nutrient, unit, value, None, None, True)
    middle = value.middle
    daily = daily_values().get(nutrient)
    if nutrient in _VITAMINS:
        step = _STEPS[nutrient]
        declared = round_to(middle, step)
        percent = percent_of_vitamin(100.0 * middle / (daily or 1.0))
    else:
        declared = label_round(RULE_OF[nutrient], middle)
        # (d)(7)(ii): from the declared amount or the analysed one; we take the latter, but nothing declared is 0 %.
        percent = None if daily is None else percent_of_drv(middle if declared else 0.0, daily)
    return LabelLine(name, depth, nutrient, unit, value, declared, percent, not value.known)


def round_to(value: float, step: float) -> float:
    """To a step, halves up."""
    return round(round_half_up(value / step) * step, 6)
