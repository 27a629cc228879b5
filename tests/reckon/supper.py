"""A small invented cook for the tests of ``reckon``: quick cuts, so that each test reckons in a second or two."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger import Act, Look, Reading
from pitreckon.section import material
from pitreckon.section.course import Course, Drive
from pitreckon.section.course import Until as KernelUntil
from pitreckon.section.members import Members
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround

START = datetime(2026, 10, 10, 20, 0, tzinfo=UTC)
N = 32


def wings(**changes):
    plan = {
        "label": "wings",
        "cut": "chicken-wing",
        "pieces": 24,
        "mass_kg": 0.09,
        "pit": "drum",
        "put_on_utc": START,
        "stages": (StagePlan("open", Until("core", 85.0)), StagePlan("rest", Until("minutes", 300.0))),
    }
    return ItemPlan(**(plan | changes))


def racks(**changes):
    plan = {
        "label": "racks",
        "cut": "st-louis-ribs",
        "pieces": 2,
        "mass_kg": 1.2,
        "pit": "drum",
        "put_on_utc": START,
        "stages": (
            StagePlan("open", Until("colour")),
            StagePlan("wrapped", Until("tender"), wrap="foil"),
            StagePlan("sauced", Until("glaze")),
        ),
    }
    return ItemPlan(**(plan | changes))


def cook(*items, set_c=150.0, serve_h=3.0, **changes):
    plan = {
        "name": "test supper",
        "zone": "America/Chicago",
        "serve_utc": START + timedelta(hours=serve_h),
        "altitude_m": 0.0,
        "weather_air_c": 15.0,
        "weather_rh": 0.5,
        "pits": (PitPlan("drum", "upright-drum", set_c),),
        "items": items or (wings(),),
    }
    return Cook(**(plan | changes))


def at(minutes):
    return START + timedelta(minutes=minutes)


def put_on(label="wings", minutes=0.0):
    return Act(at(minutes), label, "put on")


def air(value_c, first, last, every=5):
    return [Reading(at(m), "pit air", "drum", None, value_c) for m in range(first, last + 1, every)]


def look(minutes, what, value, label="wings"):
    return Look(at(minutes), label, None, what, value)


def heated_s(cut, scale=1.0, core_c=75.0, air_c=130.0):
    """Time a bare piece takes to a core in steady air [s], every unknown at its middle."""
    section = material.section_of(cut)
    fields = surround(
        air_c=air_c,
        pressure_pa=101325.0,
        convection_w_m2k=convection(material.size_m(cut) * scale, 1.0, air_c, 101325.0),
        emissivity=0.9,
        open_fraction=cut.surface.open_fraction.value,
        mirrored=section.mirrored,
    )
    table = fields | {"vapour_pa": 2500.0, "until": float(KernelUntil.CORE), "value": core_c}
    trace = simulate(
        section,
        Members.of(1, material.parameters_of(cut, 101325.0) | {"scale": scale}),
        Drive(np.full((2, 1), air_c)),
        Course.of(1, [table]),
        horizon_s=24 * 3600.0,
        mass=np.array([material.raw_mass_of(cut, section)]),
        threads=1,
    )
    return float(trace.stage_end_s[0, 0])
