"""How well what was told fits each cause: a wrap at one hour fits "too early" where colour takes three."""

from math import log, pi, sqrt
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.lessons.diagnosis.practice import (
    GLAZE_S,
    LIQUID_SHARE,
    SALT_G_PER_KG,
    SAUCED_EARLY_S,
    Right,
    usual_set_c,
)
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.lessons.diagnosis.run import Plates

FLOOR: Final = 0.02
"""Density that nothing falls below: people do odd things (common practice, no source)."""
READ_SD_K: Final = 4.0


def report_likelihood(cause: str, cut: Cut, report: Report, right: Right, plates: Plates) -> Floats:
    """Density of the told parts under a cause, shape (members,). Each spread: common practice, no source."""
    total = np.ones(plates.level.size)
    if report.on_s is not None:
        glaze = GLAZE_S if report.sauced_s is None else report.sauced_s
        usual_s = right.done_s + (glaze if any(s.do == "sauced" for s in cut.course) or report.sauced_s else 0.0)
        longer = np.log(report.on_s / usual_s)
        ends = {"off early": (log(0.45), log(0.88)), "off late": (log(1.14), log(1.9))}
        if report.sauced_s is None:  # who goes by feel or a thermometer sauces what is done, and leaves it on
            most = np.median(np.log((right.done_s + SAUCED_EARLY_S[1]) / usual_s))
            ends["sugar early"] = (log(0.95), float(most))
        total *= _fits(longer, 0.22, cause, ends)
        if report.pulled_at_c is not None:
            total *= _normal((plates.read_c - report.pulled_at_c) / READ_SD_K) / READ_SD_K + 0.002
    elif report.pulled_at_c is not None:
        hotter = report.pulled_at_c - right.core_c
        ends = {"off early": (-22.0, -5.0), "off late": (5.0, 15.0)}
        total *= _fits(hotter, 4.0, cause, ends, floor=0.002)
    if report.wrapped_after_s is not None:
        later = np.log(report.wrapped_after_s / right.colour_s)
        ends = {"wrapped early": (log(0.2), log(0.72)), "wrapped late": (log(1.3), log(2.5))}
        total *= _fits(later, 0.25, cause, ends)
    if report.wrap == "none" and any(stage.do == "wrapped" for stage in cut.course):
        total *= 0.5 if cause == "wrapped late" else 0.15
    if report.set_c is not None:
        hotter = np.full(total.size, report.set_c - usual_set_c(cut))
        total *= _fits(hotter, 11.0, cause, {"set high": (12.0, 70.0), "set low": (-50.0, -12.0)}, floor=0.001)
    if report.sauced_s:
        longer = np.full(total.size, log(report.sauced_s / GLAZE_S))
        total *= _fits(longer, 0.5, cause, {"sugar early": (log(2.2), log(12.0))})
    if report.liquid_kg is not None:
        share = max(report.liquid_kg / (report.mass_kg or cut.shape.mass_kg.value), 0.002)
        total *= _fits(np.full(total.size, log(share / LIQUID_SHARE)), 0.7, cause, {"wet wrap": (log(2.5), log(10.0))})
    if report.salt_g_per_kg is not None:
        more = np.full(total.size, log(max(report.salt_g_per_kg, 0.5) / SALT_G_PER_KG))
        total *= _fits(more, 0.3, cause, {"salt heavy": (log(1.5), log(3.5))})
    return total


def could_be(cause: str, cut: Cut, report: Report) -> float:
    """A factor on a cause's share [-]: 0 where what was told rules it out, or does not tell it from another.

    Who does not say what the pit was set to has a pit that was hot or cool, whichever way it became so; who says
    nothing of a thermometer took it off early, whatever misled him.
    """
    wrapping = any(stage.do == "wrapped" for stage in cut.course)
    if cause in {"wrapped early", "wet wrap"} and (report.wrap == "none" or (report.wrap is None and not wrapping)):
        return 0.0
    if cause == "wrapped late" and report.wrap is None and not wrapping:
        return 0.0
    if cause == "probe wrong":
        return 1.5 if report.thermometer == "one" or report.pulled_at_c is not None else 0.0
    if cause in {"set high", "set low"} and report.set_c is None:
        return 0.0
    if cause in {"pit hot", "pit cool"} and report.set_c is None:
        return 1.4
    if cause == "sugar early" and report.sauced_s == 0.0 and report.sugar == 0.0:
        return 0.0
    if cause == "thick" and report.thickness_m is not None:
        return 0.3
    return 1.0


def _normal(z: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * z * z) / sqrt(2.0 * pi))


def _fits(value: Floats, sd: float, cause: str, ends: dict[str, tuple[float, float]], floor: float = FLOOR) -> Floats:
    """Density of a told value: even between two ends for the causes that are about it, normal about 0 for the rest."""
    if cause in ends:
        low, high = ends[cause]
        soft = 0.25 * sd
        rise = 1.0 / (1.0 + np.exp(-(value - low) / soft))
        fall = 1.0 / (1.0 + np.exp((value - high) / soft))
        return np.asarray(rise * fall / (high - low) + floor)
    return _normal(value / sd) / sd + floor
