"""The compiled kernel's time stepping: one knot of pit time by Runge-Kutta-Chebyshev steps [sommeijer1998]_.

The readable twin is ``readable_step.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from pitreckon.section import compiled_lanes as at
from pitreckon.section.chebyshev import (
    AGAIN_TURNS,
    MOST_PARTS,
    NUDGE_HEAT,
    NUDGE_WATER,
    SAFETY,
    TEMPERATURE_FAULT_K,
    WATER_FAULT,
)
from pitreckon.section.compiled_lanes import LANES, inner
from pitreckon.section.compiled_rates import rates, slope


class Pit(NamedTuple):
    """Air on knots, when the readings end, when each lid was last open; air and walls now."""

    knots: Any
    knot_s: Any
    known_s: Any
    opened: Any
    air: Any
    wall: Any


class Work(NamedTuple):
    """States of the Chebyshev recurrence and their slopes."""

    y0: Any
    y1: Any
    y2: Any
    d: Any
    d0: Any


class Slow(NamedTuple):
    """Gelatin, shrinkage, kill and colour: time integrals or rates."""

    gelatin: Any
    shrink: Any
    kill: Any
    colour: Any


@njit(**inner)
def drive(pit, k, late, S):
    """Air and wall temperature ``late`` seconds after knot ``k``."""
    last = pit.knots.shape[0] - 1
    lo, hi = min(k, last), min(k + 1, last)
    w = late / pit.knot_s
    for m in range(LANES):
        a = pit.knots[lo, m] + (pit.knots[hi, m] - pit.knots[lo, m]) * w
        if S[at.DIP, m] > 0.0 and pit.opened[m] >= pit.known_s:
            since = k * pit.knot_s + late - pit.opened[m]
            a -= S[at.DIP, m] * np.exp(-since / S[at.RECOVERY, m])
        if S[at.OFF_PIT, m] > 0.0:
            a = S[at.AIR, m]
        pit.air[m] = a
        pit.wall[m] = a + S[at.WALL, m]


@njit(**inner)
def first(mt, y, f0, y0, y1, y2):
    """First stage of the Chebyshev recurrence."""
    for c in range(y.shape[0]):
        for m in range(LANES):
            y0[c, m] = y[c, m]
            y1[c, m] = y[c, m]
            y2[c, m] = y[c, m] + mt * f0[c, m]


@njit(**inner)
def further(mu, nu, mt, ga, f, f0, y0, y1, y2):
    """One further stage: ``y1``, ``y2`` are the last two stages and move on by one."""
    one = 1.0 - mu - nu
    for c in range(y0.shape[0]):
        for m in range(LANES):
            new = one * y0[c, m] + mu * y2[c, m] + nu * y1[c, m] + mt * f[c, m] + ga * f0[c, m]
            y1[c, m] = y2[c, m]
            y2[c, m] = new


@njit(**inner)
def copied(source, target):
    """Every number of one array into another."""
    for c in range(source.shape[0]):
        for m in range(LANES):
            target[c, m] = source[c, m]


@njit(**inner)
def trapezoid(half, total, rate, rate_new):
    """Add a step to a time integral and keep the new rate."""
    for c in range(total.shape[0]):
        for m in range(LANES):
            total[c, m] += half * (rate[c, m] + rate_new[c, m])
            rate[c, m] = rate_new[c, m]


@njit(**inner)
def step_fault(dt, alive, h0, h2, fh0, fh, x0, x2, fx0, fx, C):
    """Estimated error of the step over its allowance, worst cell and member.

    Sommeijer et al. 1998, from memory. A number that is none makes it infinite.
    """
    worst = 0.0
    for c in range(C.shape[0]):
        for m in range(LANES):
            if alive[m]:
                eh = abs(0.8 * (h0[c, m] - h2[c, m]) + 0.4 * dt * (fh0[c, m] + fh[c, m])) / C[c, m]
                ex = abs(0.8 * (x0[c, m] - x2[c, m]) + 0.4 * dt * (fx0[c, m] + fx[c, m]))
                e = max(eh * (1.0 / TEMPERATURE_FAULT_K), ex * (1.0 / WATER_FAULT))
                if not e <= worst:
                    worst = np.inf if np.isnan(e) else e
    return worst


@njit(**inner)
def step(grid, P, S, pit, k, done_s, dt, stages, coef, y, work, fields):
    """One step of ``dt`` from ``y`` with slope ``work.d0`` into ``work.y2``, its slope into ``work.d``."""
    h0, x0, z0 = work.y0
    h1, x1, z1 = work.y1
    h2, x2, z2 = work.y2
    fh, fx, fz = work.d
    fh0, fx0, fz0 = work.d0
    mt = coef[stages, 2, 1] * dt
    first(mt, y.h, fh0, h0, h1, h2)
    first(mt, y.x, fx0, x0, x1, x2)
    first(mt, y.z, fz0, z0, z1, z2)
    for j in range(2, stages + 2):  # the last round only finds the slope at the end
        drive(pit, k, done_s + coef[stages, 4, j - 1] * dt, S)
        slope(grid, P, S, pit.air, pit.wall, work.y2, fields, work.d)
        if j <= stages:
            mu, nu = coef[stages, 0, j], coef[stages, 1, j]
            mt, ga = coef[stages, 2, j] * dt, coef[stages, 3, j] * dt
            further(mu, nu, mt, ga, fh, fh0, h0, h1, h2)
            further(mu, nu, mt, ga, fx, fx0, x0, x1, x2)
            further(mu, nu, mt, ga, fz, fz0, z0, z1, z2)


@njit(**inner)
def fastest(grid, P, S, pit, alive, turns, y, work, fields, v):
    """Fastest rate of the block [1/s] at state ``y`` with slope ``work.d0``, by the power method on ``v``.

    ``turns`` of it are made. ``v`` is the last turn's direction, of unit length per member in the measure of
    the nudge; it is kept for the next call. Overwrites ``work.y2``, ``work.d`` and the fields.
    """
    worst = 0.0
    for _ in range(turns):
        copied(y.z, work.y2.z)
        nudged(NUDGE_HEAT, y.h, v.h, work.y2.h)
        nudged(NUDGE_WATER, y.x, v.x, work.y2.x)
        slope(grid, P, S, pit.air, pit.wall, work.y2, fields, work.d)
        for m in range(LANES):
            v.z[0, m] = 0.0
        for c in range(v.h.shape[0]):
            turned(NUDGE_HEAT, c, work.d.h, work.d0.h, v.h, v.z)
            turned(NUDGE_WATER, c, work.d.x, work.d0.x, v.x, v.z)
        for m in range(LANES):
            v.z[0, m] = np.sqrt(v.z[0, m])
        worst = 0.0
        for m in range(LANES):
            length = v.z[0, m]
            sound = length > 0.0 and np.isfinite(length)
            if sound and alive[m]:
                worst = max(worst, length)
            for c in range(v.h.shape[0]):
                v.h[c, m] = v.h[c, m] / length if sound else start_of(c)
                v.x[c, m] = v.x[c, m] / length if sound else 0.0
    return worst


@njit(**inner)
def turned(size, c, d, d0, v, squares):
    """One row of the next direction, its squares added up per member."""
    for m in range(LANES):
        v[c, m] = (d[c, m] - d0[c, m]) * (1.0 / size)
        squares[0, m] += v[c, m] * v[c, m]


@njit(**inner)
def start_of(c):
    """First direction of the power method: neighbours against each other, which heat evens out fastest."""
    return 0.1 if c % 2 == 0 else -0.1


@njit(**inner)
def nudged(size, source, v, target):
    """A state moved a little along ``v``."""
    for c in range(source.shape[0]):
        for m in range(LANES):
            target[c, m] = source[c, m] + size * v[c, m]


@njit(**inner)
def advance(grid, P, S, pit, k, alive, parts, turns, coef, extent, y, work, fields, v, total, rate, rate_new):
    """Move ``y`` and the reactions on by one knot; returns the steps a knot now and whether all was calm."""
    h, x, z = y
    h0, x0, _ = work.y0
    h2, x2, z2 = work.y2
    fh, fx, fz = work.d
    fh0, fx0, fz0 = work.d0
    calm = True
    drive(pit, k, 0.0, S)
    slope(grid, P, S, pit.air, pit.wall, y, fields, work.d0)
    worst = fastest(grid, P, S, pit, alive, turns, y, work, fields, v)
    done_s = 0.0
    while done_s < pit.knot_s - 1e-6:
        dt = pit.knot_s / parts
        stages = 2
        while stages < extent.shape[0] - 1 and extent[stages] < SAFETY * worst * dt:
            stages += 1
        step(grid, P, S, pit, k, done_s, dt, stages, coef, y, work, fields)
        fault = step_fault(dt, alive, h0, h2, fh0, fh, x0, x2, fx0, fx, fields.C)
        if fault > 1.0 and parts < MOST_PARTS:
            parts *= 2
            drive(pit, k, done_s, S)
            worst = max(worst, fastest(grid, P, S, pit, alive, AGAIN_TURNS, y, work, fields, v))
            continue
        if fault > 0.1:
            calm = False
        done_s += dt
        copied(h2, h)
        copied(x2, x)
        copied(z2, z)
        copied(fh, fh0)
        copied(fx, fx0)
        copied(fz, fz0)
        rates(grid, P, S, x, z, fields.T, rate_new.gelatin, rate_new.shrink, rate_new.kill, rate_new.colour)
        half = 0.5 * dt
        trapezoid(half, total.gelatin, rate.gelatin, rate_new.gelatin)
        trapezoid(half, total.shrink, rate.shrink, rate_new.shrink)
        trapezoid(half, total.kill, rate.kill, rate_new.kill)
        trapezoid(half, total.colour, rate.colour, rate_new.colour)
    return parts, calm
