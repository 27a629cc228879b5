"""How strong a taste is: sweetness by kinds of sugar, heat by capsaicinoids, salt by sodium, in meat and in a brine."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Final

from pitreckon.catalog.foods import Food, Range, foods, read_table

NACL_PER_NA: Final = 58.443 / 22.990
"""Molar masses of NaCl and Na, IUPAC: 2.542."""
SALT_TYPES: Final = ("salt", "rolled-salt", "flake-salt")
"""Foods of the catalog that are salt, the heaviest spoonful first."""


def salt_from_sodium_mg(sodium_mg: float) -> float:
    """Salt that holds so much sodium [g].

    >>> round(salt_from_sodium_mg(2300.0), 2)
    5.85
    """
    return sodium_mg * NACL_PER_NA / 1000.0


def salt_volumes_m3(salt_kg: float) -> Mapping[str, float]:
    """The same weight of salt by the spoon, for each type of salt [m3]: a teaspoon of one is not one of another."""
    return {key: salt_kg / (foods()[key].density_kg_m3 or 1.0) for key in SALT_TYPES}


def equilibrium_salt_g_per_kg(salt_kg: float, water_kg: float, meat_kg: float, meat_water: Range) -> Range:
    """Salt in meat that has lain in a brine until both have the same strength [g per kg of raw meat].

    salt_kg, water_kg: of the brine, its other ingredients' included [kg]
    meat_kg: meat in it, without its bones [kg], above 0
    meat_water: share of water in the meat, smallest and largest [-]

    The salt spreads over all the water; the meat has it in its own. Common practice divides by the whole of the meat
    instead, which gives a little less.
    """

    def strength(share: float) -> float:
        inside = share * meat_kg
        all_of_it = inside + water_kg
        return 1000.0 * salt_kg * inside / (all_of_it * meat_kg) if all_of_it > 0.0 else 0.0

    return Range(strength(meat_water.low), strength(meat_water.high))


SHU_PER_PPM: Final = 16.0
"""Scoville heat units per part per million of capsaicin by dry mass: pure capsaicin has 16 million."""


def capsaicinoids_ppm(shu: float) -> float:
    """Capsaicin that is as pungent, by dry mass [mg/kg], from Scoville heat units by dry mass.

    Source: the conversion of the published tables, 16 units to a part per million.

    >>> capsaicinoids_ppm(40_000.0)
    2500.0
    """
    return shu / SHU_PER_PPM


@cache
def relative_sweetness() -> Mapping[str, Range]:
    """Sweetness of each kind of sugar by weight, sucrose = 1: the two published values as a range [-]."""
    rows = read_table("pitreckon.flavour", "sweetness.csv")
    return MappingProxyType({row["sweetener"]: Range(float(row["low"]), float(row["high"])) for row in rows})


def sweetness_of(food: Food) -> Range:
    """Sweetness of a food in grams of sucrose per 100 g.

    Sugars that the table does not tell apart may be any of the kinds the food can have, which makes the range wider.
    """
    relative = relative_sweetness()
    total = Range(0.0, 0.0)
    for kind, grams in food.sugars.items():
        total += relative[kind].times(grams)
    rest = _rest(food)
    kinds = [relative[kind] for kind in food.kinds_of_sugar]
    any_kind = Range(min(kind.low for kind in kinds), max(kind.high for kind in kinds))
    return total + rest.times_range(any_kind)


def kinds_of_sugar(food: Food) -> dict[str, float]:
    """Grams of each kind of sugar per 100 g; the rest that is not told apart in equal parts of what it may be."""
    found = {kind: food.sugars.get(kind, 0.0) for kind in relative_sweetness()}
    rest = _rest(food).middle
    for kind in food.kinds_of_sugar:
        found[kind] += rest / len(food.kinds_of_sugar)
    return found


def _rest(food: Food) -> Range:
    told_apart, sugars = sum(food.sugars.values()), food.per_100g["sugars_g"]
    return Range(max(0.0, sugars.low - told_apart), max(0.0, sugars.high - told_apart))
