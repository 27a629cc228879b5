"""What 100 g of a mix have, as a nutrition declaration of the European Union (and the United Kingdom) says it.

Regulation (EU) 1169/2011 says which lines in which order (annex XV), energy by factors and salt by sodium (XIV and I).
A calculation from tables that are generally accepted is allowed (article 31(4)(c)); a value of which the tables tell
too little is not declared. Rounding and tolerances: the Commission's guidance of December 2012. All from memory but
the rounding, which was read as quoted elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pitreckon.catalog.foods import Food, Range
from pitreckon.flavour.weigh.batch import Batch
from pitreckon.units import round_half_up

KJ_PER_G: Final = {"fat_g": 37.0, "carb_g": 17.0, "protein_g": 17.0, "fiber_g": 8.0}
KCAL_PER_G: Final = {"fat_g": 9.0, "carb_g": 4.0, "protein_g": 4.0, "fiber_g": 2.0}
ALCOHOL: Final = (29.0, 7.0)
ACID: Final = (13.0, 3.0)
"""Annex XIV, [kJ/g] and [kcal/g]; carbohydrate without the fibre."""
LEAST_REST_G: Final = 1.0
"""What the tables leave of 100 g, below which it is their rounding."""
SALT_PER_SODIUM: Final = 2.5
"""Annex I, 11: grams of salt to a gram of sodium, whatever it comes from."""
_LINES: Final = (
    ("Fat", 0, "fat_g", "grams"),
    ("of which saturates", 1, "satfat_g", "saturates"),
    ("Carbohydrate", 0, "carb_g", "grams"),
    ("of which sugars", 1, "sugars_g", "grams"),
    ("Protein", 0, "protein_g", "grams"),
    ("Salt", 0, "salt_g", "salt"),
)
_ROUNDING: Final = {
    # not more than this is nothing; tenths (of salt: hundredths) below that, the next coarser step from there on
    "grams": (0.5, 10.0, 1),
    "saturates": (0.1, 10.0, 1),
    "salt": (0.0125, 1.0, 2),
}
_TOLERANCE: Final = {
    # what a value may be off by: so many grams below that, a share of it from there on, so many grams from there on
    "fat_g": (1.5, 10.0, 0.2, 40.0, 8.0),
    "satfat_g": (0.8, 4.0, 0.2, 1e9, 0.0),
    "salt_g": (0.375, 1.25, 0.2, 1e9, 0.0),
    "carb_g": (2.0, 10.0, 0.2, 40.0, 8.0),
    "sugars_g": (2.0, 10.0, 0.2, 40.0, 8.0),
    "protein_g": (2.0, 10.0, 0.2, 40.0, 8.0),
}


@dataclass(frozen=True, slots=True)
class DeclaredLine:
    """One line. depth: how far it is indented; words: the amount in 100 g as declared; "": too little is known

    value: [g] per 100 g, of energy [kJ]
    """

    name: str
    depth: int
    words: str
    value: Range


def declared_of(batch: Batch) -> tuple[DeclaredLine, ...]:
    """The lines of a mix, energy first."""
    of = _per_100g(batch)
    alcohol_g, acid_g = _alcohol_and_acid(batch)
    rest_kj, rest_kcal = (alcohol_g * a + acid_g * b for a, b in zip(ALCOHOL, ACID, strict=True))
    energy_kj, energy_kcal = _sum(of, KJ_PER_G, rest_kj), _sum(of, KCAL_PER_G, rest_kcal)
    known = all(_near_enough(name, of[name]) for name in ("fat_g", "carb_g", "protein_g"))
    words = f"{round_half_up(energy_kj.middle):.0f} kJ / {round_half_up(energy_kcal.middle):.0f} kcal" if known else ""
    lines = [DeclaredLine("Energy", 0, words, energy_kj)]
    for name, depth, nutrient, rule in _LINES:
        value = of[nutrient]
        told = declared_words(rule, value.middle) if _near_enough(nutrient, value) else ""
        lines.append(DeclaredLine(name, depth, told, value))
    return tuple(lines)


def declared_words(rule: str, grams: float) -> str:
    """Grams in 100 g as they are declared. rule: grams | saturates | salt

    Source: Guidance document on tolerances, European Commission, December 2012, table 4, read as quoted elsewhere.

    >>> declared_words("grams", 12.4), declared_words("grams", 7.26), declared_words("saturates", 0.14)
    ('12 g', '7.3 g', '0.1 g')
    >>> declared_words("grams", 0.5), declared_words("salt", 1.26), declared_words("salt", 0.254)
    ('<0.5 g', '1.3 g', '0.25 g')
    """
    nothing, coarse_from, places = _ROUNDING[rule]
    if grams <= nothing:
        return {"grams": "<0.5 g", "saturates": "<0.1 g", "salt": "<0.01 g"}[rule]
    return f"{round_half_up(grams, places - 1 if grams >= coarse_from else places):g} g"


def missing_of(lines: tuple[DeclaredLine, ...]) -> tuple[str, ...]:
    """Names of the lines of which too little is known."""
    return tuple(each.name for each in lines if not each.words)


def _per_100g(batch: Batch) -> dict[str, Range]:
    nutrients = batch.contents.nutrients
    share = 0.1 / batch.mass_kg
    of = {name: each.times(share) for name, each in nutrients.items()}
    carb, fiber = of["carb_g"], of["fiber_g"]
    of["carb_g"] = Range(max(0.0, carb.low - fiber.high), max(0.0, carb.high - fiber.low))
    of["salt_g"] = of["sodium_mg"].times(SALT_PER_SODIUM / 1000.0)
    return of


def _sum(of: Mapping[str, Range], factors: Mapping[str, float], rest: float) -> Range:
    parts = [of[name].times(factor) for name, factor in factors.items()]
    return Range(rest + sum(each.low for each in parts), rest + sum(each.high for each in parts))


def _alcohol_and_acid(batch: Batch) -> tuple[float, float]:
    """Grams in 100 g of the mix that are in no line of a declaration, and in its energy."""
    found = [(_rest_of(each.food), each.mass_kg / batch.mass_kg) for each in batch.portions]
    return sum(alcohol * share for (alcohol, _), share in found), sum(acid * share for (_, acid), share in found)


def _rest_of(food: Food) -> tuple[float, float]:
    """Alcohol and volatile acid in 100 g of a food [g]: what water, protein, fat, carbohydrate and ash leave of it.

    Tables give carbohydrate as what is left, less alcohol and vinegar's acid (USDA SR28's documentation, from memory).
    """
    parts = [food.per_100g[name] for name in ("water_g", "protein_g", "fat_g", "carb_g", "ash_g")]
    if not all(each.known and each.low == each.high for each in parts):
        return 0.0, 0.0  # a label leaves no such rest
    rest = 100.0 - sum(each.low for each in parts)
    if rest < LEAST_REST_G:
        return 0.0, 0.0
    acid = min(rest, food.acid.high) if food.acid.known else 0.0
    by_lines = sum(KCAL_PER_G[name] * food.per_100g[name].low for name in ("protein_g", "fat_g", "carb_g"))
    alcohol = rest - acid
    burns = food.per_100g["energy_kcal"].low - by_lines > 0.5 * ALCOHOL[1] * alcohol  # else it is water or resin
    return (alcohol if burns else 0.0), acid


def _near_enough(nutrient: str, value: Range) -> bool:
    """Is it known so well that its middle is within the tolerance of whatever it may be?"""
    if not value.known:
        return False
    grams, share_from, share, most_from, most = _TOLERANCE[nutrient]
    middle = value.middle
    allowed = grams if middle < share_from else share * middle if middle <= most_from else most
    return 0.5 * (value.high - value.low) <= allowed
