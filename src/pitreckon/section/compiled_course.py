"""The compiled kernel's course: records, the end of stages, marks and the books.

The readable twin is ``readable.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from pitreckon.section import compiled_lanes as at
from pitreckon.section import laws
from pitreckon.section.compiled_lanes import LANES, held, inner
from pitreckon.section.tally import DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL
from pitreckon.section.trace import MARKS

NMARK = len(MARKS)
COLOUR_SET, TENDER, CORE_DONE, GLAZE_SET, TOO_DARK, TOO_SOFT = range(NMARK)
MINUTES, COLOUR, UNTIL_TENDER, CORE, CLOCK, GLAZE = range(6)  # of course.Until
NO_GLAZE = 1e9


class Where(NamedTuple):
    """Where each member stands: stage, time in it, still cooking; what makes the marks, at two knots."""

    stage: Any
    since: Any
    alive: Any
    now: Any
    before: Any


@njit(**inner)
def upper_mean(grid, face, m):
    """Mean of a face quantity over the upper faces of one member."""
    total = 0.0
    for n in range(grid.ocell.shape[0]):
        if grid.ogroup[n] == 0:
            total += grid.oarea[n] * face[n, m]
    return total / grid.upper_area


@njit(**inner)
def glaze_ratio(grid, S, z, m):
    """Mean glaze water of the upper faces per solids; nan where there is none."""
    if S[at.GLAZE_S, m] > 0.0:
        return upper_mean(grid, z[GLAZE0:], m) / S[at.GLAZE_S, m]
    return np.nan


@njit(**inner)
def record(grid, P, S, y, T, total, where, air, raw_mass, row):
    """Write the channels of the members that are still cooking, in the order of ``trace.CHANNELS``."""
    x, z = y.x, y.z
    for m in range(LANES):
        if not where.alive[m]:
            continue
        surf, act_sum = 0.0, 0.0
        for n in range(grid.ocell.shape[0]):
            if grid.ogroup[n] == 0:
                c = grid.ocell[n]
                surf += grid.oarea[n] * T[c, m]
                act_sum += grid.oarea[n] * laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
        mean_t, gel_mean, shr_mean, least = 0.0, 0.0, 0.0, 1e300
        for c in range(T.shape[0]):
            w = grid.volume[c] * (1.0 - grid.bone[c])
            mean_t += w * T[c, m]
            gel_mean += w * (1.0 - np.exp(-total.gelatin[c, m]))
            shr_mean += w * (1.0 - np.exp(-total.shrink[c, m]))
            if w > 0.0 and total.kill[c, m] < least:
                least = total.kill[c, m]
        row[0, m] = T[grid.core, m]
        row[1, m] = T[grid.places[1], m]
        row[2, m] = T[grid.places[2], m]
        row[3, m] = surf / grid.upper_area
        row[4, m] = mean_t / grid.meat_volume
        row[5, m] = air[m]
        row[6, m] = upper_mean(grid, total.colour, m)
        row[7, m] = z[EVAPORATED, m] / raw_mass[m]
        row[8, m] = z[DRIPPED, m] / raw_mass[m]
        row[9, m] = 1.0 - np.exp(-total.gelatin[grid.core, m])
        row[10, m] = gel_mean / grid.meat_volume
        row[11, m] = shr_mean / grid.meat_volume
        row[12, m] = glaze_ratio(grid, S, z, m)
        row[13, m] = np.log10(least + 1e-30)
        row[14, m] = where.stage[m]
        row[15, m] = act_sum / grid.upper_area


@njit(**inner)
def stage_over(P, S, where, t_now, knot_s, m):
    """Is a member done with its stage? By the ledger if it says so, else by its own criterion."""
    if t_now >= S[at.FORCED, m] - 0.5 * knot_s:
        return True
    if S[at.FORCED, m] != np.inf or t_now < S[at.NOT_BEFORE, m]:
        return False
    if where.since[m] >= S[at.LONGEST, m]:
        return True
    until, value = int(S[at.UNTIL, m]), S[at.VALUE, m]
    if until == MINUTES:
        return where.since[m] >= value - 0.5 * knot_s
    if until == COLOUR:
        return where.before[COLOUR_SET, m] >= value
    if until == UNTIL_TENDER:
        return where.before[TENDER, m] >= value * P[at.TENDER_AT, m]
    if until == CORE:
        return where.before[CORE_DONE, m] >= value
    if until == CLOCK:
        return t_now >= value - 0.5 * knot_s
    if until == GLAZE:
        return where.before[GLAZE_SET, m] <= P[at.SET_AT, m]
    return False


@njit(**inner)
def leave_stages(P, S, table, where, opened, z, t_now, knot_s, raw_mass, ends):
    """Move every member on whose stage is over; did any move, and is any still cooking?"""
    moved, cooking = False, False
    for m in range(LANES):
        while where.alive[m] and stage_over(P, S, where, t_now, knot_s, m):
            ends[where.stage[m], m] = t_now
            where.stage[m] += 1
            if where.stage[m] >= table.shape[0]:
                where.alive[m] = False
                break
            for f in range(table.shape[1]):
                S[f, m] = table[where.stage[m], f, m]
            where.since[m] = 0.0
            opened[m] = t_now
            where.before[GLAZE_SET, m] = NO_GLAZE
            for n in range(GLAZE0, z.shape[0]):
                z[n, m] = S[at.GLAZE_W, m]
            kept = z[POOL, m] if S[at.HOLDS, m] > 0.0 else 0.0
            z[POOL, m] = kept + S[at.LIQUID, m] * raw_mass[m]
            moved = True
        if where.alive[m]:
            cooking = True
    return moved, cooking


@njit(**inner)
def goal_of(P, i, m):
    """The number that a mark's quantity has to pass."""
    if i == COLOUR_SET:
        return 1.0
    if i == TENDER:
        return P[at.TENDER_AT, m]
    if i == CORE_DONE:
        return P[at.DONE_C, m]
    if i == GLAZE_SET:
        return P[at.SET_AT, m]
    if i == TOO_DARK:
        return P[at.DARK_AT, m]
    return P[at.SOFT_AT, m]


