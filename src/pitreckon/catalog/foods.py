"""Foods of the kitchen: composition and household weights of USDA SR28, with what the tables do not say beside them.

The cook's own foods and bought mixes are not here: they are in the mix file, by their label.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from statistics import median
from types import MappingProxyType
from typing import Final

from pitreckon.errors import InputError, Place

NUTRIENTS: Final = (
    *("water_g", "energy_kcal", "protein_g", "fat_g", "satfat_g", "carb_g", "fiber_g", "sugars_g", "ash_g"),
    *("sodium_mg", "potassium_mg", "calcium_mg", "iron_mg", "vitd_mcg", "cholesterol_mg"),
)
SUGAR_KINDS: Final = ("sucrose", "glucose", "fructose", "lactose", "maltose")
ANY_SUGAR: Final = ("sucrose", "glucose", "fructose")
"""What the sugars of a plant food may be where the table does not tell them apart (from memory)."""

_MEASURE: Final = re.compile(r"(?:serving 1 )?(tsp|teaspoon|tbsp|tablespoon|cup|fl oz)\b[ ,]*(.*)")
_SAME: Final = {"teaspoon": "tsp", "tablespoon": "tbsp"}
_ML: Final = {"tsp": 4.92892, "tbsp": 14.78676, "cup": 236.58824, "fl oz": 29.57353}


@dataclass(frozen=True, slots=True)
class Range:
    """What lies between two values, both known; ``high`` is infinite where nothing bounds it."""

    low: float
    high: float

    @classmethod
    def exact(cls, value: float) -> Range:
        """A value that is known."""
        return cls(value, value)

    @property
    def known(self) -> bool:
        """Is it bounded?"""
        return math.isfinite(self.high)

    @property
    def middle(self) -> float:
        """Halfway; the lower end where nothing bounds it above."""
        return 0.5 * (self.low + self.high) if self.known else self.low

    def __add__(self, other: Range) -> Range:
        return Range(self.low + other.low, self.high + other.high)

    def times(self, factor: float) -> Range:
        """Scaled by a factor of 0 or more; nothing of an unknown is nothing."""
        return Range(self.low * factor, self.high * factor) if factor > 0.0 else Range(0.0, 0.0)

    def times_range(self, other: Range) -> Range:
        """Product of two ranges, neither of them negative."""
        high = 0.0 if 0.0 in {self.high, other.high} else self.high * other.high
        return Range(self.low * other.low, high)


UNKNOWN: Final = Range(0.0, math.inf)


@dataclass(frozen=True, slots=True)
class Food:
    """One food.

    key, name, also: what cooks call it
    per_100g: each of ``NUTRIENTS``, in the unit of its name per 100 g; a value that is not known is a range
    sugars: grams of each kind of sugar per 100 g, as far as they are known apart
    kinds_of_sugar: what the rest of its sugars may be
    density_kg_m3: weight by the spoon; None: it cannot be measured so
    density_range: smallest and largest that its household weights give
    contains, may_contain: allergens, words of the allergens table
    added_g: its sugars that count as added, per 100 g
    shu: Scoville heat units by dry mass
    acid: its main acid per 100 g [g]
    source: of its composition; notes: what is to be known about it
    """

    key: str
    name: str
    also: tuple[str, ...]
    per_100g: Mapping[str, Range]
    sugars: Mapping[str, float]
    kinds_of_sugar: tuple[str, ...]
    density_kg_m3: float | None
    density_range: Range | None
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    added_g: Range
    shu: Range
    acid: Range
    source: str
    notes: tuple[str, ...] = field(default=())

    @property
    def dry(self) -> Range:
        """Share of dry mass [-]."""
        water = self.per_100g["water_g"]
        return Range(max(0.0, 1.0 - water.high / 100.0), 1.0 - water.low / 100.0)


def read_table(folder: str, name: str) -> list[dict[str, str]]:
    """Rows of a CSV file that comes with the package, without its lines of sources."""
    text = files(folder).joinpath("data").joinpath(name).read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@cache
def foods() -> Mapping[str, Food]:
    """Every food of the catalog by key, in the order of the file (read once).

    Raises InputError: the data files do not fit together.
    """
    composition = {row["ndb_no"]: row for row in read_table("pitreckon.catalog", "foods/sr28.csv")}
    weights = read_table("pitreckon.catalog", "foods/household.csv")
    found: dict[str, Food] = {}
    for row in read_table("pitreckon.catalog", "foods/foods.csv"):
        if row["ndb"] and row["ndb"] not in composition:
            raise InputError(
                f"food '{row['key']}' has no composition", "Add its row to sr28.csv", Place("foods.csv", None, "ndb")
            )
        found[row["key"]] = _food(row, composition.get(row["ndb"]), list(_densities(row, weights)))
    return MappingProxyType(found)


def bounded(values: Mapping[str, Range | None]) -> dict[str, Range]:
    """Every nutrient per 100 g, a blank within what its fellows allow.

    Fibre and sugars are parts of the carbohydrate, saturated fat of the fat; for the rest nothing is known.
    """
    got = {name: values.get(name) for name in NUTRIENTS}
    carb, fat, fibre = got["carb_g"] or Range(0.0, 100.0), got["fat_g"] or Range(0.0, 100.0), got["fiber_g"]
    parts = {
        "water_g": 100.0,
        "carb_g": 100.0,
        "fat_g": 100.0,
        "protein_g": 100.0,
        "ash_g": 100.0,
        "fiber_g": carb.high,
        "satfat_g": fat.high,
        "sugars_g": max(0.0, carb.high - (fibre.low if fibre else 0.0)),
        "energy_kcal": 902.0,  # pure fat, the highest of SR28 (lard, 04002)
    }
    return {name: each or Range(0.0, parts.get(name, math.inf)) for name, each in got.items()}


def _food(row: Mapping[str, str], values: Mapping[str, str] | None, densities: list[float]) -> Food:
    if values is None:
        per_100g = {name: Range.exact(100.0 if name == "water_g" else 0.0) for name in NUTRIENTS}
        sugars, source = {}, "computed: pure water"
    else:
        per_100g = bounded({name: Range.exact(float(values[name])) for name in NUTRIENTS if values[name]})
        sugars = {kind: float(values[f"{kind}_g"]) for kind in SUGAR_KINDS if values[f"{kind}_g"]}
        source = f"USDA SR28 NDB {row['ndb']}"
    density = 1000.0 * median(densities) if densities else None
    spread = Range(1000.0 * min(densities), 1000.0 * max(densities)) if densities else None
    return Food(
        key=row["key"],
        name=row["name"],
        also=_words(row["also"], ";"),
        per_100g=MappingProxyType(per_100g),
        sugars=MappingProxyType(sugars),
        kinds_of_sugar=_words(row["kinds_of_sugar"], " ") or ANY_SUGAR,
        density_kg_m3=density,
        density_range=spread,
        contains=_words(row["contains"], " "),
        may_contain=_words(row["may_contain"], " "),
        added_g=per_100g["sugars_g"] if row["added_sugars"] == "yes" else Range(0.0, 0.0),
        shu=Range(float(row["shu_low"]), float(row["shu_high"])),
        acid=Range(float(row["acid_low"]), float(row["acid_high"])) if row["acid_low"] else UNKNOWN,
        source=source,
        notes=tuple(text for text in (row["note"], row["g_per_ml_source"]) if text),
    )


def _densities(row: Mapping[str, str], weights: list[dict[str, str]]) -> Iterator[float]:
    """Grams per millilitre by each of its household weights; its own where it has one."""
    if row["g_per_ml"]:
        yield float(row["g_per_ml"])
        return
    for each in weights:
        measure = _MEASURE.fullmatch(each["measure"])
        if each["ndb_no"] == row["ndb"] and measure and measure[2] in {row["measure"], ""}:
            size = _ML[_SAME.get(measure[1], measure[1])]
            yield float(each["grams"]) / (float(each["amount"]) * size)


def _words(text: str, mark: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(mark) if word.strip())
