"""The compiled kernel: whole courses, ``LANES`` members side by side, each at its own time.

A lane takes steps of its own length, and when its member's course is over the next member moves in. So no member
waits for another, and its numbers do not depend on who runs beside it. The readable twin with the same
signature is ``tests/oracles/readable/kernel.py``; the physics of both is in ``laws.py``.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

import numpy as np

from pitreckon.section import laws, machine
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.course import (
    AT_KNOT,
    GLAZE_SET,
    GOES_ON,
    IS_OVER,
    NEVER,
    NMARK,
    NO_GLAZE,
    SEEN,
    Lanes,
    Results,
    check,
    close_books,
    contents,
    enter,
    glimpse,
    go_on,
    is_due,
    leave_stages,
    record,
    set_marks,
    survey,
)
from pitreckon.section.compiled.rates import CW, Axis, Fields, Grid, State
from pitreckon.section.compiled.steady import Lines, Steadier
from pitreckon.section.compiled.step import Pit, Slow, Work, attempt, settle
from pitreckon.section.multistage import CALM, FRESH_PARTS, MOST_PARTS
from pitreckon.section.precision import INNER, OUTER, njit
from pitreckon.section.shapes import UPPER
from pitreckon.section.snapshot import DONE, EXTRAS
from pitreckon.section.tally import GLAZE0, LANES, POOL, TALLIES

Plan = namedtuple(
    "Plan",
    "values table air raw_mass knot_s known_s steps record_every longest_s shortest_s snapshot_at start first_knot",
)
"""What is to be run, members on the last axis: [parameter], [stage, field], [knot] of air, mass; and how.

Seconds a knot, end of the readings, knots in all and between records, longest and shortest step, the knot at which
members are kept; columns that an earlier run kept (none: a fresh start) and the knot of those.
"""


Crew = namedtuple("Crew", "P S pit y total lanes lost seen room")
"""Everything that has a place for each lane: parameters, stage, pit, state, reactions, where it stands, what
rounding cut off its state, what is seen of it at a knot, and a row of room.
"""


def grid_of(section, precision) -> Grid:
    """A section's geometry in the kernel's precision."""
    number = np.dtype(precision).type
    nx, ny = section.nx, section.ny
    meat = (1.0 - section.bone).reshape(nx, ny)
    sides = section.outer_sideways

    def axis(lines, many, stride, step, conductance, at_ends):
        cells = np.arange(lines)[:, None] * step + np.arange(many - 1)[None, :] * stride
        both = np.minimum(meat.ravel()[cells], meat.ravel()[cells + stride])
        halves = 0.5 * conductance
        return Axis(
            *(lines, many, stride, step, np.ascontiguousarray(halves, precision)),
            np.ascontiguousarray(halves * both, precision),
            np.flatnonzero(at_ends),
        )

    return Grid(
        axis(ny, nx, ny, 1, section.gx.T, sides),
        axis(nx, ny, 1, ny, section.gy, ~sides),
        ny,
        np.ascontiguousarray(section.volume, precision),
        np.ascontiguousarray(section.bone, precision),
        section.outer_cell,
        section.outer_area.astype(precision),
        section.outer_group,
        section.core,
        section.places,
        holds=np.where(section.bone < 1.0, section.volume * (1.0 - section.bone), section.volume).astype(precision),
        inv_film_area=number(1.0 / (section.outer_area.sum() * laws.POOL_FILM_KG_M2)),
        upper_area=number(section.outer_area[section.outer_group == UPPER].sum()),
        meat_volume=number((section.volume * (1.0 - section.bone)).sum()),
    )


@njit(**OUTER)
def rows(many, like):
    """An array of zeros, ``many`` by lanes, aligned to cache lines, in the precision of ``like``."""
    return np.zeros((many, LANES), like.dtype)


@njit(**OUTER)
def state_like(nc, nz, like):
    """An empty state."""
    return State(rows(nc, like), rows(nc, like), rows(nz, like))


@njit(**OUTER)
def lines_like(nc, like):
    """Empty lines."""
    return Lines(rows(nc, like), rows(nc, like), rows(nc, like), rows(nc, like))


@njit(**INNER)
def seat(grid, crew, plan, member, m):
    """Put a member in lane ``m`` at the start of its first stage."""
    P, S, y, total, lanes = crew.P, crew.S, crew.y, crew.total, crew.lanes
    load(crew, plan, member, m)
    lanes.knot[m], lanes.late[m] = 0, 0.0
    lanes.stage[m], lanes.since[m], lanes.opened[m] = 0, 0.0, -NEVER
    lanes.want[m] = min(plan.knot_s / FRESH_PARTS, plan.longest_s)
    enter(S, plan.table, lanes.stage[m], member, m)
    for i in range(NMARK):
        lanes.before[i, m] = 0.0
    lanes.before[GLAZE_SET, m] = NO_GLAZE
    for n in range(y.z.shape[0]):
        y.z[n, m] = S[at.GLAZE_W, m] if GLAZE0 <= n < GLAZE0 + grid.ocell.shape[0] else 0.0
    y.z[POOL, m] = S[at.LIQUID, m] * plan.raw_mass[member]
    for c in range(grid.volume.shape[0]):
        b = grid.bone[c]
        meat = 1.0 - b
        y.x[c, m] = P[at.WATER0, m] if meat > 0.0 else 0.0
        wet = P[at.DRY_CP, m] + CW * y.x[c, m]
        y.h[c, m] = (meat * P[at.DENSITY, m] * wet + b * P[at.BONE_C, m]) * P[at.START, m]
        total.gelatin[c, m], total.shrink[c, m], total.kill[c, m] = 0.0, 0.0, 0.0
    for n in range(total.colour.shape[0]):
        total.colour[n, m] = 0.0
    lanes.water_start[m], lanes.heat_start[m] = contents(grid, P, y, m)


@njit(**INNER)
def load(crew, plan, member, m):
    """A member's parameters into lane ``m``, and what follows from them."""
    P = crew.P
    for r in range(at.PARAMETER_ROWS):
        P[r, m] = plan.values[r, member]
    P[at.SHRINK, m] = 1.0 / P[at.SCALE, m]
    P[at.SHRINK2, m] = P[at.SHRINK, m] * P[at.SHRINK, m]
    P[at.MELT, m] = laws.melt_factor(P[at.SHIFT, m])
    crew.lanes.member[m] = member
    for part in crew.lost:
        for n in range(part.shape[0]):
            part[n, m] = 0.0


