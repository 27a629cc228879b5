"""Trade rules of thumb that the fit never saw (common practice, no source), in the pit of the fit.

Two of them are not quite untouched. Chicken thighs were once looked at before the law for covered surfaces
(``material.covered_surface_factor``) was chosen; wrapped cooks on a log burner were once looked at before the
permeance of paper was lowered, which bears on the brisket. Both stand as "consulted".
"""

from __future__ import annotations

from functools import cache

from pitreckon import catalog
from pitreckon.reckon.around import SUGAR_SPEED
from pitreckon.section.course import Until
from validation.check import PRACTICE, Check, Group, at_most
from validation.lab import FOREVER, Cooked, Stage, cook, core, from_f, minutes, pit, tender
from validation.thumb import GLAZE, racks

BRISKET_KG = 13 * 0.45359237
ENOUGH = 0.97
"""A ratio below this is a difference."""


@cache
def racks_225() -> Cooked:
    """Three hours bare, then in foil until tender, then a glaze."""
    foil = catalog.wrap("foil")
    return cook(catalog.cut("st-louis-ribs"), pit(225.0), minutes(180.0), tender(foil), GLAZE, hours=14.0)


@cache
def thin_rack() -> Cooked:
    """The rack of the fit a third thinner; wrapped when the thick one is, so that only the wrap differs."""
    return cook(
        catalog.cut("st-louis-ribs"),
        pit(275.0),
        minutes(60.0 * racks().end_h(0)),
        tender(catalog.wrap("foil")),
        thickness_factor=2.0 / 3.0,
    )


@cache
def colour_h(air_f: float = 275.0, sugar: float = 0.5) -> float:
    """Bare rack until its colour is set [h]; ``sugar`` of the rub from 0 none to 1 much."""
    open_smoke = Stage(Until.COLOUR, 1.0, more={"sugar": SUGAR_SPEED * (sugar - 0.5)})
    return cook(catalog.cut("st-louis-ribs"), pit(air_f), open_smoke, hours=12.0).mark_h("colour_set")


@cache
def dark_h(air_f: float = 275.0, sugar: float = 0.5) -> float:
    """Bare rack until it is too dark [h]."""
    smoke = Stage(Until.NEVER, more={"sugar": SUGAR_SPEED * (sugar - 0.5)})
    return cook(catalog.cut("st-louis-ribs"), pit(air_f), smoke, hours=12.0).mark_h("too_dark")


@cache
def brisket() -> Cooked:
    """13 lb at 250 degF, in paper from 165 degF until tender."""
    paper = catalog.wrap("paper")
    return cook(
        catalog.cut("brisket-whole"),
        pit(250.0),
        core(from_f(165.0)),
        tender(paper),
        hours=24.0,
        mass_kg=BRISKET_KG,
    )


def racks_225_colour() -> float:
    """Bare rack at 225 degF until its colour is set [h]."""
    return colour_h(225.0)


RACKS = Group(
    "St. Louis racks at 225 °F",
    PRACTICE,
    "test",
    (
        Check("colour", "colour set", "h", 2.5, 3.5, racks_225_colour),
        Check(
            "foil",
            "after 3 h bare, in foil until tender",
            "h",
            1.5,
            2.5,
            lambda: racks_225().end_h(1) - 3.0,
            "one activation energy carries the gelatin from 275 to 225 °F; practice may pull its racks less far done",
        ),
        Check(
            "glaze",
            "then bare again until the glaze is set",
            "h",
            0.5,
            1.0,
            lambda: racks_225().end_h(2) - racks_225().end_h(1),
            "practice gives the last stage to firm up the surface as well; ours ends when the glaze is set",
        ),
    ),
)


SIGNS = Group(
    "Signs for racks at 275 °F",
    PRACTICE,
    "test",
    (
        at_most(
            "thin",
            "rack a third thinner over usual: time in foil until tender",
            "-",
            ENOUGH,
            lambda: (thin_rack().end_h(1) - thin_rack().end_h(0)) / (racks().end_h(1) - racks().end_h(0)),
        ),
        at_most(
            "sugar",
            "much sugar over none: time until too dark",
            "-",
            ENOUGH,
            lambda: dark_h(sugar=1.0) / dark_h(sugar=0.0),
        ),
        at_most("hot", "300 °F over 250 °F: time until too dark", "-", ENOUGH, lambda: dark_h(300.0) / dark_h(250.0)),
    ),
)

BRISKET = Group(
    "13 lb whole brisket at 250 °F, paper at 165 °F",
    PRACTICE,
    "consulted",
    (
        Check(
            "time",
            "until tender",
            "h",
            10.0,
            14.0,
            lambda: brisket().end_h(1),
        ),
    ),
)

PLATE_RIBS = Group(
    "Plate short ribs at 275 °F",
    PRACTICE,
    "test",
    (
        Check(
            "time",
            "core at 203 °F",
            "h",
            5.0,
            7.0,
            lambda: cook(catalog.cut("beef-plate-ribs"), pit(275.0), core(from_f(203.0)), FOREVER, hours=12.0).end_h(0),
            "the section between two bones has no ends and its catalog thickness is from memory; beef's thick fat "
            "seams, which hold heat back and water in, are not drawn",
        ),
    ),
)

THIGHS = Group(
    "Chicken thighs at 300 °F",
    PRACTICE,
    "consulted",
    (
        Check(
            "time",
            "core at 175 °F",
            "min",
            50.0,
            80.0,
            lambda: 60.0 * cook(catalog.cut("chicken-thigh"), pit(300.0), core(from_f(175.0)), hours=4.0).end_h(0),
        ),
    ),
)

GROUPS = (RACKS, SIGNS, BRISKET, PLATE_RIBS, THIGHS)
