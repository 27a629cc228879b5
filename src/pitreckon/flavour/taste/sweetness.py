"""How sweet: each kind of sugar by its sweetness relative to sucrose."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from pitreckon.catalog.foods import Food, Range, read_table


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
