"""The scheme itself: steady, of second order whatever the line solves are, and what the kernel does."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from scipy.linalg import expm
from tests.oracles.readable.rates import Around, Piece, State
from tests.oracles.readable.step import attempt

from pitreckon.section import shapes
from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW
from pitreckon.section.multistage import STAGE_AT, STEADY, TEMPERATURE_FAULT_K
from pitreckon.section.tally import TALLIES

RATIOS = np.linspace(0.01, 4.0 * STEADY, 60)
"""Rate of a mode over the rate that the line solves take it for: from far over- to far underestimated."""


def step(f, s, y, dt):
    """One step as ``multistage`` words it; ``s`` is a number, many, or a matrix; ``f`` of time in the step, state."""
    to_middle, whole = STAGE_AT
    times = (lambda v: s @ v) if np.ndim(s) == 2 else (lambda v: s * v)
    k0 = times(f(to_middle * dt, y))
    k1 = k0 + times(f(to_middle * dt, y + to_middle * dt * k0) - k0)
    return y + whole * dt * k1


def kept_share(z, w):
    """What a step keeps of a mode of rate z / dt that the line solves take for w / dt."""
    return step(lambda _t, y: -z * y, 1.0 / (1.0 + STEADY * w), np.ones_like(z), 1.0)


@pytest.mark.parametrize("ratio", RATIOS)
def test_steady_at_any_length_of_step(ratio):
    z = np.geomspace(1e-4, 1e9, 400)
    assert np.abs(kept_share(z, z / ratio)).max() <= 1.0 + 1e-9


def test_beyond_that_ratio_it_is_not():
    """4 is the limit, not a careful guess: a tenth more and long steps grow."""
    z = np.array([1e9])
    assert np.abs(kept_share(z, z / (4.4 * STEADY))) > 1.5


def test_long_steps_keep_what_the_formula_says():
    z = np.array([1e12])
    for ratio in RATIOS:
        r = ratio / STEADY
        assert kept_share(z, z / ratio)[0] == pytest.approx(1.0 - 2.0 * r + 0.5 * r * r, abs=1e-9)


def test_a_mode_that_is_known_exactly_never_overshoots_far():
    """With an exact S a step keeps between -1 and 1 of every mode, and less than half of the fastest."""
    z = np.geomspace(1e-4, 1e12, 1000)
    kept = kept_share(z, z)
    assert np.abs(kept).max() < 1.0
    assert np.abs(kept[z > 1e3]).max() == pytest.approx(abs(1.0 - 2.0 / STEADY + 0.5 / STEADY**2), abs=0.01)


def order_of(faults, parts):
    return -np.polyfit(np.log(parts), np.log(faults), 1)[0]


@pytest.mark.parametrize("known", [0.0, 0.3, 1.0, 5.0])
def test_second_order_for_any_guess_of_the_rate(known):
    parts = np.array([64, 128, 256, 512])
    faults = []
    for n in parts:
        y = 1.0
        for _ in range(n):
            y = step(lambda _t, v: -2.0 * v, 1.0 / (1.0 + STEADY * known * 2.0 / n), y, 1.0 / n)
        faults.append(abs(y - np.exp(-2.0)))
    assert order_of(faults, parts) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("guess", ["split", "none", "wrong"])
def test_second_order_for_a_system_with_a_drive(guess):
    """y' = -(A + B) y + c t, against the exponential of its matrix; S from factors that do not commute."""
    rng = np.random.default_rng(4)
    a, b = (m @ m.T for m in rng.standard_normal((2, 4, 4)))
    c, start = rng.standard_normal((2, 4))
    whole = np.zeros((6, 6))  # the time and a constant 1 go along
    whole[:4, :4], whole[:4, 4], whole[4, 5] = -(a + b), c, 1.0
    true = (expm(whole) @ np.array([*start, 0.0, 1.0]))[:4]
    one, other = np.eye(4), rng.standard_normal((4, 4))
    parts = np.array([128, 256, 512, 1024])
    faults = []
    for n in parts:
        dt = 1.0 / n
        s = {
            "split": np.linalg.inv(one + STEADY * dt * b) @ np.linalg.inv(one + STEADY * dt * a),
            "none": one,
            "wrong": one + dt * other,
        }[guess]
        y = start
        for i in range(n):
            y = step(lambda t, v, start_s=i * dt: -(a + b) @ v + c * (start_s + t), s, y, dt)
        faults.append(np.abs(y - true).max())
    assert order_of(faults, parts) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("dt", [1.0, 15.0, 60.0, 1800.0])
def test_the_kernel_keeps_of_every_mode_what_the_theory_says(dt):
    """A slab that only conducts: its line solves are exact, so each eigenmode is kept by the scalar formula."""
    section = shapes.slab(0.04, n=9, spacing_m=1.5e-3)
    h, n = 20.0, section.cells
    conducts = np.zeros((n, n))
    for j in range(n - 1):
        g = section.gy[0, j] * trial.CONDUCTIVITY_W_MK
        conducts[j : j + 2, j : j + 2] += g * np.array([[1.0, -1.0], [-1.0, 1.0]])
    for cell, area in zip(section.outer_cell, section.outer_area, strict=True):
        conducts[cell, cell] += h * area
    holds = section.volume * trial.CONDUCTIVITY_W_MK / trial.DIFFUSIVITY_M2_S
    root = np.sqrt(holds)
    rates, modes = np.linalg.eigh(conducts / root[:, None] / root[None, :])
    modes = modes / root[:, None]  # temperatures; every column a mode, and a member

    members = trial.members(n, trial.INERT)
    p = {name: members.values[i] for name, i in ROW.items()}
    stages = trial.course(n, trial.stage(convection=h, emissivity=0.0, vapour=0.0))
    stage = {name: stages.table[0, i] for name, i in COLUMN.items()}
    zero = np.zeros(n)
    capacity = trial.CONDUCTIVITY_W_MK / trial.DIFFUSIVITY_M2_S
    state = State(
        capacity * modes, np.full((n, n), trial.INERT["water"]), np.zeros((TALLIES + 2 * section.outer_cell.size, n))
    )
    tried = attempt(Piece.of(section), p, lambda _late: Around(zero, zero, stage), state, zero, np.full(n, dt))
    z = rates * dt
    np.testing.assert_allclose(tried.new.heat / capacity, kept_share(z, z) * modes, rtol=1e-8, atol=1e-10)
    # The fault is the difference of the two stages' straight lines.
    late = -z * (kept_share(z, z) - 1.0 + z / (1.0 + STEADY * z)) / np.where(z > 0.0, z, 1.0)
    np.testing.assert_allclose(
        tried.fault, np.abs(late * modes).max(axis=0) / TEMPERATURE_FAULT_K, rtol=1e-6, atol=1e-9
    )
