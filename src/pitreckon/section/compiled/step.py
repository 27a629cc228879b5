"""The compiled kernel's time stepping: one step of every lane, each of its own length, kept or refused.

The readable twin is ``tests/oracles/readable/step.py``; ``multistage.py`` has the scheme.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.lanes import in_rows, span
from pitreckon.section.compiled.rates import NOTHING, react, slope
from pitreckon.section.compiled.steady import prepare, steady
from pitreckon.section.multistage import DRY, STAGE_AT, STEADY, TEMPERATURE_FAULT_K, WATER_FAULT
from pitreckon.section.precision import INNER, njit

PER_TEMPERATURE, PER_WATER = 1.0 / TEMPERATURE_FAULT_K, 1.0 / WATER_FAULT
SHORT_AT = STAGE_AT[0]
REFUSED = 1e9
FAR = 1e15
"""Turns water below dry, by a millionth, into a step that is refused."""
HUGE = 1e37


Pit = namedtuple("Pit", "air0 rise opened late dt air wall ahead")
"""The pit of every lane and its step.

Air at the last knot and its rise to the next a second [degC, K/s]; how long ago, at that knot, the lid was open;
how far into the knot; length of the step [s]; air and wall now; how far the line solves look ahead [s].
"""


Slow = namedtuple("Slow", "gelatin shrink kill colour")
"""Time integrals of gelatin, shrinkage, kill and colour."""


Work = namedtuple("Work", "mid k d lost")
"""The stage under way, the first stage's steadied rates, and rates; what rounding cut off the state."""


@njit(**INNER)
def drive(pit, S):
    """Air and wall temperature of each lane's step: their mean over it, which is what they are half-way."""
    lanes = span(pit.dt)
    for m in range(lanes):
        late = pit.late[m] + 0.5 * pit.dt[m]
        fade = laws.exp_near(laws.limited(-(pit.opened[m] + late) / S[at.RECOVERY, m], -30.0, 30.0))
        a = pit.air0[m] + pit.rise[m] * late - S[at.DIP, m] * fade
        a = S[at.AIR, m] if S[at.OFF_PIT, m] > 0.0 else a
        pit.air[m] = a
        pit.wall[m] = a + S[at.WALL, m]


@njit(**INNER)
def begin(y, dt, mid, k):
    """Both stages begin at ``y``, with nothing known of its rates."""
    lanes = span(dt)
    y, mid, k = in_rows((y, mid, k))
    for c in range(y.shape[0]):
        for m in range(lanes):
            mid[c, m] = y[c, m] + NOTHING
            k[c, m] = dt[m] * NOTHING


@njit(**INNER)
def onward(share, y, d, k, dt, mid):
    """What is newly known on top of what was, and the state that share of the step on."""
    lanes = span(dt)
    y, d, k, mid = in_rows((y, d, k, mid))
    for c in range(d.shape[0]):
        for m in range(lanes):
            k[c, m] += d[c, m]
            mid[c, m] = y[c, m] + share * dt[m] * k[c, m]


@njit(**INNER)
def counted(share, z, dz, dt, mid):
    """The tallies that share of the step on."""
    lanes = span(dt)
    z, dz, mid = in_rows((z, dz, mid))
    for c in range(dz.shape[0]):
        for m in range(lanes):
            mid[c, m] = z[c, m] + share * dt[m] * dz[c, m]


@njit(**INNER)
def judge(x, d, capacity, dt, fault):
    """Difference of the two stages over its allowance, the worst cell of each lane; no number is far too much."""
    lanes = span(dt)
    x, dh, dx, capacity = in_rows((x, d.h, d.x, capacity))
    for m in range(lanes):
        fault[m] = 0.0
    for c in range(x.shape[0]):
        for m in range(lanes):
            heat = abs(dh[c, m]) * PER_TEMPERATURE / capacity[c, m]
            water = abs(dx[c, m]) * PER_WATER
            too_dry = (DRY - x[c, m]) * FAR
            # The first argument stays where the second is no number.
            worst = max(fault[m], min(REFUSED, dt[m] * heat), min(REFUSED, dt[m] * water), too_dry)
            fault[m] = worst + 0.0  # the sum keeps the store whole: a masked one is slow


@njit(**INNER)
def booked(dz, dt, z, lost):
    """Add a step to ``z``; ``lost`` keeps what rounding cut off, for thousands of steps add up (Kahan 1965).

    What a calm cell gains in a step can be less than its last digit.

    A lane whose step was refused has a ``dt`` of 0; a rate that is no number comes to nothing there.
    """
    lanes = span(dt)
    dz, z, lost = in_rows((dz, z, lost))
    for c in range(dz.shape[0]):
        for m in range(lanes):
            more = min(HUGE, max(-HUGE, dz[c, m])) * dt[m] - lost[c, m]
            total = z[c, m] + more
            lost[c, m] = (total - z[c, m]) - more
            z[c, m] = total


@njit(**INNER)
def attempt(grid, P, S, pit, y, work, fields, s, fault):
    """Try one step of every lane from ``y``; the new state is in ``work.mid``, how far it is off in ``fault``."""
    lanes = span(P[0])
    mid, k, d, _ = work
    begin(y.h, pit.dt, mid.h, k.h)
    begin(y.x, pit.dt, mid.x, k.x)
    counted(0.0, y.z, y.z, pit.dt, mid.z)
    for m in range(lanes):
        pit.ahead[m] = STEADY * pit.dt[m]
    steadied_boiling = False
    drive(pit, S)
    for half in range(2):
        share = SHORT_AT if half == 0 else 1.0
        boiling = slope(grid, P, S, pit.air, pit.wall, mid, k, fields, d)
        if half == 0:
            steadied_boiling = boiling
            prepare(grid, P, S, y, fields, pit.ahead, boiling, s)
        steady(grid, P, S, steadied_boiling, s, d)
        onward(share, y.h, d.h, k.h, pit.dt, mid.h)
        onward(share, y.x, d.x, k.x, pit.dt, mid.x)
        counted(share, y.z, d.z, pit.dt, mid.z)
    judge(mid.x, d, s.capacity, pit.dt, fault)


@njit(**INNER)
def settle(grid, P, S, pit, y, work, fields, total):
    """Take the tried step of the lanes whose ``pit.dt`` was left standing; the others stay where they are."""
    booked(work.k.h, pit.dt, y.h, work.lost.h)
    booked(work.k.x, pit.dt, y.x, work.lost.x)
    booked(work.d.z, pit.dt, y.z, work.lost.z)
    react(grid.ocell, P, S, fields.T, fields.dry, pit.dt, total)