@njit(**INNER)
def laid(part, snapshot, r, i, m):
    """Lane ``m`` of an array into column ``i`` from row ``r`` on; the row after it."""
    for c in range(part.shape[0]):
        snapshot[r + c, i] = part[c, m]
    return r + part.shape[0]


@njit(**INNER)
def lifted(part, snapshot, r, i, m):
    """The inverse of ``laid``."""
    for c in range(part.shape[0]):
        part[c, m] = snapshot[r + c, i]
    return r + part.shape[0]


@njit(**INNER)
def put_down(snapshot, crew, m):
    """Keep the member of lane ``m`` as it is: its column of ``snapshot``."""
    y, total, lanes = crew.y, crew.total, crew.lanes
    i = lanes.member[m]
    r = laid(y.h, snapshot, 0, i, m)
    r = laid(y.x, snapshot, r, i, m)
    r = laid(y.z, snapshot, r, i, m)
    r = laid(crew.lost.z, snapshot, r, i, m)
    r = laid(total.gelatin, snapshot, r, i, m)
    r = laid(total.shrink, snapshot, r, i, m)
    r = laid(total.kill, snapshot, r, i, m)
    r = laid(total.colour, snapshot, r, i, m)
    r = laid(crew.lost.h, snapshot, r, i, m)
    r = laid(crew.lost.x, snapshot, r, i, m)
    r = laid(lanes.before, snapshot, r, i, m)
    snapshot[r, i], snapshot[r + 1, i], snapshot[r + 2, i] = lanes.stage[m], lanes.since[m], lanes.opened[m]
    snapshot[r + 3, i], snapshot[r + 4, i], snapshot[r + 5, i] = (
        lanes.want[m],
        lanes.water_start[m],
        lanes.heat_start[m],
    )


@njit(**INNER)
def take_up(crew, plan, i, m):
    """Put a member that was kept in lane ``m``: the inverse of ``put_down``."""
    y, total, lanes, snapshot = crew.y, crew.total, crew.lanes, plan.start
    load(crew, plan, i, m)
    lanes.knot[m], lanes.late[m] = plan.first_knot, 0.0
    r = lifted(y.h, snapshot, 0, i, m)
    r = lifted(y.x, snapshot, r, i, m)
    r = lifted(y.z, snapshot, r, i, m)
    r = lifted(crew.lost.z, snapshot, r, i, m)
    r = lifted(total.gelatin, snapshot, r, i, m)
    r = lifted(total.shrink, snapshot, r, i, m)
    r = lifted(total.kill, snapshot, r, i, m)
    r = lifted(total.colour, snapshot, r, i, m)
    r = lifted(crew.lost.h, snapshot, r, i, m)
    r = lifted(crew.lost.x, snapshot, r, i, m)
    r = lifted(lanes.before, snapshot, r, i, m)
    lanes.stage[m], lanes.since[m], lanes.opened[m] = int(snapshot[r, i]), snapshot[r + 1, i], snapshot[r + 2, i]
    lanes.want[m], lanes.water_start[m], lanes.heat_start[m] = (
        snapshot[r + 3, i],
        snapshot[r + 4, i],
        snapshot[r + 5, i],
    )
    enter(crew.S, plan.table, lanes.stage[m], i, m)


