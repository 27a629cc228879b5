"""The cooks that everything here is timed on: a rack, a drum and a block of the catalog, members spread, air wandering.

A case has a bare stage, one in foil with liquid, one with a glaze, and a rest off the pit. Stages end by the clock, so
that a method's errors do not move them. Pit air wanders about its set point like a controller's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.section import material
from pitreckon.section.course import COLUMN, Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import Job
from pitreckon.section.surroundings import convection, surround

SEA_LEVEL_PA = 101325.0
AIR_SPEED_M_S, EMISSIVITY, VAPOUR_PA = 1.0, 0.9, 2400.0
MINUTE_S = 60.0
NOISE_SD_K, NOISE_KEPT = 4.0, 0.9
"""The air's wandering: spread, and what of it is left a knot later."""

SPREAD = {
    "transport": 0.3,
    "diffusion": 0.4,
    "drip": 0.3,
    "skin_b": 0.2,
    "scale": 0.08,
    "gelatin_rate": 0.15,
    "colour_rate": 0.15,
}
"""Log-normal spread of the members; the holding capacity's shift is spread by 2 K."""


@dataclass(frozen=True)
class Kind:
    """Which cook: cut, set point [degC], hours in all, and the hours at which foil, glaze and rest begin.

    A thick piece takes the air at every second minute, as the forecast does it.
    """

    cut: str
    air_c: float
    hours: float
    foil_h: float
    glaze_h: float
    rest_h: float
    liquid: float
    knot_s: float = 60.0


RACK = Kind("st-louis-ribs", 135.0, 6.0, 2.5, 4.5, 5.0, 0.02)
DRUM = Kind("boston-butt", 121.0, 14.0, 6.0, 10.5, 11.0, 0.01, 120.0)
BLOCK = Kind("brisket-flat", 121.0, 14.0, 6.0, 10.5, 11.0, 0.01, 120.0)
KINDS = {"rack": RACK, "drum": DRUM, "block": BLOCK}


def stages(kind: Kind, section: Section, open_fraction: float, size_m: float) -> list[dict[str, object]]:
    """The course of a case, around a piece of a size."""

    film = convection(size_m, AIR_SPEED_M_S, kind.air_c, SEA_LEVEL_PA)

    def stage(until_h: float | None, foil: bool = False, **more: float) -> dict[str, object]:
        around = surround(
            air_c=kind.air_c,
            pressure_pa=SEA_LEVEL_PA,
            convection_w_m2k=film,
            emissivity=EMISSIVITY,
            open_fraction=open_fraction,
            mirrored=section.mirrored,
            wrap=catalog.wraps()["foil"] if foil else None,
            glazed="glaze_solid" in more,
        )
        ends = {"until": Until.NEVER} if until_h is None else {"until": Until.CLOCK, "value": until_h * 3600.0}
        return around | {"vapour_pa": VAPOUR_PA} | ends | more

    return [
        stage(kind.foil_h, lid_dip_k=20.0),
        stage(kind.glaze_h, foil=True, lid_dip_k=30.0, holds_liquid=1.0, liquid=kind.liquid),
        stage(kind.rest_h, lid_dip_k=20.0, glaze_water=0.5, glaze_solid=1.3, sugar=1.0),
        stage(None, off_pit=1.0, air_c=60.0),
    ]


def members_of(parameters: dict[str, float], n: int, rng: np.random.Generator) -> Members:
    """Members spread about the middle one."""
    own: dict[str, object] = dict(parameters)
    for name, width in SPREAD.items():
        own[name] = parameters[name] * np.exp(width * rng.standard_normal(n))
    own["hold_shift"] = parameters["hold_shift"] + 2.0 * rng.standard_normal(n)
    return Members.of(n, own)


def wandering_air(air_c: float, knots: int, n: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Air at every minute, (minutes, n) [degC]: autoregressive about its set point."""
    noise = np.zeros((knots, n))
    fresh = NOISE_SD_K * np.sqrt(1.0 - NOISE_KEPT**2) * rng.standard_normal((knots, n))
    for k in range(1, knots):
        noise[k] = NOISE_KEPT * noise[k - 1] + fresh[k]
    return air_c + noise


def job(kind: Kind, n: int, *, finer: float = 1.0, hours: float | None = None, seed: int = 2) -> Job:
    """An ensemble of ``n`` members of a case; ``finer`` as ``section_of`` takes it.

    The same seed and number give the same members and air, however fine the cells.
    """
    cut = catalog.cut(kind.cut)
    section = material.section_of(cut, finer=finer)
    rng = np.random.default_rng(seed)
    members = members_of(material.parameters_of(cut, SEA_LEVEL_PA), n, rng)
    air_c = wandering_air(kind.air_c, round(kind.hours * 3600.0 / MINUTE_S) + 1, n, rng)
    every = round(kind.knot_s / MINUTE_S)
    return Job(
        section,
        members,
        Drive(np.ascontiguousarray(air_c[::every]), kind.knot_s),
        Course.of(n, stages(kind, section, cut.surface.open_fraction.value, material.size_m(cut))),
        (hours or kind.hours) * 3600.0,
        np.full(n, material.raw_mass_of(cut, section)),
    )


def record_s(job: Job) -> float:
    """Time between two records [s]."""
    return job.record_every * job.drive.knot_s


def part(whole: Job, index: NDArray[np.int64]) -> Job:
    """Some of a job's members."""
    return replace(
        whole,
        members=whole.members.take(index),
        drive=replace(whole.drive, air_c=np.ascontiguousarray(whole.drive.air_c[:, index])),
        course=whole.course.take(index),
        mass=None if whole.mass is None else whole.mass[index],
        start=None if whole.start is None else whole.start.take(index),
    )


def heat_only(whole: Job) -> Job:
    """The heat part of a job alone: water stays where it is and nothing evaporates, drips or is poured."""
    nothing = ["holds_liquid", "liquid", "glaze_water", "glaze_solid"]
    nothing += [name for name in COLUMN if name.startswith(("vapour_", "through_")) and name != "vapour_pa"]
    table = whole.course.table.copy()
    for name in nothing:
        table[:, COLUMN[name]] = 0.0
    members = whole.members.changed(transport=0.0, diffusion=0.0, drip=0.0, drink=0.0, hold_drop=0.0, boil_c=1e3)
    return replace(whole, members=members, course=Course(table, whole.course.names))
