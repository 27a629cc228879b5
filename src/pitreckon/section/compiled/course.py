"""The compiled kernel's course: records, the end of stages, marks and the books.

The readable twin is ``tests/oracles/readable/kernel.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

import numpy as np

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.lanes import span
from pitreckon.section.multistage import FRESH_PARTS
from pitreckon.section.precision import INNER, njit
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, LANES, POOL
from pitreckon.section.trace import CHANNEL, CHANNELS, MARKS

NMARK = len(MARKS)
COLOUR_SET, TENDER, CORE_DONE, GLAZE_SET, TOO_DARK, TOO_SOFT = range(NMARK)
MINUTES, COLOUR, UNTIL_TENDER, CORE, CLOCK, GLAZE = range(6)  # of course.Until
NO_GLAZE = 1e9
OUT_OF_BOUNDS_C, OUT_OF_BOUNDS_WATER, OUT_OF_BOUNDS_HEAT = 1e4, 1e4, 1e12
GOES_ON, AT_KNOT, IS_OVER = range(3)
"""What a lane is ``due``: nothing, what comes with a knot, or the next member."""
WATER_CP = laws.WATER_CP_J_KGK
NEVER = 1e9
SEEN = len(CHANNELS)
"""Rows of what is seen of the lanes: the channels of the trace; at a knot without a record only some are filled."""
CORE_ROW, SURFACE_ROW, MEAN_ROW, COLOUR_ROW, GEL_ROW, SHRUNK_ROW, GLAZE_ROW, KILL_ROW, ACT_ROW = (
    CHANNEL[name]
    for name in (
        "core_c", "surface_c", "mean_c", "colour", "gelatin_mean", "shrunk_mean", "glaze_ratio", "kill_log10",
        "activity",
    )
)  # fmt: skip


Lanes = namedtuple("Lanes", "member knot late want step stage since opened due before water_start heat_start")
"""Where the member in each lane stands.

