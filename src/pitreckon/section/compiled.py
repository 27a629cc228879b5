"""The compiled kernel: whole courses, members innermost in blocks of ``LANES``.

Unsplit second-order Runge-Kutta-Chebyshev on enthalpy and water together; the stages of each step come from
a bound on the spectrum at its start. The readable twin with the same signature is ``readable.py``; the
physics of both is in ``laws.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

import numpy as np
from numba import njit

from pitreckon.section import compiled_lanes as at
from pitreckon.section.chebyshev import FRESH_PARTS, FRESH_TURNS, TURNS
from pitreckon.section.compiled_course import (
    GLAZE_SET,
    NMARK,
    NO_GLAZE,
    Where,
    close_books,
    contents,
    leave_stages,
    record,
    set_marks,
)
from pitreckon.section.compiled_lanes import LANES, lanes_first, members_last, outer
from pitreckon.section.compiled_rates import CW, Fields, Grid, State, rates, state_of
from pitreckon.section.compiled_step import Pit, Slow, Work, advance, drive, start_of
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import GLAZE0, POOL, TALLIES

__all__ = ["LANES", "lanes_first", "members_last", "run_block", "run_blocks"]


@njit(**outer)
def lanes_of(rows):
    """An array of zeros, ``rows`` by lanes."""
    return np.zeros((rows, LANES))


@njit(**outer)
def state_like(nc, nz):
    """An empty state."""
    return State(lanes_of(nc), lanes_of(nc), lanes_of(nz))


@njit(**outer)
def slow_like(nc, nb):
    """Empty reactions."""
    return Slow(lanes_of(nc), lanes_of(nc), lanes_of(nc), lanes_of(nb))


@njit(**outer)
def put_on(grid, P, S, raw_mass):
    """Every member at the start of its first stage."""
    nc, nb = grid.volume.shape[0], grid.ocell.shape[0]
    y = state_like(nc, TALLIES + nb)
    for m in range(LANES):
        for n in range(nb):
            y.z[GLAZE0 + n, m] = S[at.GLAZE_W, m]
        y.z[POOL, m] = S[at.LIQUID, m] * raw_mass[m]
        for c in range(nc):
            b = grid.bone[c]
            meat = 1.0 - b
            y.x[c, m] = P[at.WATER0, m] if meat > 0.0 else 0.0
            wet = P[at.DRY_CP, m] + CW * y.x[c, m]
            y.h[c, m] = (meat * P[at.DENSITY, m] * wet + b * P[at.BONE_C, m]) * P[at.START, m]
    return y


@njit(**outer)
def run_block(
    grid, P, table, air, knot_s, known_s, horizon_s, record_every, substeps, coef, extent, raw_mass, out,
    marks, ends, balance, failed
):  # fmt: skip
    """Run one block of ``LANES`` members through the whole course. Arrays are lane-innermost."""
    nc, nb = grid.volume.shape[0], grid.ocell.shape[0]
    nz = TALLIES + nb
    S = table[0].copy()
    y = put_on(grid, P, S, raw_mass)
    work = Work(state_like(nc, nz), state_like(nc, nz), state_like(nc, nz), state_like(nc, nz), state_like(nc, nz))
    flow = nc + grid.ny
    fields = Fields(
        lanes_of(nc), lanes_of(nc), lanes_of(nc), lanes_of(nc), lanes_of(nc), lanes_of(nc), lanes_of(nc),
        lanes_of(flow), lanes_of(flow), lanes_of(flow), lanes_of(flow),
        np.zeros(LANES), np.zeros(LANES), np.zeros(LANES), np.zeros(LANES), np.zeros(LANES),
    )  # fmt: skip
    v = state_like(nc, 1)
    for c in range(nc):
        for m in range(LANES):
            v.h[c, m] = start_of(c)
    total, rate, rate_new = slow_like(nc, nb), slow_like(nc, nb), slow_like(nc, nb)
    pit = Pit(air, knot_s, known_s, np.full(LANES, -1e9), np.zeros(LANES), np.zeros(LANES))
    where = Where(
        np.zeros(LANES, np.int64),
        np.zeros(LANES),
        np.ones(LANES, np.bool_),
        lanes_of(NMARK),
        lanes_of(NMARK),
    )
    where.before[GLAZE_SET, :] = NO_GLAZE
    water_start, heat_start = np.zeros(LANES), np.zeros(LANES)
    for m in range(LANES):
        water_start[m], heat_start[m] = contents(grid, P, y, m)
    state_of(grid.bone, P, y.h, y.x, fields.T, fields.C, fields.K, fields.D, fields.B, fields.E, fields.F)
    rates(grid, P, S, y.x, y.z, fields.T, rate.gelatin, rate.shrink, rate.kill, rate.colour)
    drive(pit, 0, 0.0, S)

    steps = int(horizon_s / knot_s + 0.5)
    calm, parts = True, substeps
    for k in range(steps + 1):
        t_now = k * knot_s
        if k % record_every == 0 and k // record_every < out.shape[0]:
            record(grid, P, S, y, fields.T, total, where, pit.air, raw_mass, out[k // record_every])
        if k == steps:
            break
        moved, cooking = leave_stages(P, S, table, where, pit.opened, y.z, t_now, knot_s, raw_mass, ends)
        if not cooking:
            break
        turns = TURNS
        if moved or k == 0:
            parts, turns = max(parts, FRESH_PARTS), FRESH_TURNS
        elif calm:
            parts = max(parts // 2, substeps)
        parts, calm = advance(
            grid, P, S, pit, k, where.alive, parts, turns, coef, extent, y, work, fields, v, total, rate,
            rate_new,
        )  # fmt: skip
        set_marks(grid, P, S, y.z, fields.T, total, where, t_now, knot_s, marks, failed)
    close_books(grid, P, y, water_start, heat_start, balance)


def run_blocks(
    first, last, nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places, P, table, air, knot_s,
    known_s, horizon_s, record_every, substeps, coef, extent, raw_mass, out, marks, ends, balance, failed
):  # fmt: skip
    """Blocks ``first`` to ``last`` of an ensemble whose arrays lead with the block: [block, ..., lane]."""
    grid = Grid(
        *(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places),
        total_area=float(oarea.sum()),
        upper_area=float(oarea[ogroup == UPPER].sum()),
        meat_volume=float((volume * (1.0 - bone)).sum()),
    )
    timing = (knot_s, known_s, horizon_s, record_every, substeps, coef, extent)
    for b in range(first, last):
        results = (out[b], marks[b], ends[b], balance[b], failed[b])
        run_block(grid, P[b], table[b], air[b], *timing, raw_mass[b], *results)
