"""What a label of 21 CFR 101.9 declares, and the food that stands behind one: rounding, done and undone."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from pitreckon.catalog.foods import ANY_SUGAR, SUGAR_KINDS, UNKNOWN, Food, Range, bounded
from pitreckon.flavour.mix import LABEL_KEYS, OwnFood
from pitreckon.flavour.taste.sweetness import salt_from_sodium_mg
from pitreckon.units import round_half_up

RULE_OF: Final[Mapping[str, str]] = {
    "energy_kcal": "calories",
    **dict.fromkeys(("fat_g", "satfat_g"), "fat"),
    "cholesterol_mg": "cholesterol",
    "sodium_mg": "sodium",
    **dict.fromkeys(("carb_g", "fiber_g", "sugars_g", "added_g", "protein_g"), "grams"),
}
"""Which rule each nutrient of a label follows."""

_STEPS: Final[Mapping[str, tuple[float, float, float, float]]] = {
    # below this it is zero; step up to a bound; the bound; step above it
    "calories": (5.0, 5.0, 50.0, 10.0),  # (c)(1)
    "fat": (0.5, 0.5, 5.0, 1.0),  # (c)(2)
    "cholesterol": (2.0, 5.0, 1e9, 5.0),  # (c)(3)
    "sodium": (5.0, 5.0, 140.0, 10.0),  # (c)(4)
    "grams": (0.5, 1.0, 1e9, 1.0),  # (c)(6), (c)(7)
}


def label_round(rule: str, value: float) -> float:
    """A value as a label declares it.

    rule: calories | fat | cholesterol | sodium | grams; value: in the rule's unit, 0 or more

    Source: 21 CFR 101.9(c)(1)-(7), read as quoted elsewhere. From 2 to 5 mg of cholesterol a label may say "less
    than 5 mg"; here it is 5.

    >>> label_round("calories", 47.0), label_round("calories", 236.0), label_round("fat", 4.74)
    (45.0, 240.0, 4.5)

    Raises KeyError: no such rule.
    """
    zero_below, step, bound, coarse = _STEPS[rule]
    if value < zero_below:
        return 0.0
    if value <= bound:
        return max(round_half_up(value / step) * step, step)
    return round_half_up(value / coarse) * coarse


def may_have_been(rule: str, declared: float) -> Range:
    """The values that a label declares so; one that fits no step is taken to be exact to half a step.

    >>> may_have_been("calories", 50.0), may_have_been("fat", 0.0), may_have_been("sodium", 290.0)
    (Range(low=47.5, high=55.0), Range(low=0.0, high=0.5), Range(low=285.0, high=295.0))

    Raises KeyError: no such rule.
    """
    zero_below, step, bound, coarse = _STEPS[rule]
    if declared <= 0.0:
        return Range(0.0, zero_below)
    below = step if declared <= bound else coarse
    above = step if declared < bound else coarse
    low = zero_below if declared <= step else declared - 0.5 * below
    return Range(min(low, declared), declared + 0.5 * above)


def percent_of_drv(value: float, daily: float) -> float:
    """Share of a daily reference value, to the whole percent, as declared ((d)(7)(ii)) [%].

    >>> percent_of_drv(290.0, 2300.0)
    13.0
    """
    return round_half_up(100.0 * value / daily)


def percent_of_vitamin(percent: float) -> float:
    """Share of the daily intake of a vitamin or mineral as declared ((c)(8)(iii)) [%]: by 2 to 10, by 5 to 50, by 10.

    >>> percent_of_vitamin(12.0), percent_of_vitamin(47.0), percent_of_vitamin(0.9)
    (10.0, 45.0, 0.0)
    """
    step = 2.0 if percent <= 10.0 else 5.0 if percent <= 50.0 else 10.0
    return round_half_up(percent / step) * step


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