Member (-1: none), knot and seconds past it, the step to try and the one that is tried, number of the stage and time in
it, when the lid was last open, what it is due; what makes the marks, at the last knot; water and heat at put-on.
"""


Results = namedtuple("Results", "out marks ends balance failed effort")
"""What is written, members on the last axis: [record, channel], [mark], [stage], [water, heat], failure time,
[steps taken, refused]."""

# A function here sees to all lanes at once. Arrays are handed on by value, nine words each: a call for each lane would
# cost more than what it does.


@njit(**INNER)
def upper_mean(ocell, ogroup, oarea, upper_area, face, first, mean):
    """Mean of a face quantity, in the rows of ``face`` from ``first`` on, over the upper faces."""
    lanes = span(mean)
    for m in range(lanes):
        mean[m] = 0.0
    for n in range(ocell.shape[0]):
        if ogroup[n] == UPPER:
            for m in range(lanes):
                mean[m] += oarea[n] * face[first + n, m]
    for m in range(lanes):
        mean[m] = mean[m] / upper_area


@njit(**INNER)
def warmth(bone, P, h, x, c, out):
    """Temperature of one cell."""
    b = bone[c]
    for m in range(span(out)):
        wet = P[at.DENSITY, m] * (P[at.DRY_CP, m] + WATER_CP * x[c, m])
        out[m] = h[c, m] / ((1.0 - b) * wet + b * P[at.BONE_C, m])


@njit(**INNER)
def glimpse(grid, P, y, colour, seen):
    """What the marks and the ends of stages rest on: core, colour, mean water of the glaze [kg/m2]."""
    warmth(grid.bone, P, y.h, y.x, grid.core, seen[CORE_ROW])
    upper_mean(grid.ocell, grid.ogroup, grid.oarea, grid.upper_area, colour, 0, seen[COLOUR_ROW])
    upper_mean(grid.ocell, grid.ogroup, grid.oarea, grid.upper_area, y.z, GLAZE0, seen[GLAZE_ROW])


@njit(**INNER)
def survey(grid, P, S, y, total, room, seen):
    """The rest of the channels that are summed over cells and faces, beside those of ``glimpse``."""
    x, z = y.x, y.z
    lanes = span(room)
    surface, act_sum = seen[SURFACE_ROW], seen[ACT_ROW]
    mean_t, gel_mean, shr_mean, least = seen[MEAN_ROW], seen[GEL_ROW], seen[SHRUNK_ROW], seen[KILL_ROW]
    for i in range(1, grid.places.shape[0]):
        warmth(grid.bone, P, y.h, x, grid.places[i], seen[i])
    for m in range(lanes):
        surface[m] = 0.0
        act_sum[m] = 0.0
        mean_t[m] = 0.0
        gel_mean[m] = 0.0
        shr_mean[m] = 0.0
        least[m] = 1e30
    faces = grid.ocell.shape[0]
    for n in range(faces):
        if grid.ogroup[n] == UPPER:
            c, area = grid.ocell[n], grid.oarea[n]
            warmth(grid.bone, P, y.h, x, c, room)
            for m in range(lanes):
                surface[m] += area * room[m]
            for m in range(lanes):
                act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
                coefficient = S[at.STEFAN, m] if S[at.GLAZE_S, m] <= 0.0 else 0.0
                skin = laws.skin_resistance(
                    max(z[GLAZE0 + faces + n, m], 0.0), P[at.SKIN_R, m], P[at.SKIN_E, m], P[at.SKIN_N, m]
                )
                act_sum[m] += area * act / (1.0 + skin * coefficient)
    for c in range(grid.volume.shape[0]):
        w = grid.volume[c] * (1.0 - grid.bone[c])
        if w > 0.0:
            warmth(grid.bone, P, y.h, x, c, room)
            for m in range(lanes):
                mean_t[m] += w * room[m]
            for m in range(lanes):
                gel_mean[m] += w * (1.0 - laws.exp_near(max(-total.gelatin[c, m], -30.0)))
            for m in range(lanes):
                shr_mean[m] += w * (1.0 - laws.exp_near(max(-total.shrink[c, m], -30.0)))
            for m in range(lanes):
                least[m] = min(least[m], total.kill[c, m]) + 0.0  # the sum keeps the store whole: a masked one is slow
    for m in range(lanes):
        surface[m] = surface[m] / grid.upper_area
        act_sum[m] = act_sum[m] / grid.upper_area
        mean_t[m] = mean_t[m] / grid.meat_volume
        gel_mean[m] = gel_mean[m] / grid.meat_volume
        shr_mean[m] = shr_mean[m] / grid.meat_volume


@njit(**INNER)
def is_due(lanes, every, records):
    """Is any lane at a knot of which a record is kept?"""
    for m in range(LANES):
        if lanes.due[m] == AT_KNOT and lanes.knot[m] % every == 0 and lanes.knot[m] // every < records:
            return True
    return False


@njit(**INNER)
def record(core, S, z, gelatin, seen, lanes, plan, out):
    """Write the channels of the lanes that are due one, in the order of ``trace.CHANNELS``, from what is ``seen``."""
    every, last = plan.record_every, plan.air.shape[0] - 1
    for m in range(LANES):
        k, i = lanes.knot[m], lanes.member[m]
        if lanes.due[m] != AT_KNOT or k % every != 0 or k // every >= out.shape[0]:
            continue
        row = k // every
        for channel in range(SEEN):
            out[row, channel, i] = seen[channel, m]
        air = plan.air[min(k, last), i]
        if S[at.OFF_PIT, m] > 0.0:
            air = np.float64(S[at.AIR, m])
        elif S[at.DIP, m] > 0.0 and lanes.opened[m] >= plan.known_s:
            air = air - S[at.DIP, m] * np.exp(-(k * plan.knot_s - lanes.opened[m]) / S[at.RECOVERY, m])
        out[row, 5, i] = air
        out[row, 7, i] = z[EVAPORATED, m] / plan.raw_mass[i]
        out[row, 8, i] = z[DRIPPED, m] / plan.raw_mass[i]
        out[row, 9, i] = 1.0 - np.exp(-gelatin[core, m])
        solid = S[at.GLAZE_S, m]
        out[row, GLAZE_ROW, i] = seen[GLAZE_ROW, m] / solid if solid > 0.0 else np.nan
        out[row, KILL_ROW, i] = np.log10(np.float64(seen[KILL_ROW, m]) + 1e-30)
        out[row, 14, i] = lanes.stage[m]


@njit(**INNER)
def check(core, y, seen, lanes, knot_s, failed):
    """Lanes that are no piece of meat any more are over. What was no number is now a huge one."""
    for m in range(LANES):
        if lanes.due[m] == AT_KNOT:
            as_warm = abs(seen[CORE_ROW, m]) < OUT_OF_BOUNDS_C
            as_wet = abs(y.x[core, m]) < OUT_OF_BOUNDS_WATER
            if not (as_warm and as_wet and abs(y.h[core, m]) < OUT_OF_BOUNDS_HEAT):
                failed[lanes.member[m]] = lanes.knot[m] * knot_s
                lanes.due[m] = IS_OVER


@njit(**INNER)
def is_over(until, value, forced_s, not_before_s, longest_s, tender_at, set_at, t_now, since, before, knot_s, m):
    """Is a member done with its stage? By the ledger if it says so, else by its own criterion."""
    if t_now >= forced_s - 0.5 * knot_s:
        return True
    if forced_s != np.inf or t_now < not_before_s:
        return False
    if since >= longest_s:
        return True
    if until == MINUTES:
        return since >= value - 0.5 * knot_s
    if until == COLOUR:
        return before[COLOUR_SET, m] >= value
    if until == UNTIL_TENDER:
        return before[TENDER, m] >= value * tender_at
    if until == CORE:
        return before[CORE_DONE, m] >= value
    if until == CLOCK:
        return t_now >= value - 0.5 * knot_s
    if until == GLAZE:
        return before[GLAZE_SET, m] <= set_at
    return False


@njit(**INNER)
def enter(S, table, stage, member, m):
    """A stage's fields into lane ``m``."""
    for f in range(table.shape[1]):
        S[f, m] = table[stage, f, member]