@njit(**INNER)
def next_member(grid, crew, plan, queue, m):
    """Seat the next member in lane ``m``; whether there was one."""
    start, lanes = plan.start, crew.lanes
    while queue[0] < queue[1]:
        member = queue[0]
        queue[0] += 1
        if start.shape[0] == 0:
            seat(grid, crew, plan, member, m)
        elif start[start.shape[0] - EXTRAS, member] == DONE:
            continue
        else:
            take_up(crew, plan, member, m)
        return True
    lanes.member[m] = -1
    lanes.late[m] = 0.0
    return False


@njit(**INNER)
def keep(crew, plan, snapshot):
    """Keep the members that are at the knot where that is asked for."""
    if plan.snapshot_at >= 0:
        for m in range(LANES):
            if crew.lanes.due[m] == AT_KNOT and crew.lanes.knot[m] == plan.snapshot_at:
                put_down(snapshot, crew, m)


@njit(**INNER)
def relieve(grid, crew, plan, results, queue):
    """Close the books of the lanes that are over, and seat the next members; whether any is at its first knot now."""
    lanes, fresh = crew.lanes, False
    for m in range(LANES):
        if lanes.due[m] == IS_OVER:
            close_books(grid, crew.P, crew.y, lanes, results.balance, m)
            lanes.due[m] = AT_KNOT if next_member(grid, crew, plan, queue, m) else GOES_ON
            fresh = fresh or lanes.due[m] == AT_KNOT
    return fresh


@njit(**INNER)
def at_knots(grid, crew, plan, results, snapshot, queue):
    """All that is due at the knots that lanes have come to, until every lane goes on or is empty."""
    P, S, y, total, lanes = crew.P, crew.S, crew.y, crew.total, crew.lanes
    fresh = True
    while fresh:
        keep(crew, plan, snapshot)
        if is_due(lanes, plan.record_every, results.out.shape[0]):
            glimpse(grid, P, y, total.colour, crew.seen)
            survey(grid, P, S, y, total, crew.room, crew.seen)
            record(grid.core, S, y.z, total.gelatin, crew.seen, lanes, plan, results.out)
        leave_stages(P, S, plan, lanes, y.z, results.ends)
        go_on(crew.pit, lanes, plan)
        fresh = relieve(grid, crew, plan, results, queue)


@njit(**INNER)
def line_up(pit, lanes, knot_s):
    """Set every lane's next step: what it wants, but no further than the next knot; whether any lane still cooks."""
    cooking = False
    for m in range(LANES):
        seated = lanes.member[m] >= 0
        lanes.step[m] = min(lanes.want[m], knot_s - lanes.late[m]) if seated else np.float64(0.0)
        pit.late[m] = lanes.late[m]
        pit.dt[m] = lanes.step[m]
        cooking = cooking or seated
    return cooking


@njit(**INNER)
def refuse(pit, lanes, shortest_s, fault, effort):
    """Take back the steps that went too far; those lanes try half of it next."""
    for m in range(LANES):
        dt = lanes.step[m]
        if fault[m] > 1.0 and dt > 1.01 * shortest_s:
            lanes.want[m] = 0.5 * dt
            pit.dt[m] = 0.0
            effort[1, lanes.member[m]] += 1.0


@njit(**INNER)
def count(pit, lanes, plan, fault, effort):
    """Count the steps that stand; whether any lane has come to a knot."""
    some = False
    for m in range(LANES):
        if pit.dt[m] <= 0.0:
            continue
        dt = lanes.step[m]
        lanes.late[m] += dt
        effort[0, lanes.member[m]] += 1.0
        if fault[m] < CALM:
            lanes.want[m] = min(plan.longest_s, max(lanes.want[m], 2.0 * dt))
        if lanes.late[m] >= plan.knot_s - 1e-6:
            lanes.late[m] = 0.0
            lanes.knot[m] += 1
            lanes.since[m] += plan.knot_s
            lanes.due[m] = AT_KNOT
            some = True
    return some


