"""Real cuts of the catalog, bare and then in foil: what accuracy and precision are measured on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import trial

from pitreckon import catalog
from pitreckon.section import material
from pitreckon.section.course import Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.simulate import Job
from pitreckon.section.surroundings import surround

RIBS = ("st-louis-ribs", 135.0, 3.5, 70.0)
BUTT = ("boston-butt", 121.0, 5.0, 45.0)
"""Cut, pit [degC], hours, core temperature taken as done so that it comes within the hours [degC]."""


def with_neighbours(section):
    """The section with the core's neighbours where the kernel records its two other places."""
    core, ny = section.core, section.ny
    beside = [core - 1, core + 1] if section.shape in ("rack", "slab") else [core + ny, core + 1]
    return replace(section, places=np.array([core, *beside, section.places[-1]]))


def ensemble(key: str, n: int, *, seed: int = 2, **over) -> Members:
    """Members of a cut that differ as they would in a forecast."""
    parameters = dict(material.parameters_of(catalog.cut(key), trial.SEA_LEVEL_PA))
    rng = np.random.default_rng(seed)
    spread = {"transport": 0.3, "diffusion": 0.4, "drip": 0.3, "skin_b": 0.2, "scale": 0.08}
    for name, width in spread.items():
        parameters[name] = parameters[name] * np.exp(width * rng.standard_normal(n))
    parameters["colour_rate"] *= 4.0  # so that a colour sets within the hours
    return Members.of(n, parameters | over)


def cook(key: str, air_c: float, hours: float, core_done_c: float, *, n: int = 8, finer: float = 1.0, **over) -> Job:
    """A piece bare, then in foil, lid lifted at both, in air that swings."""
    cut = catalog.cut(key)
    section = with_neighbours(material.section_of(cut, finer=finer))
    foil = catalog.wraps()["foil"]

    def stage(wrap=None, **more):
        around = surround(
            air_c=air_c,
            pressure_pa=trial.SEA_LEVEL_PA,
            convection_w_m2k=10.0,
            emissivity=0.9,
            open_fraction=cut.surface.open_fraction.value,
            mirrored=section.mirrored,
            wrap=wrap,
        )
        return around | {"vapour_pa": 2400.0} | more

    knots = np.arange(round(60 * hours) + 1)
    air = np.repeat((air_c + 4.0 * np.sin(knots / 7.0))[:, None], n, axis=1)
    return Job(
        section,
        ensemble(key, n, core_done_c=core_done_c, tender_at=0.02),
        Drive(air),
        trial.course(
            n,
            stage(until=Until.CLOCK, value=60.0 * round(33 * hours), lid_dip_k=20.0),
            stage(foil, until=Until.NEVER, lid_dip_k=30.0),
        ),
        horizon_s=3600.0 * hours,
        mass=np.full(n, material.raw_mass_of(cut, section)),
        **over,
    )