@njit(**INNER)
def leave_stages(P, S, plan, lanes, z, ends):
    """Move the lanes that are due on while their stage is over; a course that is at its end is over."""
    knot_s, table = plan.knot_s, plan.table
    for m in range(LANES):
        if lanes.due[m] != AT_KNOT:
            continue
        if lanes.knot[m] >= plan.steps:
            lanes.due[m] = IS_OVER
            continue
        t_now = lanes.knot[m] * knot_s
        while is_over(
            int(S[at.UNTIL, m]), S[at.VALUE, m], S[at.FORCED, m], S[at.NOT_BEFORE, m], S[at.LONGEST, m],
            P[at.TENDER_AT, m], P[at.SET_AT, m], t_now, lanes.since[m], lanes.before, knot_s, m
        ):  # fmt: skip
            ends[lanes.stage[m], lanes.member[m]] = t_now
            lanes.stage[m] += 1
            if lanes.stage[m] >= table.shape[0]:
                lanes.due[m] = IS_OVER
                break
            enter(S, table, lanes.stage[m], lanes.member[m], m)
            lanes.since[m] = 0.0
            lanes.opened[m] = t_now
            lanes.before[GLAZE_SET, m] = NO_GLAZE
            for n in range(GLAZE0, GLAZE0 + (z.shape[0] - GLAZE0) // 2):
                z[n, m] = S[at.GLAZE_W, m]
            kept = z[POOL, m] if S[at.HOLDS, m] > 0.0 else 0.0
            z[POOL, m] = kept + S[at.LIQUID, m] * plan.raw_mass[lanes.member[m]]
            lanes.want[m] = min(lanes.want[m], knot_s / FRESH_PARTS)


@njit(**INNER)
def go_on(pit, lanes, plan):
    """The next knot's air for the lanes that go on; they are due nothing more."""
    last = plan.air.shape[0] - 1
    for m in range(LANES):
        if lanes.due[m] == AT_KNOT:
            k, i = lanes.knot[m], lanes.member[m]
            here, there = plan.air[min(k, last), i], plan.air[min(k + 1, last), i]
            lanes.want[m] = min(lanes.want[m], plan.longest_s)
            pit.air0[m] = here
            pit.rise[m] = (there - here) / plan.knot_s
            pit.opened[m] = k * plan.knot_s - lanes.opened[m] if lanes.opened[m] >= plan.known_s else NEVER
            lanes.due[m] = GOES_ON


@njit(**INNER)
def mark(before, marks, i, now, goal, falls, t_now, knot_s, member, m):
    """Set one mark if it fell between the last knot and this one, placed by a straight line."""
    last = before[i, m]
    there = now <= goal if falls else now >= goal
    if there and np.isnan(marks[i, member]):
        rise = now - last
        w = (goal - last) / rise if rise != 0.0 else 1.0
        marks[i, member] = t_now - knot_s + knot_s * laws.limited(w, 0.0, 1.0)
    before[i, m] = now


@njit(**INNER)
def set_marks(P, S, gelatin, core, seen, lanes, knot_s, marks):
    """Set the marks of the lanes that are at a knot."""
    before = lanes.before
    for m in range(LANES):
        if lanes.due[m] != AT_KNOT:
            continue
        t_now, i = lanes.knot[m] * knot_s, lanes.member[m]
        colour = np.float64(seen[COLOUR_ROW, m])
        melted = 1.0 - np.exp(-np.float64(gelatin[core, m]))
        core_c = np.float64(seen[CORE_ROW, m])
        solid = S[at.GLAZE_S, m]
        glaze = np.float64(seen[GLAZE_ROW, m] / solid) if solid > 0.0 else np.float64(NO_GLAZE)
        mark(before, marks, COLOUR_SET, colour, np.float64(1.0), False, t_now, knot_s, i, m)
        mark(before, marks, TENDER, melted, np.float64(P[at.TENDER_AT, m]), False, t_now, knot_s, i, m)
        mark(before, marks, CORE_DONE, core_c, np.float64(P[at.DONE_C, m]), False, t_now, knot_s, i, m)
        mark(before, marks, GLAZE_SET, glaze, np.float64(P[at.SET_AT, m]), True, t_now, knot_s, i, m)
        mark(before, marks, TOO_DARK, colour, np.float64(P[at.DARK_AT, m]), False, t_now, knot_s, i, m)
        mark(before, marks, TOO_SOFT, melted, np.float64(P[at.SOFT_AT, m]), False, t_now, knot_s, i, m)


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
