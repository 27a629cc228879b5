"""Observed order of convergence: in space against exact solutions, in time against a matrix exponential."""

from __future__ import annotations

import exact
import numpy as np
import pytest
import trial
from scipy.linalg import expm

from pitreckon.section import shapes
from pitreckon.section.simulate import simulate

HALF, WIDE, BIOT, FOURIER = 0.03, 0.04, 2.0, 0.3
SIZES = {"slab": (9, 17, 33, 65), "ball": (9, 17, 33, 65), "block": (11, 21, 41), "drum": (11, 21, 41)}
GRADING = 0.4
"""First spacing over the even one: the same stretching at every refinement."""


def piece(shape, n):
    """A section of ``n`` nodes each way, and its mean spacing over the half thickness."""
    across = (2.0 if shape == "slab" else 1.0) / (n - 1)
    spacing = GRADING * across * HALF
    if shape == "slab":
        return shapes.slab(2 * HALF, n=n, spacing_m=spacing), across
    if shape == "ball":
        return shapes.ball(2 * HALF, n=n, spacing_m=spacing), across
    make = shapes.block if shape == "block" else shapes.drum
    return make(2 * HALF, 2 * WIDE, nx=n, ny=n, spacing_m=spacing), across


def exact_at(shape, section, cell):
    i, j = divmod(int(cell), section.ny)
    x, y = float(section.x_m[i]), float(section.y_m[j])
    if shape == "slab":
        return exact.theta("slab", BIOT, FOURIER, (y - HALF) / HALF)
    if shape == "ball":
        return exact.theta("sphere", BIOT, FOURIER, y / HALF)
    return exact.product(
        "slab" if shape == "block" else "cylinder",
        "slab",
        half_m=(WIDE, HALF),
        h_over_k=BIOT / HALF,
        diffused_m2=FOURIER * HALF**2,
        place_m=(x, y),
    )


def order(sizes, faults):
    """Slope of log fault over log size by least squares."""
    return float(np.polyfit(np.log(sizes), np.log(faults), 1)[0])


def space_order(shape, engine, sizes, substeps=32):
    sizes_faults = []
    horizon = FOURIER * HALF**2 / trial.DIFFUSIVITY_M2_S
    for n in sizes:
        section, across = piece(shape, n)
        trace = simulate(
            section,
            trial.members(1, trial.INERT, start_c=1.0),
            trial.steady(0.0, knot_s=horizon / 20),
            trial.course(
                1,
                trial.stage(convection=BIOT * trial.CONDUCTIVITY_W_MK / HALF, emissivity=0.0, vapour=0.0),
            ),
            horizon_s=horizon,
            record_every=20,
            substeps=substeps,
            engine=engine,
            precision="double",
        )
        got = [trace[name][-1, 0] for name in ("core_c", "place1_c", "place2_c")]
        true = [exact_at(shape, section, c) for c in section.places[:3]]
        sizes_faults.append((across, np.max(np.abs(np.array(got) - true))))
    return order(*np.array(sizes_faults).T)


@pytest.mark.kernel
@pytest.mark.parametrize("shape", SIZES)
def test_second_order_in_space(shape):
    assert space_order(shape, None, SIZES[shape]) == pytest.approx(2.0, abs=0.15)


@pytest.mark.slow
@pytest.mark.parametrize("shape", ["slab", "ball"])
def test_second_order_in_space_readable(shape):
    assert space_order(shape, trial.READABLE, SIZES[shape][:3], substeps=8) == pytest.approx(2.0, abs=0.15)


def ramp_solution(section, h, rise_per_s, seconds):
    """Temperatures of the same cells under a ramp of the air, by the exponential of their equations."""
    n = section.cells
    a = np.zeros((n + 2, n + 2))
    capacity = section.volume * trial.CONDUCTIVITY_W_MK / trial.DIFFUSIVITY_M2_S

    def link(p, q, g):
        for one, other in ((p, q), (q, p)):
            a[one, one] -= g * trial.CONDUCTIVITY_W_MK / capacity[one]
            a[one, other] += g * trial.CONDUCTIVITY_W_MK / capacity[one]

    for i in range(section.nx):
        for j in range(section.ny):
            if j + 1 < section.ny:
                link(i * section.ny + j, i * section.ny + j + 1, section.gy[i, j])
            if i + 1 < section.nx:
                link(i * section.ny + j, (i + 1) * section.ny + j, section.gx[i, j])
    for cell, area in zip(section.outer_cell, section.outer_area, strict=True):
        a[cell, cell] -= h * area / capacity[cell]
        a[cell, n] += h * area / capacity[cell]
    a[n, n + 1] = rise_per_s  # the air, driven by a constant 1
    start = np.zeros(n + 2)
    start[n + 1] = 1.0
    return (expm(a * seconds) @ start)[:n]


RAMPED = {"slab": shapes.slab(0.06, n=21), "block": shapes.block(0.06, 0.08, nx=6, ny=6)}
PARTS = np.array([8, 16, 32, 64])


def time_faults(shape, engine, parts=PARTS):
    """Against the exact solution of the same cells: a ramp from equilibrium is smooth, and its rise of under 1 K leaves
    the step control asleep.
    """
    section, knots, knot = RAMPED[shape], 6, 600.0
    true = ramp_solution(section, 20.0, 1.0 / (knots * knot), knots * knot)
    faults = []
    for substeps in parts:
        trace = simulate(
            section,
            trial.members(1, trial.INERT, start_c=0.0),
            trial.Drive(np.linspace(0.0, 1.0, knots + 1)[:, None], knot_s=knot),
            trial.course(1, trial.stage(convection=20.0, emissivity=0.0, vapour=0.0)),
            horizon_s=knots * knot,
            record_every=knots,
            substeps=int(substeps),
            engine=engine,
            precision="double",
        )
        places = zip(("core_c", "place1_c", "place2_c"), section.places, strict=False)
        faults.append(max(abs(trace[name][-1, 0] - true[cell]) for name, cell in places))
    return faults


@trial.by_engine
@pytest.mark.parametrize("shape", RAMPED)
def test_second_order_in_time(shape, engine):
    """At least: the constant of the third order is small (0.6**2 - 0.6 + 1/6 = -0.07), the next one is not."""
    faults = time_faults(shape, engine)
    assert 1.9 < order(1.0 / PARTS, faults) < 2.7
    assert faults[0] < 3e-5


@pytest.mark.kernel
@pytest.mark.parametrize("shape", ["slab", "block", "rack"])
def test_second_order_in_time_with_all_the_physics(shape):
    """Water, evaporation, drip and a dry rim; against far finer steps of the same kernel.

    Steps of some seconds: at longer ones the drying rim, whose own time is shorter, costs part of the order.
    """
    parts = np.array([32, 64, 128, 2048])

    def cooked(substeps):
        trace = simulate(
            trial.SMALL[shape](),
            trial.members(2, start_c=30.0, drip=[5e-7, 2e-6]),
            trial.steady(110.0, 2),
            trial.course(2),
            horizon_s=1200.0,
            record_every=10,
            substeps=int(substeps),
            precision="double",
        )
        return np.stack([trace["core_c"][-1], trace["surface_c"][-1], trace["mean_c"][-1]])

    *runs, finest = (cooked(substeps) for substeps in parts)
    faults = [np.abs(run - finest).max() for run in runs]
    assert order(1.0 / parts[:-1], faults) > 1.7
    assert faults[0] < 5e-3