@njit(**INNER)
def move_on(grid, crew, plan, fault, results, snapshot, queue):
    """Count the steps that stand; see to the lanes that have come to a knot."""
    lanes, seen = crew.lanes, crew.seen
    if count(crew.pit, lanes, plan, fault, results.effort):
        glimpse(grid, crew.P, crew.y, crew.total.colour, seen)
        check(grid.core, crew.y, seen, lanes, plan.knot_s, results.failed)
        set_marks(crew.P, crew.S, crew.total.gelatin, grid.core, seen, lanes, plan.knot_s, results.marks)
        at_knots(grid, crew, plan, results, snapshot, queue)


@njit(**OUTER)
def run_members(first, last, grid, plan, results, snapshot, like):
    """Run members ``first`` to ``last`` in the precision of ``like``; fills ``results`` and ``snapshot``."""
    nc, nb = grid.volume.shape[0], grid.ocell.shape[0]
    nz = TALLIES + 2 * nb
    P, S = rows(at.ROWS, like), rows(plan.table.shape[1], like)
    y = state_like(nc, nz, like)
    lost = state_like(nc, nz, like)
    work = Work(state_like(nc, nz, like), state_like(nc, nz, like), state_like(nc, nz, like), lost)
    flow = nc + grid.ny
    fields = Fields(
        rows(nc, like), rows(nc, like), rows(nc, like), rows(nc, like), rows(nc, like), rows(nc, like),
        rows(nc, like), rows(nc, like), rows(flow, like), rows(flow, like), rows(flow, like), rows(flow, like),
        rows(nb, like), rows(nb, like), rows(nb, like), rows(nb, like), rows(nb, like), rows(nb, like), rows(nb, like),
    )  # fmt: skip
    most = max(grid.x.lines, grid.y.lines)
    steadier = Steadier(
        lines_like(nc, like), lines_like(nc, like), rows(nc, like), rows(nc, like), rows(nc, like), rows(nc, like),
        rows(nc, like),
        rows(nb, like), rows(nb, like), rows(nb, like), rows(nb, like), rows(most, like), rows(most, like),
        rows(1, like)[0],
    )  # fmt: skip
    total = Slow(rows(nc, like), rows(nc, like), rows(nc, like), rows(nb, like))
    pit = Pit(
        rows(1, like)[0], rows(1, like)[0], rows(1, like)[0], rows(1, like)[0], rows(1, like)[0], rows(1, like)[0],
        rows(1, like)[0], rows(1, like)[0],
    )  # fmt: skip
    lanes = Lanes(
        np.full(LANES, -1), np.zeros(LANES, np.int64), np.zeros(LANES), np.zeros(LANES), np.zeros(LANES),
        np.zeros(LANES, np.int64), np.zeros(LANES), np.zeros(LANES), np.zeros(LANES, np.int64),
        np.zeros((NMARK, LANES)), np.zeros(LANES), np.zeros(LANES),
    )  # fmt: skip
    crew = Crew(P, S, pit, y, total, lanes, lost, rows(SEEN, like), rows(1, like)[0])
    fault = rows(1, like)[0]
    queue = np.array([first, last])
    for m in range(LANES):  # a lane that never gets a member reckons the first one's numbers, to no effect
        seat(grid, crew, plan, first, m)
    for m in range(LANES):
        lanes.due[m] = AT_KNOT if next_member(grid, crew, plan, queue, m) else GOES_ON
    at_knots(grid, crew, plan, results, snapshot, queue)
    while line_up(pit, lanes, plan.knot_s):
        attempt(grid, P, S, pit, y, work, fields, steadier, fault)
        refuse(pit, lanes, plan.shortest_s, fault, results.effort)
        settle(grid, P, S, pit, y, work, fields, total)
        move_on(grid, crew, plan, fault, results, snapshot, queue)


def run(
    first, last, *, section, values, table, air, raw_mass, knot_s, known_s, steps, record_every, substeps, snapshot_at,
    snapshot, start, first_knot, results, single
):  # fmt: skip
    """Run some members and fill the results; arguments as the readable twin's ``run_members`` takes them."""
    precision = np.float32 if single else np.float64
    longest_s = knot_s / substeps
    shortest_s = min(knot_s / MOST_PARTS, longest_s)
    plan = Plan(
        values, table, air, raw_mass, knot_s, known_s, steps, record_every, longest_s, shortest_s, snapshot_at, start,
        first_knot
    )  # fmt: skip
    like = np.zeros(1, precision)
    machine.run_members(first, last, grid_of(section, precision), plan, Results(**results), snapshot, like)