@njit(**inner)
def set_marks(grid, P, S, z, T, total, where, t_now, knot_s, marks, failed):
    """Set the marks that fell between the last knot and this one, placed by a straight line.

    A member whose numbers ran away stops here.
    """
    now, before = where.now, where.before
    for m in range(LANES):
        if not where.alive[m]:
            continue
        if not np.isfinite(T[grid.core, m]):
            failed[m] = t_now + knot_s
            where.alive[m] = False
            continue
        where.since[m] += knot_s
        ratio = glaze_ratio(grid, S, z, m)
        now[COLOUR_SET, m] = upper_mean(grid, total.colour, m)
        now[TENDER, m] = 1.0 - np.exp(-total.gelatin[grid.core, m])
        now[CORE_DONE, m] = T[grid.core, m]
        now[GLAZE_SET, m] = NO_GLAZE if np.isnan(ratio) else ratio
        now[TOO_DARK, m] = now[COLOUR_SET, m]
        now[TOO_SOFT, m] = now[TENDER, m]
        for i in range(NMARK):
            goal = goal_of(P, i, m)
            there = now[i, m] <= goal if i == GLAZE_SET else now[i, m] >= goal
            if there and np.isnan(marks[i, m]):
                span = now[i, m] - before[i, m]
                w = (goal - before[i, m]) / span if span != 0.0 else 1.0
                marks[i, m] = t_now + knot_s * held(w, 0.0, 1.0)
            before[i, m] = now[i, m]


@njit(**inner)
def contents(grid, P, y, m):
    """Water [kg] and heat [J] in one member's section."""
    water, heat = 0.0, 0.0
    for c in range(grid.volume.shape[0]):
        water += grid.volume[c] * (1.0 - grid.bone[c]) * P[at.DENSITY, m] * y.x[c, m]
        heat += grid.volume[c] * y.h[c, m]
    return water, heat


@njit(**inner)
def close_books(grid, P, y, water_start, heat_start, balance):
    """What went in and out against what is left, relative to the water at the start and to all heat moved."""
    z = y.z
    for m in range(LANES):
        water, heat = contents(grid, P, y, m)
        gone = z[EVAPORATED, m] + z[DRIPPED, m]
        balance[0, m] = (water + gone - water_start[m]) / water_start[m]
        moved = abs(z[HEAT_IN, m]) + abs(z[HEAT_OUT, m]) + abs(heat_start[m])
        balance[1, m] = (heat - heat_start[m] - z[HEAT_IN, m] + z[HEAT_OUT, m]) / moved
