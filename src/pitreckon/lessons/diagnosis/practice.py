"""What readers did, one way a member: the told parts as told, the others drawn as cooks do them, with one cause in it.

Every spread here is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats, Ints
from pitreckon.catalog import Cut
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.reckon.draws import hypercube, stream

SET_SD_K, KIND_SD_K = 8.0, 8.0
"""Spread of what pits are set to, and of what a pit of unknown kind does about it [K]."""
MASS_SD, THICK_SD = 0.08, 0.04
"""Relative spreads of size where the weight is not told, and of a thickness that is."""
CLOCK_SD, FEEL_SD, CORE_SD_K = 0.12, 0.06, 2.5
"""How far off cooks are by the clock (of its logarithm), by feel (of tenderness), by a thermometer [K]."""
GLAZE_S: Final = 900.0
SAUCED_EARLY_S: Final = (2400.0, 7200.0)
REST_S: Final = 900.0
SALT_G_PER_KG, SALT_SD = 9.0, 0.25
LIQUID_SHARE: Final = 0.02
"""Of the raw weight, put into a wrap where nothing is told and the cook wraps."""
UNKNOWNS: Final = ("set", "kind", "mass", "wrap", "end", "how", "salt", "size", "sugar", "liquid", "probe")


@dataclass(frozen=True, slots=True)
class Practice:
    """What each member's reader did and what was wrong, shape (members,) each.

    set_k: the set over the one that the run is built for; air_k: true air over what it read; wall_k: of what it faces
    scale: of the piece over the told or usual; wrapped: share of 1 or 0; open_level: colour at which it is wrapped
    open_s: or after so long [s], nan by colour; end_level: tenderness, or end_core_k over the usual core, that ends it
    end_s: or whole time on the pit [s], nan by feel; core_c: or a core temperature, nan: not; probe_k: what the
        thermometer reads too high; sauced_s: [s] with a glaze, nan until it is set; liquid: of the raw weight; sugar
    salt_g_per_kg; smoke: 1 where the fire smouldered; last_open_s: out of the wrap at the end [s]; rest_s
    """

    set_k: Floats
    air_k: Floats
    wall_k: Floats
    scale: Floats
    wrapped: Floats
    open_level: Floats
    open_s: Floats
    end_level: Floats
    end_core_k: Floats
    end_s: Floats
    core_c: Floats
    probe_k: Floats
    sauced_s: Floats
    liquid: Floats
    sugar: Floats
    salt_g_per_kg: Floats
    smoke: Floats
    last_open_s: Floats
    rest_s: Floats

    def take(self, index: Ints) -> Practice:
        """Some of the members."""
        return Practice(*(getattr(self, each.name)[index] for each in fields(self)))


@dataclass(frozen=True, slots=True)
class Right:
    """When a piece is right at this pit, if all is as told, shape (members,).

    colour_s, done_s: colour set, and done [s]; never: the longest there is; core_c: then [degC]
    """

    colour_s: Floats
    done_s: Floats
    core_c: Floats


def usual_set_c(cut: Cut) -> float:
    """What a pit is usually set to for a cut's animal [degC], as the animal's file says."""
    return catalog.animal(cut.animal).usual_set_c.value


def wraps(cut: Cut, report: Report) -> str | None:
    """The wrap that the run is built with; None: neither told nor usual."""
    if report.wrap == "none":
        return None
    return report.wrap or next((stage.wrap for stage in cut.course if stage.do == "wrapped"), None)


def usual_practice(cut: Cut, report: Report, n: int) -> Practice:
    """As it should be done: wrapped at colour, off when it is done, glazed until set."""
    one, none, nan = np.ones(n), np.zeros(n), np.full(n, np.nan)
    glazes = any(stage.do == "sauced" for stage in cut.course)
    told_sauce = report.sauced_s
    sauced = none if told_sauce == 0.0 or (told_sauce is None and not glazes) else nan
    return Practice(
        set_k=none,
        air_k=none,
        wall_k=none,
        scale=one,
        wrapped=one if wraps(cut, report) else none,
        open_level=one,
        open_s=nan,
        end_level=one,
        end_core_k=none,
        end_s=nan,
        core_c=nan,
        probe_k=none,
        sauced_s=sauced,
        liquid=none,
        sugar=one * (0.5 if report.sugar is None else report.sugar),
        salt_g_per_kg=one * SALT_G_PER_KG,
        smoke=none,
        last_open_s=none,
        rest_s=one * (REST_S if report.rest_s is None else report.rest_s),
    )


def practice_of(cause: str, cut: Cut, report: Report, right: Right, n: int, seed: int) -> Practice:
    """What readers of a report did under one cause; how strong it is differs from member to member."""
    rng = stream(seed, f"why {cause}")
    z = hypercube(rng, UNKNOWNS, n)
    how = np.arange(n) % 2 == 0 if report.thermometer != "none" else np.zeros(n, dtype=bool)
    u = (rng.permutation(n) + rng.random(n)) / n
    base = usual_practice(cut, report, n)

    def between(low: float, high: float) -> Floats:
        return np.asarray(low + (high - low) * u)

    set_k = np.zeros(n) if report.set_c is not None else SET_SD_K * z["set"]
    if report.set_c is None and cause in {"set high", "set low"}:
        set_k = between(18.0, 40.0) if cause == "set high" else between(-40.0, -14.0)
    air_k = np.zeros(n) if report.pit is not None else KIND_SD_K * z["kind"]
    air_k = air_k + {"pit hot": between(14.0, 36.0), "pit cool": between(-40.0, -14.0)}.get(cause, np.zeros(n))
    scale = np.exp((MASS_SD if report.mass_kg is None else 0.0) * z["mass"])
    if cause == "thick":
        scale = scale * (between(1.05, 1.15) if report.thickness_m is not None else between(1.15, 1.4))
    clock = np.exp(CLOCK_SD * z["end"])
    wrap_clock = np.exp(CLOCK_SD * z["wrap"])
    wrap_level = np.exp(2.0 * CLOCK_SD * z["wrap"])
    if cause == "wrapped early":
        wrap_clock, wrap_level = between(0.25, 0.65), between(0.12, 0.5)
    if cause == "wrapped late":
        wrap_clock, wrap_level = between(1.35, 2.2), between(1.8, 3.5)
    level, core_k = 1.0 + FEEL_SD * z["end"], CORE_SD_K * z["end"]
    if cause == "off early":
        clock, level, core_k = between(0.55, 0.82), between(0.5, 0.85), between(-18.0, -6.0)
    if cause == "off late":
        clock, level, core_k = between(1.2, 1.6), between(1.13, 1.22), between(5.0, 15.0)
    probe_k = between(4.0, 10.0) if cause == "probe wrong" else np.abs(1.0 * z["probe"])
    off_s = np.where(how, np.nan, np.median(right.done_s) * clock)
    if cause == "probe wrong":  # only who goes by a thermometer is misled by it
        off_s = np.full(n, np.nan)
    core_c = np.full(n, np.nan)
    if report.pulled_at_c is not None:
        core_c, off_s = np.full(n, report.pulled_at_c), np.full(n, np.nan)
    elif cause == "probe wrong":
        core_c = np.median(right.core_c) + core_k
    sauced = base.sauced_s if report.sauced_s is None else np.full(n, report.sauced_s)
    if cause == "sugar early" and report.sauced_s is None:
        sauced = between(*SAUCED_EARLY_S)
    glaze_s = np.where(np.isnan(sauced), GLAZE_S, sauced)
    whole_s = off_s + np.where(sauced > 0.0, np.minimum(glaze_s, GLAZE_S), np.where(np.isnan(sauced), GLAZE_S, 0.0))
    if report.on_s is not None:
        whole_s = np.full(n, report.on_s)
    open_s = np.where(how, np.nan, np.median(right.colour_s) * wrap_clock)
    if report.wrapped_after_s is not None:
        open_s = np.full(n, report.wrapped_after_s)
    wrapped = base.wrapped
    if cause == "wrapped late" and report.wrap is None and report.wrapped_after_s is None:
        wrapped = np.where(np.arange(n) % 4 < 2, 0.0, base.wrapped)
    liquid = np.maximum(LIQUID_SHARE * (1.0 + 0.5 * z["liquid"]), 0.0)
    if cause == "wet wrap":
        liquid = between(0.06, 0.18)
    if report.liquid_kg is not None:
        mass = report.mass_kg or cut.shape.mass_kg.value
        liquid = np.full(n, report.liquid_kg / mass)
    salt = SALT_G_PER_KG * np.exp(SALT_SD * z["salt"])
    if cause == "salt heavy":
        salt = SALT_G_PER_KG * between(1.6, 3.0)
    if report.salt_g_per_kg is not None:
        salt = np.full(n, report.salt_g_per_kg)
    sugar = base.sugar if report.sugar is not None else np.clip(0.5 + 0.25 * z["sugar"], 0.0, 1.0)
    if cause == "sugar early" and report.sugar is None:
        sugar = np.ones(n)
    return replace(
        base,
        set_k=set_k,
        air_k=air_k,
        wall_k=between(35.0, 80.0) if cause == "near fire" else np.zeros(n),
        scale=scale,
        wrapped=wrapped,
        open_level=wrap_level,
        open_s=open_s,
        end_level=level,
        end_core_k=core_k,
        end_s=whole_s,
        core_c=core_c,
        probe_k=probe_k,
        sauced_s=sauced,
        liquid=liquid * wrapped,
        sugar=sugar,
        salt_g_per_kg=salt,
        smoke=np.ones(n) if cause == "dirty smoke" else np.zeros(n),
    )
