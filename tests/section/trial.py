"""Small pieces, members and stages that the tests of the section share."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from tests.oracles.readable import kernel as readable

from pitreckon.physics.vapour import boiling_point
from pitreckon.section import shapes
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.laws import WATER_CP_J_KGK
from pitreckon.section.members import Members
from pitreckon.section.simulate import Job, _Run
from pitreckon.section.trace import Trace

SEA_LEVEL_PA = 101325.0
READABLE = readable.run_members
ENGINES = (None, READABLE)
_COMPILED = pytest.param(None, marks=pytest.mark.kernel, id="compiled")
by_engine = pytest.mark.parametrize(
    "engine", [_COMPILED, pytest.param(READABLE, marks=pytest.mark.slow, id="readable")]
)

COARSE_M = 2e-3
"""A coarse first spacing and few cells: the readable kernel is slow."""

SMALL = {
    "slab": lambda f=1.0: shapes.slab(0.03 * f, n=11, spacing_m=COARSE_M * f),
    "ball": lambda f=1.0: shapes.ball(0.05 * f, n=8, spacing_m=COARSE_M * f),
    "block": lambda f=1.0: shapes.block(0.05 * f, 0.08 * f, nx=5, ny=5, spacing_m=COARSE_M * f),
    "drum": lambda f=1.0: shapes.drum(0.05 * f, 0.08 * f, nx=5, ny=5, spacing_m=COARSE_M * f),
    "rack": lambda f=1.0: shapes.rack(
        0.029 * f, 0.025 * f, 0.0075 * f, 0.005 * f, 0.009 * f, nx=3, ny=9, spacing_m=COARSE_M * f
    ),
    "bird": lambda f=1.0: shapes.bird(0.1 * f, 0.11 * f, 0.05 * f, nx=7, ny=4, spacing_m=COARSE_M * f),
}
"""Makers of small sections, ``f`` times as large as usual."""

PORK = {
    "scale": 1.0,
    "start_c": 5.0,
    "water": 3.7,
    "dry_density": 170.0,
    "dry_cp": 4600.0,
    "k_base": 0.25,
    "k_temp": 6e-4,
    "k_water": 0.05,
    "bone_k": 0.5,
    "bone_capacity": 2.56e6,
    "transport": 3e-7,
    "diffusion": 3e-10,
    "hold_shift": 0.0,
    "hold_drop": 0.465,
    "drip": 4.5e-6,
    "drink": 5e-7,
    "skin_r": 1200.0,
    "skin_e": 1.9,
    "skin_n": 4.0,
    "skin_b": 0.15,
    "gelatin_rate": 1.7e-4,
    "gelatin_ea_over_r": 1e4,
    "colour_rate": 1.1e-3,
    "colour_ea_over_r": 9.6e3,
    "colour_floor": 0.085,
    "tender_at": 0.8,
    "soft_at": 0.97,
    "dark_at": 4.0,
    "core_done_c": 96.0,
    "glaze_set_at": 0.25,
    "pressure_pa": SEA_LEVEL_PA,
    "boil_c": boiling_point(SEA_LEVEL_PA),
}

CONDUCTIVITY_W_MK, DIFFUSIVITY_M2_S = 0.48, 1.3e-7
_CAPACITY = CONDUCTIVITY_W_MK / DIFFUSIVITY_M2_S

INERT = PORK | {
    "water": 3.0,
    "dry_density": 250.0,
    "dry_cp": _CAPACITY / 250.0 - 3.0 * WATER_CP_J_KGK,
    "k_base": CONDUCTIVITY_W_MK,
    "k_temp": 0.0,
    "k_water": 0.0,
    "bone_k": CONDUCTIVITY_W_MK,
    "bone_capacity": _CAPACITY,
    "transport": 0.0,
    "diffusion": 0.0,
    "drip": 0.0,
    "drink": 0.0,
    "hold_drop": 0.0,
    "boil_c": 1e3,
}
"""A body whose water stays put: pure conduction with constant properties."""


def members(n: int = 1, base: dict = PORK, **over) -> Members:
    """Members with some parameters of their own."""
    return Members.of(n, base | over)


def every_face(name: str, value) -> dict:
    """A coefficient on all groups of faces."""
    return {f"{name}_{g}": value for g in range(shapes.GROUPS)}


def stage(convection=10.0, emissivity=0.9, vapour=None, **over) -> dict:
    """A bare piece in ordinary pit air, unless said otherwise."""
    vapour = 6e-3 * convection / 10.0 if vapour is None else vapour
    return (
        {"vapour_pa": 2400.0}
        | every_face("convection", convection)
        | every_face("emissivity", emissivity)
        | every_face("vapour", vapour)
        | over
    )


def course(n: int = 1, *stages: dict) -> Course:
    """Stages in order; an endless bare one if there are none."""
    return Course.of(n, stages or [stage(until=Until.NEVER)])


def steady(air_c, n: int = 1, **over) -> Drive:
    """Pit air that stays as it is."""
    return Drive(np.full((2, n), air_c, dtype=float), **over)


def watched(watch, section, members, drive, stages, *, horizon_s, **over) -> Trace:
    """A run of the readable kernel that shows every knot's time, state and fields to ``watch``."""
    run = _Run.of(Job(section, members, drive, stages, horizon_s, **over), single=False)
    run.work(partial(readable.run_members, watch=watch), 0, members.size)
    return run.trace()


def assert_same(one: Trace, other: Trace, *, up_to_s: float = np.inf) -> None:
    """To the last bit; only records and times up to some moment if so wanted."""
    rows = one.time_s <= up_to_s
    np.testing.assert_array_equal(one.values[rows], other.values[rows])
    for name in ("marks_s", "stage_end_s"):
        first, second = getattr(one, name), getattr(other, name)
        if np.isfinite(up_to_s):
            first, second = (np.where(times <= up_to_s, times, np.nan) for times in (first, second))
        np.testing.assert_array_equal(first, second)
    if not np.isfinite(up_to_s):
        np.testing.assert_array_equal(one.balance, other.balance)
        assert one.failed == other.failed


def cells_of(trace: Trace, section, members: Members):
    """Temperature [degC] and water [kg/kg] of every cell, as the run kept them."""
    heat, water = trace.snapshot.columns[: section.cells], trace.snapshot.columns[section.cells : 2 * section.cells]
    bone = section.bone[:, None]
    wet = members["dry_density"] * (members["dry_cp"] + WATER_CP_J_KGK * water)
    return heat / ((1.0 - bone) * wet + bone * members["bone_capacity"]), water
