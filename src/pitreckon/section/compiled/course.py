"""The compiled kernel's course: records, the end of stages, marks and the books.

The readable twin is ``tests/oracles/readable/kernel.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

import numpy as np

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.precision import INNER, njit
from pitreckon.section.tally import DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL
from pitreckon.section.trace import MARKS

NMARK = len(MARKS)
COLOUR_SET, TENDER, CORE_DONE, GLAZE_SET, TOO_DARK, TOO_SOFT = range(NMARK)
MINUTES, COLOUR, UNTIL_TENDER, CORE, CLOCK, GLAZE = range(6)  # of course.Until
NO_GLAZE = 1e9
OUT_OF_BOUNDS_C, OUT_OF_BOUNDS_WATER, OUT_OF_BOUNDS_HEAT = 1e4, 1e4, 1e12
STAYED, MOVED, OVER = range(3)
WATER_CP = laws.WATER_CP_J_KGK


Lanes = namedtuple("Lanes", "member knot late want stage since opened before water_start heat_start")
"""Where the member in each lane stands.

Member (-1: none), knot and seconds past it, the step to try, number of the stage and time in it, when the lid was
last open; what makes the marks, at the last knot; water and heat at put-on.
"""


Results = namedtuple("Results", "out marks ends balance failed effort")
"""What is written, members on the last axis: [record, channel], [mark], [stage], [water, heat], failure time,
[steps taken, refused]."""


@njit(**INNER)
def upper_mean(grid, face, m):
    """Mean of a face quantity over the upper faces of one member."""
    total = 0.0
    for n in range(grid.ocell.shape[0]):
        if grid.ogroup[n] == 0:
            total += grid.oarea[n] * face[n, m]
    return total / grid.upper_area


@njit(**INNER)
def glaze_ratio(grid, S, z, m):
    """Mean glaze water of the upper faces per solids; nan where there is none."""
    if S[at.GLAZE_S, m] > 0.0:
        return upper_mean(grid, z[GLAZE0:], m) / S[at.GLAZE_S, m]
    return np.nan


@njit(**INNER)
def record(grid, P, S, y, total, lanes, air, raw_mass, row, m):
    """Write the channels of the member in lane ``m``, in the order of ``trace.CHANNELS``; ``row`` [channel, member]."""
    x, z = y.x, y.z
    surf, act_sum = 0.0, 0.0
    for n in range(grid.ocell.shape[0]):
        if grid.ogroup[n] == 0:
            c = grid.ocell[n]
            surf += grid.oarea[n] * temperature(grid, P, y, c, m)
            act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
            coefficient = S[at.STEFAN, m] if S[at.GLAZE_S, m] <= 0.0 else 0.0
            skin = laws.skin_resistance(
                max(z[GLAZE0 + grid.ocell.shape[0] + n, m], 0.0), P[at.SKIN_R, m], P[at.SKIN_E, m], P[at.SKIN_N, m]
            )
            act_sum += grid.oarea[n] * act / (1.0 + skin * coefficient)
    mean_t, gel_mean, shr_mean, least = 0.0, 0.0, 0.0, 1e30
    for c in range(grid.volume.shape[0]):
        w = grid.volume[c] * (1.0 - grid.bone[c])
        if w > 0.0:
            mean_t += w * temperature(grid, P, y, c, m)
            gel_mean += w * (1.0 - laws.exp_near(max(-total.gelatin[c, m], -30.0)))
            shr_mean += w * (1.0 - laws.exp_near(max(-total.shrink[c, m], -30.0)))
            least = min(least, total.kill[c, m])
    i = lanes.member[m]
    row[0, i] = temperature(grid, P, y, grid.core, m)
    row[1, i] = temperature(grid, P, y, grid.places[1], m)
    row[2, i] = temperature(grid, P, y, grid.places[2], m)
    row[3, i] = surf / grid.upper_area
    row[4, i] = mean_t / grid.meat_volume
    row[5, i] = air
    row[6, i] = upper_mean(grid, total.colour, m)
    row[7, i] = z[EVAPORATED, m] / raw_mass
    row[8, i] = z[DRIPPED, m] / raw_mass
    row[9, i] = 1.0 - np.exp(-total.gelatin[grid.core, m])
    row[10, i] = gel_mean / grid.meat_volume
    row[11, i] = shr_mean / grid.meat_volume
    row[12, i] = glaze_ratio(grid, S, z, m)
    row[13, i] = np.log10(np.float64(least) + 1e-30)
    row[14, i] = lanes.stage[m]
    row[15, i] = act_sum / grid.upper_area


@njit(**INNER)
def temperature(grid, P, y, c, m):
    """Temperature of one cell of one lane."""
    b = grid.bone[c]
    wet = P[at.DENSITY, m] * (P[at.DRY_CP, m] + WATER_CP * y.x[c, m])
    return y.h[c, m] / ((1.0 - b) * wet + b * P[at.BONE_C, m])


@njit(**INNER)
def in_bounds(grid, P, y, m):
    """Is lane ``m`` still a piece of meat? What was no number is now a huge one."""
    c = grid.core
    as_warm = abs(temperature(grid, P, y, c, m)) < OUT_OF_BOUNDS_C
    return as_warm and abs(y.x[c, m]) < OUT_OF_BOUNDS_WATER and abs(y.h[c, m]) < OUT_OF_BOUNDS_HEAT


@njit(**INNER)
def stage_over(P, S, lanes, t_now, knot_s, m):
    """Is a member done with its stage? By the ledger if it says so, else by its own criterion."""
    if t_now >= S[at.FORCED, m] - 0.5 * knot_s:
        return True
    if S[at.FORCED, m] != np.inf or t_now < S[at.NOT_BEFORE, m]:
        return False
    if lanes.since[m] >= S[at.LONGEST, m]:
        return True
    until, value = int(S[at.UNTIL, m]), S[at.VALUE, m]
    if until == MINUTES:
        return lanes.since[m] >= value - 0.5 * knot_s
    if until == COLOUR:
        return lanes.before[COLOUR_SET, m] >= value
    if until == UNTIL_TENDER:
        return lanes.before[TENDER, m] >= value * P[at.TENDER_AT, m]
    if until == CORE:
        return lanes.before[CORE_DONE, m] >= value
    if until == CLOCK:
        return t_now >= value - 0.5 * knot_s
    if until == GLAZE:
        return lanes.before[GLAZE_SET, m] <= P[at.SET_AT, m]
    return False


@njit(**INNER)
def enter(S, table, lanes, m):
    """The present stage's fields into the lane."""
    for f in range(table.shape[1]):
        S[f, m] = table[lanes.stage[m], f, lanes.member[m]]


