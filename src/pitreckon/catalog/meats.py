"""Cooked meats for the label of a plate: composition, refuse and cooking yield, from the tables of USDA."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from pitreckon.catalog.foods import NUTRIENTS, Range, bounded, read_table

FAT_KCAL_G: Final = 9.02
"""Energy of pork fat: USDA SR28 NDB 04002, lard, 902 kcal/100 g."""
_YIELDS: Final = {
    "usda": "USDA cooking yields, release 2 (2014)",
    "derived": "computed: from SR28 raw and cooked, protein conserved",
    "computed": "computed: what a raw piece loses, from memory",
}


@dataclass(frozen=True, slots=True)
class Meat:
    """One meat, cooked.

    per_100g: of the cooked edible part, as ``Food.per_100g``
    refuse: [-] bone and the like of the cooked piece; raw_refuse: of the raw one
    yield_share: [-] cooked weight over raw weight, bone in; None: only ``edible_yield`` is known
    edible_yield: [-] cooked edible part over raw edible part; None: only ``yield_share`` is known
    source: of the composition; yield_source: of the yield
    contains, may_contain: allergens, words of the allergens table
    """

    key: str
    name: str
    also: tuple[str, ...]
    per_100g: Mapping[str, Range]
    raw_refuse: float
    refuse: float
    yield_share: float | None
    edible_yield: float | None
    source: str
    yield_source: str
    contains: tuple[str, ...] = ()
    may_contain: tuple[str, ...] = ()

    def edible_share(self, yield_share: float | None = None) -> float:
        """Cooked edible part over the raw weight as bought [-]; ``yield_share``: the cook's own, bone in."""
        if yield_share is None and self.edible_yield is not None:
            return (1.0 - self.raw_refuse) * self.edible_yield
        whole = self.yield_share if yield_share is None else yield_share
        return (whole or 0.0) * (1.0 - self.refuse)


@cache
def meats() -> Mapping[str, Meat]:
    """Every meat by key, in the order of the file (read once)."""
    table = {row["ndb_no"]: row for row in read_table("pitreckon.catalog", "foods/meats.csv")}
    usda = {row["ndb_cooked"]: row for row in read_table("pitreckon.catalog", "foods/yields.csv")}
    derived = {row["ndb_cooked"]: row for row in read_table("pitreckon.catalog", "foods/yields_derived.csv")}
    lost = {row["raw"]: row for row in read_table("pitreckon.catalog", "foods/meats_computed.csv")}
    found = {}
    for row in read_table("pitreckon.catalog", "foods/meats_named.csv"):
        raw = table[row["raw"]]
        by_usda, by_sum = row["yields"] == "usda", row["yields"] == "computed"
        share = float(usda[row["cooked"].lstrip("0")]["yield_pct"]) / 100.0 if by_usda else None
        cooked: Mapping[str, str]
        edible: float | None
        if by_sum:
            cooked, edible = _cooked(raw, lost[row["raw"]])
        else:
            cooked = table[row["cooked"]]
            edible = None if by_usda else float(derived[row["cooked"]]["edible_yield_pct"]) / 100.0
        boned = row["boned"] == "yes"
        values = {name: Range.exact(float(cooked[name])) for name in NUTRIENTS if cooked[name]}
        found[row["key"]] = Meat(
            key=row["key"],
            name=row["name"],
            also=tuple(text for text in row["also"].split(";") if text),
            per_100g=MappingProxyType(bounded(values)),
            raw_refuse=0.0 if boned else _raw_refuse(raw, cooked, edible),
            refuse=0.0 if boned else _refuse(cooked),
            yield_share=share,
            edible_yield=edible,
            source=f"computed from USDA SR28 NDB {row['raw']}, raw" if by_sum else f"USDA SR28 NDB {row['cooked']}",
            yield_source=_YIELDS[row["yields"]],
            contains=tuple(row["contains"].split()),
            may_contain=tuple(row["may_contain"].split()),
        )
    return MappingProxyType(found)


def _raw_refuse(raw: Mapping[str, str], cooked: Mapping[str, str], edible_yield: float | None) -> float:
    """Refuse of the raw piece; where the table has 0 for a piece with bones (raw thigh), from the cooked one."""
    refuse, left = _refuse(raw), _refuse(cooked)
    if refuse > 0.0 or left <= 0.05 or edible_yield is None:
        return refuse
    bone = left * edible_yield / (1.0 - left)  # per raw edible part: a bone weighs the same before and after
    return bone / (1.0 + bone)


def _refuse(row: Mapping[str, str]) -> float:
    """Refuse of a row [-]; none where nothing is printed, as for fillets."""
    return float(row["refuse_pct"] or 0.0) / 100.0


def _cooked(raw: Mapping[str, str], lost: Mapping[str, str]) -> tuple[dict[str, str], float]:
    """Cooked row and edible yield [-] of a raw row that loses so much water and fat and nothing else.

    What is in the fat goes with it: its energy, its saturated part; cholesterol and minerals stay.
    """
    water, fat = float(lost["water_lost_g"]), float(lost["fat_lost_g"])
    edible = 1.0 - (water + fat) / 100.0
    kept = {name: float(raw[name]) for name in NUTRIENTS if raw[name]}
    share = 1.0 - fat / kept["fat_g"]
    left = {**kept, "water_g": kept["water_g"] - water, "fat_g": kept["fat_g"] - fat}
    left["satfat_g"] = kept["satfat_g"] * share
    left["energy_kcal"] = kept["energy_kcal"] - FAT_KCAL_G * fat
    blank = dict.fromkeys(("refuse_pct", *NUTRIENTS), "")
    return {**blank, **{name: f"{value / edible:.4f}" for name, value in left.items()}}, edible
