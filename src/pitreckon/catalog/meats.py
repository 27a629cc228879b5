"""Cooked meats for the label of a plate: composition, refuse and cooking yield, from the tables of USDA."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from pitreckon.catalog.foods import NUTRIENTS, Range, bounded, read_table


@dataclass(frozen=True, slots=True)
class Meat:
    """One meat, cooked.

    per_100g: of the cooked edible part, as ``Food.per_100g``
    refuse: [-] bone and the like of the cooked piece; raw_refuse: of the raw one
    yield_share: [-] cooked weight over raw weight, bone in; None: only ``edible_yield`` is known
    edible_yield: [-] cooked edible part over raw edible part; None: only ``yield_share`` is known
    source: of the composition; yield_source: of the yield
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
    found = {}
    for row in read_table("pitreckon.catalog", "foods/meats_named.csv"):
        raw, cooked = table[row["raw"]], table[row["cooked"]]
        by_usda = row["yields"] == "usda"
        number = _number(row["cooked"])
        share = float(usda[number]["yield_pct"]) / 100.0 if by_usda else None
        edible = None if by_usda else float(derived[row["cooked"]]["edible_yield_pct"]) / 100.0
        values = {name: Range.exact(float(cooked[name])) for name in NUTRIENTS if cooked[name]}
        found[row["key"]] = Meat(
            key=row["key"],
            name=row["name"],
            also=tuple(text for text in row["also"].split(";") if text),
            per_100g=MappingProxyType(bounded(values)),
            raw_refuse=_raw_refuse(raw, cooked, edible),
            refuse=float(cooked["refuse_pct"]) / 100.0,
            yield_share=share,
            edible_yield=edible,
            source=f"USDA SR28 NDB {row['cooked']}",
            yield_source="USDA cooking yields, release 2 (2014)"
            if by_usda
            else "computed: from SR28 raw and cooked, protein conserved",
        )
    return MappingProxyType(found)


def _raw_refuse(raw: Mapping[str, str], cooked: Mapping[str, str], edible_yield: float | None) -> float:
    """Refuse of the raw piece; where the table has 0 for a piece with bones (raw thigh), from the cooked one."""
    refuse, left = float(raw["refuse_pct"]) / 100.0, float(cooked["refuse_pct"]) / 100.0
    if refuse > 0.0 or left <= 0.05 or edible_yield is None:
        return refuse
    bone = left * edible_yield / (1.0 - left)  # per raw edible part: a bone weighs the same before and after
    return bone / (1.0 + bone)


def _number(ndb: str) -> str:
    return ndb.lstrip("0")
