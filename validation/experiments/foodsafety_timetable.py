"""The official roasting chart [foodsafety_timetable]_: minutes a pound in ovens of known heat.

Compared: bone-in rib roast, 4-6 lb at 163 degC, 23-25 min/lb to 63 degC; round, 2.5-4 lb at 163 degC, 30-35 min/lb to
63 degC; pork loin, 2-5 lb at 177 degC, 20 min/lb to 63 degC. Ranges: 20 % past the chart's own ends.
Assumed: the middle mass of each; a kitchen oven without fan; the ribs and the round as blocks of usual proportions,
loin as the catalog's.
"""

from __future__ import annotations

from pitreckon import catalog
from pitreckon.catalog import Cut
from validation.check import Check, Group
from validation.lab import block, cook, core, lean_beef, oven, variant

POUND_KG = 0.45359237
WHY = (
    "the chart leaves nearly no room for evaporation: with none at all the ribs take 29.6 and the loin 22 min/lb in "
    "the assumed oven, while such roasts are known to lose about a quarter of their mass; its oven may have been hotter"
)


def minutes_a_pound(cut: Cut, air_c: float, pounds: float) -> float:
    """To 63 degC at the core [min/lb]."""
    return cook(cut, oven(air_c), core(63.0), mass_kg=pounds * POUND_KG).end_s() / 60.0 / pounds


def ribs() -> float:
    """Bone-in rib roast."""
    return minutes_a_pound(
        variant("brisket-flat", block(0.11, 0.13, 0.15), open_fraction=0.6, bone_fraction=0.15), 163.0, 5.0
    )


def round_roast() -> float:
    """Round or rump."""
    return minutes_a_pound(lean_beef(block(0.08, 0.10, 0.176)), 163.0, 3.25)


def loin() -> float:
    """Pork loin."""
    return minutes_a_pound(catalog.cut("pork-loin"), 177.0, 3.5)


GROUP = Group(
    "The official roasting chart",
    "foodsafety_timetable",
    "test",
    (
        Check("ribs", "bone-in rib roast, 5 lb at 163 °C", "min/lb", 18.4, 30.0, ribs, WHY),
        Check("round", "round, 3.25 lb at 163 °C", "min/lb", 24.0, 42.0, round_roast, WHY),
        Check("loin", "pork loin, 3.5 lb at 177 °C", "min/lb", 16.0, 24.0, loin, WHY),
    ),
)
