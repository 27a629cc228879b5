"""A mix in words, for every door: weights, spoons, tastes with their ranges, salt on the meat, what a change moves."""

import math
from typing import Final

from pitreckon import catalog
from pitreckon.catalog.foods import Range
from pitreckon.flavour.amounts import parse_cover
from pitreckon.flavour.label import LabelLine
from pitreckon.flavour.mix import Cover
from pitreckon.flavour.taste.sweetness import SALT_TYPES, equilibrium_salt_g_per_kg, salt_volumes_m3
from pitreckon.flavour.taste.target import measure
from pitreckon.flavour.taste.tastes import Taste
from pitreckon.flavour.weigh.batch import Batch, factor_for, surface_m2
from pitreckon.units import format_percent, format_spoons, round_half_up

FULL: Final = {"sweet": 100.0, "salt": 50.0, "sour": 6.0}
HOTTEST_LOG10: Final = 5.0
"""A bar of pungency is in powers of ten, full at 100,000 units."""
SALT_WORDS: Final = {"salt": "table", "rolled-salt": "rolled kosher", "flake-salt": "flaked kosher"}
MEAT_WATER: Final = Range(0.60, 0.755)
"""Water in raw meat: spareribs 59.75 %, chicken without skin 75.5 %, USDA SR28 10088 and 05011."""


def factor_wanted(batch: Batch, wanted: str) -> float:
    """Batches [-] for ``7 racks``, ``3.2 kg``, ``0.6 m2``, ``2 batches``, or so many pieces of a cut by their surface.

    Raises InputError: the mix does not say what a batch covers in that measure.
    """
    cover = parse_cover(wanted)
    if cover.what == "batch":
        return cover.value
    known = {each.what for each in batch.mix.covers}
    if cover.what not in known and "area" in known:
        cut = wanted.split(maxsplit=1)[-1].strip().casefold()
        if cut in catalog.cuts():
            return factor_for(batch.mix, Cover(cover.value * surface_m2(cut), "area"))
    return factor_for(batch.mix, cover)


def meat_kg(batch: Batch) -> float | None:
    """Meat that one batch is for [kg]; None: the mix does not say."""
    return next((cover.value for cover in batch.mix.covers if cover.what == "weight"), None)


def grams(mass_kg: float) -> str:
    """``7.4 g``, ``112 g``, ``1.24 kg``."""
    value = 1000.0 * mass_kg
    if value < 10.0:
        return f"{round_half_up(value, 1 if value >= 0.1 else 2):g} g"
    return f"{round_half_up(value):.0f} g" if value < 1000.0 else f"{round_half_up(mass_kg, 2):g} kg"


def spoons(volume_m3: float | None) -> str:
    """The same by the spoon, or a dash."""
    return "–" if volume_m3 is None else format_spoons(volume_m3)


def moved_words(before: Batch, after: Batch) -> str:
    """What the change does to each measure that the mix has."""
    parts = []
    for what in ("weight", "sugar", "salt", "heat", "calories"):
        was, now = measure(before.contents, what).middle, measure(after.contents, what).middle
        if was > 0.0:
            parts.append(f"{what} {format_percent(now / was)}")
    return "of what it was: " + ", ".join(parts)


def salt_lines(batch: Batch, factor: float) -> list[str]:
    """Salt as a share of the meat, and each salt of the mix by the spoon. factor: batches of the file in ``batch``."""
    lines = []
    salt_g = batch.contents.salt_g
    meat = meat_kg(batch)
    if meat is not None and batch.mix.use == "brine":
        water = batch.contents.nutrients["water_g"].middle / 1000.0
        inside = equilibrium_salt_g_per_kg(salt_g.middle / 1000.0, water, meat * factor, MEAT_WATER)
        lines.append(
            f"salt {between(inside, 1)} g/kg of meat once it has the strength of the brine (without the bones)"
        )
    elif meat is not None:
        on = salt_g.times(1.0 / (meat * factor))
        lines.append(f"salt {between(on, 1)} g/kg of meat, all of its sodium as salt")
    for each in batch.ingredients:
        if each.line.food in SALT_TYPES:
            volumes = salt_volumes_m3(each.mass_kg)
            ways = ", ".join(f"{SALT_WORDS[key]} {format_spoons(volumes[key])}" for key in SALT_TYPES)
            lines.append(f"{grams(each.mass_kg)} of salt by the spoon: {ways}")
    return lines


def taste_ends(taste: Taste) -> tuple[float, float] | None:
    """How far a bar of a taste is full at least, and may be [-], 0 to 1; None: nothing is known of it."""

    def at(value: float) -> float:
        share = math.log10(max(value, 1.0)) / HOTTEST_LOG10 if taste.name == "hot" else value / FULL[taste.name]
        return min(share, 1.0)

    return (at(taste.value.low), at(taste.value.high)) if told(taste) else None


def taste_words(taste: Taste) -> str:
    """A taste in words: its range and unit, and of which foods it is not known."""
    if not told(taste):
        return "not known"
    unit = {"sweet": "g as sugar", "salt": "g of salt", "hot": "SHU", "sour": "g of acid"}[taste.name]
    words = f"{between(taste.value, 0 if taste.name == 'hot' else 1)} {unit}"
    if not taste.not_known:
        return words
    first, rest = taste.not_known[0], len(taste.not_known) - 1
    return f"{words}, and what {first}{f' and {rest} more' if rest else ''} may add"


def told(taste: Taste) -> bool:
    """Is anything known of it?"""
    return taste.value.known and (taste.value.high > 0.0 or not taste.not_known)


def between(value: Range, places: int) -> str:
    """A range of values, to so many places: ``3.1 to 4.2``, one number where both read alike."""

    def write(each: float) -> str:
        return f"{round_half_up(each, places):,.{places}f}"

    if not value.known:
        return f"at least {write(value.low)}"
    low, high = write(value.low), write(value.high)
    return low if low == high else f"{low} to {high}"


def label_cells(line: LabelLine) -> tuple[str, str, str, str]:
    """A line of a label: its name, the declared amount, of a day, as analysed; ``not known`` where that is so."""
    if line.declared is None:
        return line.name, "not known", "", ""
    unit = {"mcg": "µg"}.get(line.unit, line.unit)
    least = "at least " if line.at_least else ""
    places = 0 if line.unit in {"mg", "kcal"} and line.nutrient != "iron_mg" else 1
    day = "" if line.percent is None else f"{line.percent:.0f} %"
    return line.name, f"{least}{line.declared:g} {unit}", day, f"{between(line.value, places)} {unit}"
