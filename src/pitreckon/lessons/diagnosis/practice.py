"""What readers did, one way a member: the told parts as told, the others drawn as cooks do them, with one cause in it.

Every spread here is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
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


DRAWN: Final[Mapping[str, Mapping[str, tuple[float, float]]]] = {
    "set high": {"set_k": (18.0, 40.0)},
    "set low": {"set_k": (-40.0, -14.0)},
    "pit hot": {"more_k": (14.0, 36.0)},
    "pit cool": {"more_k": (-40.0, -14.0)},
    "near fire": {"wall_k": (35.0, 80.0)},
    "thick": {"scale": (1.15, 1.4), "told scale": (1.05, 1.15)},
    "wrapped early": {"wrap clock": (0.25, 0.65), "wrap level": (0.12, 0.5)},
    "wrapped late": {"wrap clock": (1.35, 2.2), "wrap level": (1.8, 3.5)},
    "off early": {"clock": (0.55, 0.82), "level": (0.5, 0.85), "core_k": (-18.0, -6.0)},
    "off late": {"clock": (1.2, 1.6), "level": (1.13, 1.22), "core_k": (5.0, 15.0)},
    "probe wrong": {"probe_k": (4.0, 10.0)},
    "sugar early": {"sauced_s": SAUCED_EARLY_S, "sugar": (1.0, 1.0)},
    "wet wrap": {"liquid": (0.06, 0.18)},
    "dirty smoke": {"smoke": (1.0, 1.0)},
    "salt heavy": {"salt": (1.6, 3.0)},
}
"""What readers did under a cause in place of what cooks usually do, even between two ends; what was told stands."""


def practice_of(cause: str, cut: Cut, report: Report, right: Right, n: int, seed: int) -> Practice:
    """What readers of a report did under one cause; how strong it is differs from member to member."""
    rng = stream(seed, f"why {cause}")
    z = hypercube(rng, UNKNOWNS, n)
    how = np.arange(n) % 2 == 0 if report.thermometer != "none" else np.zeros(n, dtype=bool)
    u = (rng.permutation(n) + rng.random(n)) / n
    base = usual_practice(cut, report, n)
    none, nan = np.zeros(n), np.full(n, np.nan)

    def drawn(what: str, usual: Floats) -> Floats:
        ends = DRAWN.get(cause, {}).get(what)
        return usual if ends is None else np.asarray(ends[0] + (ends[1] - ends[0]) * u)

    def told(value: float | None, otherwise: Floats) -> Floats:
        return otherwise if value is None else np.full(n, value)

    misled = cause == "probe wrong"  # only who goes by a thermometer is misled by it
    core_k = drawn("core_k", CORE_SD_K * z["end"])
    off_s = np.where(how, np.nan, np.median(right.done_s) * drawn("clock", np.exp(CLOCK_SD * z["end"])))
    sauced = told(report.sauced_s, drawn("sauced_s", base.sauced_s))
    glaze_s = np.where(np.isnan(sauced), GLAZE_S, np.minimum(sauced, GLAZE_S))
    whole_s = (nan if misled or report.pulled_at_c is not None else off_s) + glaze_s
    wrap_clock = drawn("wrap clock", np.exp(CLOCK_SD * z["wrap"]))
    wrapped = base.wrapped
    if cause == "wrapped late" and report.wrap is None and report.wrapped_after_s is None:
        wrapped = np.where(np.arange(n) % 4 < 2, 0.0, base.wrapped)
    liquid_share = None if report.liquid_kg is None else report.liquid_kg / (report.mass_kg or cut.shape.mass_kg.value)
    liquid = told(liquid_share, drawn("liquid", np.maximum(LIQUID_SHARE * (1.0 + 0.5 * z["liquid"]), 0.0)))
    scale = np.exp((MASS_SD if report.mass_kg is None else 0.0) * z["mass"])
    return replace(
        base,
        set_k=none if report.set_c is not None else drawn("set_k", SET_SD_K * z["set"]),
        air_k=(none if report.pit is not None else KIND_SD_K * z["kind"]) + drawn("more_k", none),
        wall_k=drawn("wall_k", none),
        scale=scale * drawn("scale" if report.thickness_m is None else "told scale", np.ones(n)),
        wrapped=wrapped,
        open_level=drawn("wrap level", np.exp(2.0 * CLOCK_SD * z["wrap"])),
        open_s=told(report.wrapped_after_s, np.where(how, np.nan, np.median(right.colour_s) * wrap_clock)),
        end_level=drawn("level", 1.0 + FEEL_SD * z["end"]),
        end_core_k=core_k,
        end_s=told(report.on_s, whole_s),
        core_c=told(report.pulled_at_c, np.median(right.core_c) + core_k if misled else nan),
        probe_k=drawn("probe_k", np.abs(1.0 * z["probe"])),
        sauced_s=sauced,
        liquid=liquid * wrapped,
        sugar=base.sugar if report.sugar is not None else drawn("sugar", np.clip(0.5 + 0.25 * z["sugar"], 0.0, 1.0)),
        salt_g_per_kg=told(report.salt_g_per_kg, SALT_G_PER_KG * drawn("salt", np.exp(SALT_SD * z["salt"]))),
        smoke=drawn("smoke", none),
    )
