"""The cook's own foods and bought mixes: what a label says of a serving, per 100 g and with its rounding undone."""

from types import MappingProxyType

from pitreckon.catalog.foods import ANY_SUGAR, SUGAR_KINDS, UNKNOWN, Food, Range, bounded
from pitreckon.flavour.mix import LABEL_KEYS, OwnFood
from pitreckon.flavour.taste.salting import salt_from_sodium_mg
from pitreckon.flavour.weigh.rounding import RULE_OF, may_have_been

OTHER_SOLIDS_G = 10.0
"""Acids, ash and the like that a label does not give, at the most, per 100 g (from memory)."""


def food_of_label(own: OwnFood) -> Food:
    """A food as the catalog has them, from a label: every declared number is the range that it may have been.

    Raises nothing: what the label does not say is not known, within what the rest allows.
    """
    per_serving = 100.0 / (1000.0 * own.serving_kg)
    said: dict[str, Range | None] = {}
    for name in LABEL_KEYS:
        value = getattr(own, name)
        if value is None:
            said[name] = None
        elif own.measured or name not in RULE_OF:
            said[name] = Range.exact(value * per_serving)
        else:
            said[name] = may_have_been(RULE_OF[name], value).times(per_serving)
    said = {name: _at_most_all(name, each) for name, each in said.items()}
    added = said.pop("added_g")
    if said["water_g"] is None:
        said["water_g"] = _water(said)
    per_100g = bounded(said)
    sugars = per_100g["sugars_g"]
    if added is None:
        added = sugars if own.added else Range(0.0, sugars.high)
    density = None if own.serving_m3 is None else own.serving_kg / own.serving_m3
    return Food(
        key=own.name,
        name=own.name,
        also=(),
        per_100g=MappingProxyType(per_100g),
        sugars=MappingProxyType({}),
        kinds_of_sugar=SUGAR_KINDS if "milk" in own.contains else ANY_SUGAR,
        density_kg_m3=density,
        density_range=None if density is None else Range.exact(density),
        contains=own.contains,
        may_contain=(),
        added_g=Range(min(added.low, sugars.high), min(added.high, sugars.high)),
        shu=UNKNOWN if own.shu is None else Range(*own.shu),
        acid=UNKNOWN if own.acid is None else Range(100.0 * own.acid[0], 100.0 * own.acid[1]),
        source="as measured" if own.measured else "its label, rounding undone",
    )


def _at_most_all(name: str, value: Range | None) -> Range | None:
    """No more than 100 g in 100 g, whatever the rounding of a small serving may allow."""
    if value is None or not name.endswith("_g"):
        return value
    return Range(min(value.low, 100.0), min(value.high, 100.0))


def _water(said: dict[str, Range | None]) -> Range:
    """Water per 100 g: what the declared solids leave, less what a label does not give."""
    solids = [said["carb_g"], said["fat_g"], said["protein_g"]]
    sodium = said["sodium_mg"]
    salt = Range(0.0, 100.0) if sodium is None else Range(*map(salt_from_sodium_mg, (sodium.low, sodium.high)))
    low = sum(each.low for each in solids if each) + salt.low
    high = sum(each.high if each else 100.0 for each in solids) + salt.high + OTHER_SOLIDS_G
    return Range(max(0.0, 100.0 - high), max(0.0, 100.0 - low))
