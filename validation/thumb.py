"""Two rules of thumb that every fit of the constants has leant on, in the catalog's pellet cooker at sea level.

Common practice, no source: St. Louis racks at 275 degF, set colour, then foil until a probe slides in, then a glaze; an
8 lb bone-in butt at 250 degF, bare, to 200 degF. Once they were all that there was to fit on; now their cooks are among
those of the table of practice, on which ``make calibrate`` fits the constants together. Two numbers are still set by
hand on these racks, as nothing else is told of them: the glaze coat ``GLAZE_KG_M2`` (10-15 min to set) and
``bone_show`` (1/4 in of bone at each end), which shortens the meat that is drawn and acts on nothing.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Rack
from pitreckon.reckon.around import GLAZE_KG_M2, GLAZE_SUGAR, GLAZE_WATER
from pitreckon.section.constants import constant
from pitreckon.section.course import Until
from validation.check import PRACTICE, Check, Group, at_least, at_most
from validation.lab import COLOUR, Cooked, Stage, cook, core, from_f, pit, tender, to_f

BONE_SHOWS_M = 6.35e-3
"""1/4 in at one end."""

BUTT_KG = 8 * 0.45359237
WITHIN = 0.03
"""``bone_show`` as written down agrees with what shows 1/4 in within this."""

GLAZE = Stage(
    Until.GLAZE,
    more={
        "glaze_water": GLAZE_KG_M2 * GLAZE_WATER,
        "glaze_solid": GLAZE_KG_M2 * (1.0 - GLAZE_WATER),
        "sugar": GLAZE_SUGAR,
        "longest_s": 3600.0,
    },
)


@cache
def racks() -> Cooked:
    """The racks."""
    foil = catalog.wrap("foil")
    return cook(catalog.cut("st-louis-ribs"), pit(275.0), COLOUR, tender(foil), GLAZE, hours=9.0)


@cache
def butt() -> Cooked:
    """The butt."""
    return cook(catalog.cut("boston-butt"), pit(250.0), core(from_f(200.0)), hours=20.0, mass_kg=BUTT_KG)


def bone_show() -> float:
    """The constant that shows 1/4 in of bone at each end of the racks when they are done."""
    shape = racks().cut.shape
    assert isinstance(shape, Rack)
    return BONE_SHOWS_M / (0.5 * shape.width_m.value * racks().water_loss(racks().end_s(2)))


def butt_rate(low_f: float, high_f: float) -> float:
    """Mean heating rate of the butt's core between two temperatures [degF/h]."""
    core_f = _butt_core_f()
    low, high = (float(np.interp(f, core_f, np.arange(core_f.size))) for f in (low_f, high_f))
    return 60.0 * (high_f - low_f) / (high - low)


def _butt_core_f() -> NDArray[np.float64]:
    core_f = 1.8 * butt().trace["core_c"][:, 0] + 32.0
    return np.asarray(core_f[np.isfinite(core_f)])


def _half_hours() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Core temperature [degF] and heating rate [degF/h] over the half hour about each minute."""
    core_f = _butt_core_f()
    rate = 2.0 * (core_f[30:] - core_f[:-30])
    return core_f[15 : 15 + rate.size], rate


def slowest() -> float:
    """Lowest heating rate over half an hour in 150-175 degF [degF/h]."""
    at_f, rate = _half_hours()
    return float(rate[(at_f > 150.0) & (at_f < 175.0)].min())


def slowed_at() -> float:
    """Core temperature at which heating has first slowed to half its rate from 120 to 140 degF [degF]."""
    at_f, rate = _half_hours()
    return float(at_f[(at_f > 130.0) & (rate < 0.5 * butt_rate(120.0, 140.0))][0])


def _bone_mm() -> float:
    shape = racks().cut.shape
    assert isinstance(shape, Rack)
    return 500.0 * shape.width_m.value * constant("bone_show") * racks().water_loss(racks().end_s(2))


BOILS = "tight foil boils: no leak that hurries a butt holds racks at 203-208 °F at 275 °F, so they are done the sooner"

RACKS = Group(
    "St. Louis racks at 275 °F",
    PRACTICE,
    "fit",
    (
        Check("colour", "colour set", "h", 2.0, 2.5, lambda: racks().mark_h("colour_set")),
        Check("foil", "then in foil until tender", "h", 1.5, 2.0, lambda: racks().end_h(1) - racks().end_h(0), BOILS),
        Check(
            "core",
            "between the bones when tender",
            "°F",
            203.0,
            208.0,
            lambda: to_f(racks().at("core_c", racks().end_s(1))),
            BOILS,
        ),
        Check("bone", "bone shows at each end", "mm", 5.0, 8.0, _bone_mm),
        Check(
            "glaze",
            "then until the glaze is set",
            "min",
            10.0,
            15.0,
            lambda: 60.0 * (racks().end_h(2) - racks().end_h(1)),
        ),
        Check("all", "in all", "h", 4.0, 4.5, lambda: racks().end_h(2), BOILS),
    ),
)

BUTT = Group(
    "8 lb butt at 250 °F, bare",
    PRACTICE,
    "fit",
    (
        Check("time", "core at 200 °F", "h", 9.0, 12.0, lambda: butt().end_h(0)),
        Check("loss", "lost by then", "%", 30.0, 45.0, lambda: 100.0 * butt().loss(butt().end_s(0))),
        at_most(
            "stall",
            "slowest half hour in 150-175 °F over the rate at 120-140 °F",
            "-",
            0.5,
            lambda: slowest() / butt_rate(120.0, 140.0),
        ),
        Check("stall_at", "core when heating has slowed to half", "°F", 150.0, 175.0, slowed_at),
        at_least(
            "stall_ends",
            "rate at 175-190 °F over the slowest in the stall",
            "-",
            1.2,
            lambda: butt_rate(175.0, 190.0) / slowest(),
            "its free juice comes to an end late, so it is fastest again past 190 °F: practice's own check of the "
            "second rise (`butt.again`), which looks at every later hour up to 195 °F, is met",
        ),
    ),
)

GROUPS = (RACKS, BUTT)