@njit(**INNER)
def leave_stages(P, S, table, lanes, z, t_now, knot_s, raw_mass, ends, m):
    """Move lane ``m`` on while its stage is over: whether it stayed, moved, or its course is over."""
    moved = STAYED
    while stage_over(P, S, lanes, t_now, knot_s, m):
        ends[lanes.stage[m], lanes.member[m]] = t_now
        lanes.stage[m] += 1
        if lanes.stage[m] >= table.shape[0]:
            return OVER
        enter(S, table, lanes, m)
        lanes.since[m] = 0.0
        lanes.opened[m] = t_now
        lanes.before[GLAZE_SET, m] = NO_GLAZE
        for n in range(GLAZE0, GLAZE0 + (z.shape[0] - GLAZE0) // 2):
            z[n, m] = S[at.GLAZE_W, m]
        kept = z[POOL, m] if S[at.HOLDS, m] > 0.0 else 0.0
        z[POOL, m] = kept + S[at.LIQUID, m] * raw_mass
        moved = MOVED
    return moved


@njit(**INNER)
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


@njit(**INNER)
def now_of(grid, P, S, y, total, i, m):
    """The quantity behind a mark, as it stands."""
    if i in (COLOUR_SET, TOO_DARK):
        return np.float64(upper_mean(grid, total.colour, m))
    if i in (TENDER, TOO_SOFT):
        return 1.0 - np.exp(-np.float64(total.gelatin[grid.core, m]))
    if i == CORE_DONE:
        return np.float64(temperature(grid, P, y, grid.core, m))
    ratio = np.float64(glaze_ratio(grid, S, y.z, m))
    return np.float64(NO_GLAZE) if np.isnan(ratio) else ratio


@njit(**INNER)
def set_marks(grid, P, S, y, total, lanes, t_now, knot_s, marks, m):
    """Set the marks that fell between the last knot and this one, placed by a straight line."""
    for i in range(NMARK):
        now, before = now_of(grid, P, S, y, total, i, m), lanes.before[i, m]
        goal = np.float64(goal_of(P, i, m))
        there = now <= goal if i == GLAZE_SET else now >= goal
        if there and np.isnan(marks[i, lanes.member[m]]):
            span = now - before
            w = (goal - before) / span if span != 0.0 else 1.0
            marks[i, lanes.member[m]] = t_now - knot_s + knot_s * laws.limited(w, 0.0, 1.0)
        lanes.before[i, m] = now


@njit(**INNER)
def contents(grid, P, y, m):
    """Water [kg] and heat [J] in one member's section, summed in double precision."""
    water, heat = np.float64(0.0), np.float64(0.0)
    for c in range(grid.volume.shape[0]):
        water += np.float64(grid.volume[c] * (1.0 - grid.bone[c])) * (P[at.DENSITY, m] * y.x[c, m])
        heat += np.float64(grid.volume[c]) * y.h[c, m]
    return water, heat


@njit(**INNER)
def close_books(grid, P, y, lanes, balance, m):
    """What went in and out against what is left, relative to the water at the start and to all heat moved."""
    z, i = y.z, lanes.member[m]
    water, heat = contents(grid, P, y, m)
    gone = np.float64(z[EVAPORATED, m]) + z[DRIPPED, m]
    balance[0, i] = (water + gone - lanes.water_start[m]) / lanes.water_start[m]
    came, went = np.float64(z[HEAT_IN, m]), np.float64(z[HEAT_OUT, m])
    moved = abs(came) + abs(went) + abs(lanes.heat_start[m])
    balance[1, i] = (heat - lanes.heat_start[m] - came + went) / moved
