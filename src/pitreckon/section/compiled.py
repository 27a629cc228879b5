"""The compiled kernel: whole courses, members innermost in blocks of ``LANES``.

Unsplit second-order Runge-Kutta-Chebyshev on enthalpy and water together; the stages of each step come from
a bound on the spectrum at its start. The readable twin with the same signature is ``readable.py``; the
physics of both is in ``laws.py``.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numba.core.compiler import CompilerBase, DefaultPassBuilder

from pitreckon.section import laws
from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW
from pitreckon.section.tally import (
    BOILED,
    DRIPPED,
    EVAPORATED,
    GLAZE0,
    HEAT_IN,
    HEAT_OUT,
    POOL,
    TALLIES,
)
from pitreckon.section.trace import CHANNELS, MARKS

LANES = 8

# The rows and columns as plain integers, which the compiler folds into the code.
SCALE, START, WATER0 = ROW["scale"], ROW["start_c"], ROW["water"]
DENSITY, DRY_CP = ROW["dry_density"], ROW["dry_cp"]
K_BASE, K_TEMP, K_WATER = ROW["k_base"], ROW["k_temp"], ROW["k_water"]
BONE_K, BONE_C = ROW["bone_k"], ROW["bone_capacity"]
TRANSPORT, DIFFUSION, SHIFT, DROP, DRIP, SKIN_B = (
    ROW["transport"],
    ROW["diffusion"],
    ROW["hold_shift"],
    ROW["hold_drop"],
    ROW["drip"],
    ROW["skin_b"],
)
GEL_RATE, GEL_EA, COL_RATE, COL_EA = (
    ROW["gelatin_rate"],
    ROW["gelatin_ea_over_r"],
    ROW["colour_rate"],
    ROW["colour_ea_over_r"],
)
TENDER_AT, SOFT_AT, DARK_AT, DONE_C, SET_AT = (
    ROW["tender_at"],
    ROW["soft_at"],
    ROW["dark_at"],
    ROW["core_done_c"],
    ROW["glaze_set_at"],
)
PRESSURE, BOIL = ROW["pressure_pa"], ROW["boil_c"]

UNTIL, VALUE, FORCED, NOT_BEFORE, LONGEST = (
    COLUMN["until"],
    COLUMN["value"],
    COLUMN["forced_s"],
    COLUMN["not_before_s"],
    COLUMN["longest_s"],
)
OFF_PIT, AIR, VAPOUR, WALL, DIP, RECOVERY = (
    COLUMN["off_pit"],
    COLUMN["air_c"],
    COLUMN["vapour_pa"],
    COLUMN["wall_offset_k"],
    COLUMN["lid_dip_k"],
    COLUMN["lid_recovery_s"],
)
SUGAR, HOLDS, LIQUID, GLAZE_W, GLAZE_S = (
    COLUMN["sugar"],
    COLUMN["holds_liquid"],
    COLUMN["liquid"],
    COLUMN["glaze_water"],
    COLUMN["glaze_solid"],
)
CONV, EMIS, STEFAN = COLUMN["convection_0"], COLUMN["emissivity_0"], COLUMN["vapour_0"]

CW, SIGMA, ZERO = laws.WATER_CP_J_KGK, laws.SIGMA_W_M2K4, laws.CELSIUS_ZERO_K
INV_STEAM_TAU, DRY, INV_DRY = 1.0 / laws.STEAM_TAU_S, laws.DRY_LIMIT, 1.0 / laws.DRY_LIMIT
POOL_FILM, GLAZE_HOLD, COLOUR_FLOOR = laws.POOL_FILM_KG_M2, laws.GLAZE_HOLD, laws.COLOUR_FLOOR
SAFETY = 1.1
FRESH_PARTS, MOST_PARTS = 4, 64
TEMPERATURE_FAULT_K, WATER_FAULT = 0.3, 0.03
"""Estimated error of one step in any cell that makes it shorter [K, kg/kg]."""
NCH, NMARK = len(CHANNELS), len(MARKS)


class _Apart(CompilerBase):  # type: ignore[misc]
    """The usual compiler, told that array arguments never overlap; without it no lane loop vectorises."""

    def define_pipelines(self) -> Any:
        self.state.flags.noalias = True
        return [DefaultPassBuilder.define_nopython_pipeline(self.state)]


_jit = {"cache": True, "nogil": True, "error_model": "numpy", "pipeline_class": _Apart}
# Inner functions allocate nothing; counting references to their arrays would cost more than their arithmetic.
_bare = _jit | {"_nrt": False}


@njit(**_bare)
def held(v: float, low: float, high: float) -> float:
    """``v`` limited to low..high."""
    return min(max(v, low), high)


@njit(**_bare)
def state_of(nc, bone, P, h, x, T, C, K, D, B, E):  # type: ignore[no-untyped-def]
    """Temperature, heat capacity, conductivity, transport coefficient and water excess of every cell."""
    for c in range(nc):
        b = bone[c]
        meat = 1.0 - b
        for m in range(LANES):
            cap = meat * P[DENSITY, m] * (P[DRY_CP, m] + CW * x[c, m]) + b * P[BONE_C, m]
            t = h[c, m] / cap
            tl = held(t, -20.0, 140.0)
            C[c, m] = cap
            T[c, m] = t
            K[c, m] = meat * (P[K_BASE, m] + P[K_TEMP, m] * tl + P[K_WATER, m] * x[c, m]) + b * P[BONE_K, m]
            D[c, m] = P[TRANSPORT, m] * laws.transport_shape(tl)
            B[c, m] = P[DIFFUSION, m] * laws.diffusion_shape(held(t, 0.0, 120.0))
            room = P[WATER0, m] * (1.0 - P[DROP, m] * laws.holding_share(held(tl - P[SHIFT, m], -20.0, 140.0)))
            E[c, m] = x[c, m] - room


@njit(**_bare)
def across(a, b, g, gw, P, x, T, K, D, B, E, Q, J):  # type: ignore[no-untyped-def]
    """Heat ``Q`` [W] and water ``J`` [kg/s of dry matter's measure] from cell ``a`` to its neighbour ``b``."""
    for m in range(LANES):
        s2 = 1.0 / (P[SCALE, m] * P[SCALE, m])
        # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
        pull = 0.5 * (D[a, m] + D[b, m]) * (max(E[a, m], 0.0) - max(E[b, m], 0.0))
        pull += 0.5 * (B[a, m] + B[b, m]) * (E[a, m] - E[b, m])
        # The giving cell limits the flow, so that none goes negative and a dry one can still take.
        given = max(pull, 0.0) * held(x[a, m] * INV_DRY, 0.0, 1.0) + min(pull, 0.0) * held(x[b, m] * INV_DRY, 0.0, 1.0)
        moved = gw * s2 * given
        warm = CW * P[DENSITY, m] * moved * 0.5 * (T[a, m] + T[b, m])
        Q[a, m] = g * s2 * 0.5 * (K[a, m] + K[b, m]) * (T[a, m] - T[b, m]) + warm
        J[a, m] = moved


@njit(**_bare)
def slope(
    nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, total_area, P, S, air, wall, h, x, z, T, C, K, D, B, E, QX, QY, JX,
    JY, dh, dx, dz
):  # type: ignore[no-untyped-def]
    """Time derivatives of enthalpy ``h`` [J/m3], water ``x`` [kg/kg] and the tallies ``z`` of one block."""
    nc = nx * ny
    state_of(nc, bone, P, h, x, T, C, K, D, B, E)
    for i in range(dz.shape[0]):
        for m in range(LANES):
            dz[i, m] = 0.0
    for i in range(nx):
        for j in range(ny):
            a = i * ny + j
            ma = 1.0 - bone[a]
            if j + 1 < ny:
                across(a, a + 1, gy[i, j], gy[i, j] * min(ma, 1.0 - bone[a + 1]), P, x, T, K, D, B, E, QY, JY)
            if i + 1 < nx:
                across(a, a + ny, gx[i, j], gx[i, j] * min(ma, 1.0 - bone[a + ny]), P, x, T, K, D, B, E, QX, JX)
    for i in range(nx):
        for j in range(ny):
            c = i * ny + j
            meat = 1.0 - bone[c]
            v = volume[c]
            iv = 1.0 / v
            im = iv / meat if meat > 0.0 else 0.0
            some = 1.0 if meat > 0.0 else 0.0
            for m in range(LANES):
                # Heat above boiling turns into steam where there is water.
                over = max(T[c, m] - P[BOIL, m], 0.0)
                wet = held(x[c, m] * INV_DRY, 0.0, 1.0) * some
                lat = laws.latent_heat(T[c, m])
                steam = C[c, m] * over * INV_STEAM_TAU * wet / lat
                taken = steam * (lat + CW * T[c, m])
                dh[c, m] = -taken
                dx[c, m] = -steam * v * im / P[DENSITY, m]
                dz[EVAPORATED, m] += steam * v
                dz[BOILED, m] += steam * v
                dz[HEAT_OUT, m] += taken * v
            if j + 1 < ny:
                for m in range(LANES):
                    dh[c, m] -= iv * QY[c, m]
                    dx[c, m] -= im * JY[c, m]
            if j > 0:
                for m in range(LANES):
                    dh[c, m] += iv * QY[c - 1, m]
                    dx[c, m] += im * JY[c - 1, m]
            if i + 1 < nx:
                for m in range(LANES):
                    dh[c, m] -= iv * QX[c, m]
                    dx[c, m] -= im * JX[c, m]
            if i > 0:
                for m in range(LANES):
                    dh[c, m] += iv * QX[c - ny, m]
                    dx[c, m] += im * JX[c - ny, m]
    for n in range(ocell.shape[0]):
        c = ocell[n]
        g = ogroup[n]
        area = oarea[n]
        iv = 1.0 / volume[c]
        meat = 1.0 - bone[c]
        im = iv / meat if meat > 0.0 else 0.0
        for m in range(LANES):
            t = T[c, m]
            tl = held(t, 0.0, 140.0)
            pool = held(z[POOL, m] / (POOL_FILM * total_area * P[SCALE, m]), 0.0, 1.0) * S[HOLDS, m]
            solid = S[GLAZE_S, m]
            glazed = 1.0 if solid > 0.0 else 0.0
            gw = max(z[GLAZE0 + n, m], 0.0)
            act_glaze = gw / (gw + GLAZE_HOLD * solid + 1e-12)
            act = laws.surface_activity(max(x[c, m], 0.0), P[SKIN_B, m])
            act = act + (1.0 - act) * pool
            act = act + (act_glaze - act) * glazed
            press = P[PRESSURE, m]
            pv = min(act * laws.saturation_pressure(tl), 0.8 * press)
            mass = S[STEFAN + g, m] * laws.log_ratio(press, S[VAPOUR, m], pv)
            own = (1.0 - pool) * (1.0 - glazed)
            excess = E[c, m]
            ooze = P[DENSITY, m] * P[DRIP, m] * (max(excess, 0.0) + pool * min(excess, 0.0)) * meat
            ts, tw = t + ZERO, wall[m] + ZERO
            ts2, tw2 = ts * ts, tw * tw
            heat = S[CONV + g, m] * (air[m] - t) + S[EMIS + g, m] * SIGMA * (tw2 * tw2 - ts2 * ts2)
            gone = mass * laws.latent_heat(t) + CW * t * (mass * own + ooze)
            a = area / P[SCALE, m]
            dh[c, m] += a * iv * (heat - gone)
            dx[c, m] -= a * im * (mass * own + ooze) / P[DENSITY, m]
            dz[EVAPORATED, m] += a * mass * own
            dz[DRIPPED, m] += a * ooze
            dz[POOL, m] += a * S[HOLDS, m] * (ooze - mass * pool * (1.0 - glazed))
            dz[HEAT_IN, m] += a * heat
            dz[HEAT_OUT, m] += a * gone
            dz[GLAZE0 + n, m] = -mass * glazed


@njit(**_bare)
def spectrum(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, alive, P, S, x, T, C, K, D, B, R):  # type: ignore[no-untyped-def]
    """Bound on the fastest rate of the block [1/s]: row sums of the Jacobian, heat and water added."""
    for i in range(nx):
        for j in range(ny):
            c = i * ny + j
            geo = 0.0
            if j + 1 < ny:
                geo += gy[i, j]
            if j > 0:
                geo += gy[i, j - 1]
            if i + 1 < nx:
                geo += gx[i, j]
            if i > 0:
                geo += gx[i - 1, j]
            geo /= volume[c]
            for m in range(LANES):
                # Where the giving cell is nearly dry its own content throttles the flow: a steeper law.
                dry = 6.0 if x[c, m] < DRY else 1.0
                R[c, m] = 2.0 * geo / (P[SCALE, m] * P[SCALE, m]) * (K[c, m] / C[c, m] + D[c, m] + dry * B[c, m])
                R[c, m] += INV_STEAM_TAU if T[c, m] > P[BOIL, m] - 5.0 else 0.0
    for n in range(ocell.shape[0]):
        c = ocell[n]
        g = ogroup[n]
        for m in range(LANES):
            t = held(T[c, m], 0.0, 140.0)
            thin = oarea[n] / (volume[c] * P[SCALE, m])
            xx = max(x[c, m], 0.0)
            ps = laws.saturation_pressure(t)
            act = laws.surface_activity(xx, P[SKIN_B, m])
            press = P[PRESSURE, m]
            steep = S[STEFAN + g, m] / (press - min(act * ps, 0.8 * press))
            by_t = steep * act * ps * 0.04 * 2.4e6
            # The activity's steepest slope, 0.65/b, unless the surface is too wet to get there in this step.
            by_x = steep * ps * (0.65 / P[SKIN_B, m] if xx < 1.5 else 0.05)
            # A warmer surface pushes water off and a wetter one cools: a coupled pair, both of one sign.
            push = 0.03 * R[c, m] * (D[c, m] + B[c, m]) / (K[c, m] / C[c, m]) * P[WATER0, m] * P[DROP, m]
            R[c, m] += thin * ((S[CONV + g, m] + S[EMIS + g, m] * 16.0 + by_t) / C[c, m] + P[DRIP, m])
            R[c, m] += thin * by_x / P[DENSITY, m] + np.sqrt(push * thin * by_x * 2.4e6 / C[c, m])
    worst = 0.0
    for c in range(nx * ny):
        for m in range(LANES):
            if alive[m] and np.isfinite(R[c, m]):
                worst = max(worst, R[c, m])
    return worst


@njit(**_bare)
def rates(nc, nb, ocell, P, S, x, z, total_area, T, gel, shrink, kill, colour):  # type: ignore[no-untyped-def]
    """Rates of the slow reactions, which do not act back on heat and water."""
    for c in range(nc):
        for m in range(LANES):
            t = held(T[c, m], -20.0, 180.0)
            gel[c, m] = P[GEL_RATE, m] * laws.arrhenius(t, P[GEL_EA, m], 90.0)
            shrink[c, m] = laws.SHRINK_RATE * laws.arrhenius(t, laws.SHRINK_EA_OVER_R, 58.0)
            kill[c, m] = laws.kill_rate(t)
    for n in range(nb):
        c = ocell[n]
        for m in range(LANES):
            t = held(T[c, m], -20.0, 180.0)
            pool = held(z[POOL, m] / (POOL_FILM * total_area * P[SCALE, m]), 0.0, 1.0) * S[HOLDS, m]
            act = laws.surface_activity(max(x[c, m], 0.0), P[SKIN_B, m])
            act = act + (1.0 - act) * pool
            dry = COLOUR_FLOOR + (1.0 - COLOUR_FLOOR) * (1.0 - act)
            colour[n, m] = P[COL_RATE, m] * laws.arrhenius(t, P[COL_EA, m], 90.0) * dry * (1.0 + S[SUGAR, m])


@njit(**_bare)
def first(rows, mt, y, f0, y0, y1, y2):  # type: ignore[no-untyped-def]
    """First stage of the Chebyshev recurrence."""
    for c in range(rows):
        for m in range(LANES):
            y0[c, m] = y[c, m]
            y1[c, m] = y[c, m]
            y2[c, m] = y[c, m] + mt * f0[c, m]


@njit(**_bare)
def further(rows, mu, nu, mt, ga, f, f0, y0, y1, y2):  # type: ignore[no-untyped-def]
    """One further stage: ``y1``, ``y2`` are the last two stages and move on by one."""
    one = 1.0 - mu - nu
    for c in range(rows):
        for m in range(LANES):
            new = one * y0[c, m] + mu * y2[c, m] + nu * y1[c, m] + mt * f[c, m] + ga * f0[c, m]
            y1[c, m] = y2[c, m]
            y2[c, m] = new


@njit(**_bare)
def trapezoid(rows, half, total, rate, rate_new):  # type: ignore[no-untyped-def]
    """Add a step to a time integral and keep the new rate."""
    for c in range(rows):
        for m in range(LANES):
            total[c, m] += half * (rate[c, m] + rate_new[c, m])
            rate[c, m] = rate_new[c, m]


@njit(**_bare)
def step_fault(nc, dt, alive, h0, h2, fh0, fh, x0, x2, fx0, fx, C):  # type: ignore[no-untyped-def]
    """Estimated error of the step over its allowance, worst cell and member (Sommeijer et al. 1998, from memory)."""
    worst = 0.0
    for c in range(nc):
        for m in range(LANES):
            if alive[m]:
                eh = abs(0.8 * (h0[c, m] - h2[c, m]) + 0.4 * dt * (fh0[c, m] + fh[c, m])) / C[c, m]
                ex = abs(0.8 * (x0[c, m] - x2[c, m]) + 0.4 * dt * (fx0[c, m] + fx[c, m]))
                e = max(eh * (1.0 / TEMPERATURE_FAULT_K), ex * (1.0 / WATER_FAULT))
                if not e <= worst:
                    worst = e if e == e else np.inf
    return worst


@njit(**_bare)
def drive(air, k, late, knot_s, known_s, t_at, opened, S, air_now, wall_now):  # type: ignore[no-untyped-def]
    """Air and wall temperature ``late`` seconds after knot ``k``."""
    last = air.shape[0] - 1
    lo, hi = min(k, last), min(k + 1, last)
    w = late / knot_s
    for m in range(LANES):
        a = air[lo, m] + (air[hi, m] - air[lo, m]) * w
        if S[DIP, m] > 0.0 and opened[m] >= known_s:
            a -= S[DIP, m] * np.exp(-(t_at - opened[m]) / S[RECOVERY, m])
        if S[OFF_PIT, m] > 0.0:
            a = S[AIR, m]
        air_now[m] = a
        wall_now[m] = a + S[WALL, m]


@njit(**_jit)
def run_block(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places, P, table, air, knot_s, known_s,
              horizon_s, record_every, substeps, coef, extent, raw_mass, out, marks, ends, balance,
              failed):  # type: ignore[no-untyped-def]  # noqa: C901
    """Run one block of ``LANES`` members through the whole course. Arrays are lane-innermost."""
    nc, nb, ns = nx * ny, ocell.shape[0], table.shape[0]
    nz = TALLIES + nb
    f8 = np.float64
    total_area = 0.0
    upper_area = 0.0
    for n in range(nb):
        total_area += oarea[n]
        if ogroup[n] == 0:
            upper_area += oarea[n]
    meat_volume = 0.0
    for c in range(nc):
        meat_volume += volume[c] * (1.0 - bone[c])
    h, h0, h1, h2 = (np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8),
                     np.zeros((nc, LANES), f8))
    x, x0, x1, x2 = (np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8),
                     np.zeros((nc, LANES), f8))
    z, z0, z1, z2 = (np.zeros((nz, LANES), f8), np.zeros((nz, LANES), f8), np.zeros((nz, LANES), f8),
                     np.zeros((nz, LANES), f8))
    fh, fh0 = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    fx, fx0 = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    fz, fz0 = np.zeros((nz, LANES), f8), np.zeros((nz, LANES), f8)
    T, C, K = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    QX, QY = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    JX, JY = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    D, B, E = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    gel, gel_r = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    shr, shr_r = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    kil, kil_r = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    col, col_r = np.zeros((nb, LANES), f8), np.zeros((nb, LANES), f8)
    gel_n, shr_n, kil_n = np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8), np.zeros((nc, LANES), f8)
    col_n = np.zeros((nb, LANES), f8)
    S = np.zeros((table.shape[1], LANES), f8)
    air_now, wall_now = np.zeros(LANES, f8), np.zeros(LANES, f8)
    stage = np.zeros(LANES, np.int64)
    since = np.zeros(LANES, f8)
    opened = np.full(LANES, -1e9)
    alive = np.ones(LANES, np.bool_)
    now = np.zeros((NMARK, LANES), f8)
    before = np.zeros((NMARK, LANES), f8)
    water_start, heat_start = np.zeros(LANES, f8), np.zeros(LANES, f8)

    for m in range(LANES):
        for f in range(table.shape[1]):
            S[f, m] = table[0, f, m]
        for n in range(nb):
            z[GLAZE0 + n, m] = S[GLAZE_W, m]
        z[POOL, m] = S[LIQUID, m] * raw_mass[m]
        for c in range(nc):
            meat = 1.0 - bone[c]
            x[c, m] = P[WATER0, m] if meat > 0.0 else 0.0
            cap = meat * P[DENSITY, m] * (P[DRY_CP, m] + CW * x[c, m]) + bone[c] * P[BONE_C, m]
            h[c, m] = cap * P[START, m]
            water_start[m] += volume[c] * meat * P[DENSITY, m] * x[c, m]
            heat_start[m] += volume[c] * h[c, m]
    state_of(nc, bone, P, h, x, T, C, K, D, B, E)
    rates(nc, nb, ocell, P, S, x, z, total_area, T, gel_r, shr_r, kil_r, col_r)

    nrec = out.shape[0]
    steps = int(horizon_s / knot_s + 0.5)
    fresh, calm, parts = True, True, substeps
    worst = 1.0
    for k in range(steps + 1):
        t_now = k * knot_s
        # Record, then see which members leave their stage.
        if k % record_every == 0 and k // record_every < nrec:
            r = k // record_every
            for m in range(LANES):
                if not alive[m]:
                    continue
                surf, act_sum, colour, ratio = 0.0, 0.0, 0.0, 0.0
                for n in range(nb):
                    if ogroup[n] == 0:
                        c = ocell[n]
                        surf += oarea[n] * T[c, m]
                        act_sum += oarea[n] * laws.surface_activity(max(x[c, m], 0.0), P[SKIN_B, m])
                        colour += oarea[n] * col[n, m]
                        ratio += oarea[n] * z[GLAZE0 + n, m]
                mean_t, gel_mean, shr_mean, least = 0.0, 0.0, 0.0, 1e300
                for c in range(nc):
                    w = volume[c] * (1.0 - bone[c])
                    mean_t += w * T[c, m]
                    gel_mean += w * (1.0 - np.exp(-gel[c, m]))
                    shr_mean += w * (1.0 - np.exp(-shr[c, m]))
                    if w > 0.0 and kil[c, m] < least:
                        least = kil[c, m]
                out[r, 0, m] = T[core, m]
                out[r, 1, m] = T[places[1], m]
                out[r, 2, m] = T[places[2], m]
                out[r, 3, m] = surf / upper_area
                out[r, 4, m] = mean_t / meat_volume
                out[r, 5, m] = air_now[m]
                out[r, 6, m] = colour / upper_area
                out[r, 7, m] = z[EVAPORATED, m] / raw_mass[m]
                out[r, 8, m] = z[DRIPPED, m] / raw_mass[m]
                out[r, 9, m] = 1.0 - np.exp(-gel[core, m])
                out[r, 10, m] = gel_mean / meat_volume
                out[r, 11, m] = shr_mean / meat_volume
                out[r, 12, m] = ratio / (upper_area * S[GLAZE_S, m]) if S[GLAZE_S, m] > 0.0 else np.nan
                out[r, 13, m] = np.log10(least + 1e-30)
                out[r, 14, m] = stage[m]
                out[r, 15, m] = act_sum / upper_area
        if k == steps:
            break
        any_alive = False
        for m in range(LANES):
            if not alive[m]:
                continue
            while alive[m]:
                done = False
                if t_now >= S[FORCED, m] - 0.5 * knot_s:
                    done = True
                elif S[FORCED, m] == np.inf and t_now >= S[NOT_BEFORE, m]:
                    u = int(S[UNTIL, m])
                    v = S[VALUE, m]
                    if since[m] >= S[LONGEST, m]:
                        done = True
                    elif u == 0:
                        done = since[m] >= v - 0.5 * knot_s
                    elif u == 1:
                        done = before[0, m] >= v
                    elif u == 2:
                        done = before[1, m] >= v * P[TENDER_AT, m]
                    elif u == 3:
                        done = before[2, m] >= v
                    elif u == 4:
                        done = t_now >= v - 0.5 * knot_s
                    elif u == 5:
                        done = before[3, m] <= P[SET_AT, m]
                if not done:
                    break
                ends[stage[m], m] = t_now
                stage[m] += 1
                if stage[m] >= ns:
                    alive[m] = False
                    break
                for f in range(table.shape[1]):
                    S[f, m] = table[stage[m], f, m]
                since[m] = 0.0
                opened[m] = t_now
                before[3, m] = 1e9
                for n in range(nb):
                    z[GLAZE0 + n, m] = S[GLAZE_W, m]
                z[POOL, m] = (z[POOL, m] if S[HOLDS, m] > 0.0 else 0.0) + S[LIQUID, m] * raw_mass[m]
                fresh = True
            if alive[m]:
                any_alive = True
        if not any_alive:
            break
        if fresh:
            parts = max(parts, FRESH_PARTS)
            fresh = False
        elif calm:
            parts = max(parts // 2, substeps)
        calm = True
        done_s = 0.0
        known = False  # is the slope at the present state known from the step before?
        while done_s < knot_s - 1e-6:
            dt = knot_s / parts
            if not known:
                drive(air, k, done_s, knot_s, known_s, t_now + done_s, opened, S, air_now, wall_now)
                slope(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, total_area, P, S, air_now, wall_now, h, x, z,
                      T, C, K, D, B, E, QX, QY, JX, JY, fh0, fx0, fz0)
                worst = spectrum(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, alive, P, S, x, T, C, K, D, B, E)
                known = True
            stages = 2
            while stages < extent.shape[0] - 1 and extent[stages] < SAFETY * worst * dt:
                stages += 1
            mt = coef[stages, 2, 1] * dt
            first(nc, mt, h, fh0, h0, h1, h2)
            first(nc, mt, x, fx0, x0, x1, x2)
            first(nz, mt, z, fz0, z0, z1, z2)
            for j in range(2, stages + 1):
                late = done_s + coef[stages, 4, j - 1] * dt
                drive(air, k, late, knot_s, known_s, t_now + late, opened, S, air_now, wall_now)
                slope(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, total_area, P, S, air_now, wall_now, h2, x2, z2,
                      T, C, K, D, B, E, QX, QY, JX, JY, fh, fx, fz)
                mu, nu = coef[stages, 0, j], coef[stages, 1, j]
                mt, ga = coef[stages, 2, j] * dt, coef[stages, 3, j] * dt
                further(nc, mu, nu, mt, ga, fh, fh0, h0, h1, h2)
                further(nc, mu, nu, mt, ga, fx, fx0, x0, x1, x2)
                further(nz, mu, nu, mt, ga, fz, fz0, z0, z1, z2)
            late = done_s + dt
            drive(air, k, late, knot_s, known_s, t_now + late, opened, S, air_now, wall_now)
            slope(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, total_area, P, S, air_now, wall_now, h2, x2, z2,
                  T, C, K, D, B, E, QX, QY, JX, JY, fh, fx, fz)
            fault = step_fault(nc, dt, alive, h0, h2, fh0, fh, x0, x2, fx0, fx, C)
            if fault > 1.0 and parts < MOST_PARTS:
                parts *= 2
                continue
            if fault > 0.1:
                calm = False
            done_s += dt
            for c in range(nc):
                for m in range(LANES):
                    h[c, m] = h2[c, m]
                    x[c, m] = x2[c, m]
                    fh0[c, m] = fh[c, m]
                    fx0[c, m] = fx[c, m]
            for c in range(nz):
                for m in range(LANES):
                    z[c, m] = z2[c, m]
                    fz0[c, m] = fz[c, m]
            worst = spectrum(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, alive, P, S, x, T, C, K, D, B, E)
            rates(nc, nb, ocell, P, S, x, z, total_area, T, gel_n, shr_n, kil_n, col_n)
            half = 0.5 * dt
            trapezoid(nc, half, gel, gel_r, gel_n)
            trapezoid(nc, half, shr, shr_r, shr_n)
            trapezoid(nc, half, kil, kil_r, kil_n)
            trapezoid(nb, half, col, col_r, col_n)
        # Marks, placed between the knots by a straight line.
        t_next = t_now + knot_s
        for m in range(LANES):
            if not alive[m]:
                continue
            if not np.isfinite(T[core, m]):
                failed[m] = t_next
                alive[m] = False
                continue
            since[m] += knot_s
            colour, ratio = 0.0, 0.0
            for n in range(nb):
                if ogroup[n] == 0:
                    colour += oarea[n] * col[n, m]
                    ratio += oarea[n] * z[GLAZE0 + n, m]
            now[0, m] = colour / upper_area
            now[1, m] = 1.0 - np.exp(-gel[core, m])
            now[2, m] = T[core, m]
            now[3, m] = ratio / (upper_area * S[GLAZE_S, m]) if S[GLAZE_S, m] > 0.0 else 1e9
            now[4, m] = now[0, m]
            now[5, m] = now[1, m]
            for i in range(NMARK):
                if not np.isnan(marks[i, m]):
                    continue
                if i == 0:
                    goal = 1.0
                elif i == 1:
                    goal = P[TENDER_AT, m]
                elif i == 2:
                    goal = P[DONE_C, m]
                elif i == 3:
                    goal = P[SET_AT, m]
                elif i == 4:
                    goal = P[DARK_AT, m]
                else:
                    goal = P[SOFT_AT, m]
                if (i == 3 and now[i, m] <= goal) or (i != 3 and now[i, m] >= goal):
                    span = now[i, m] - before[i, m]
                    w = (goal - before[i, m]) / span if span != 0.0 else 1.0
                    marks[i, m] = t_now + knot_s * held(w, 0.0, 1.0)
            for i in range(NMARK):
                before[i, m] = now[i, m]
    for m in range(LANES):
        water, heat = 0.0, 0.0
        for c in range(nc):
            water += volume[c] * (1.0 - bone[c]) * P[DENSITY, m] * x[c, m]
            heat += volume[c] * h[c, m]
        out_w = z[EVAPORATED, m] + z[DRIPPED, m]
        balance[0, m] = (water + out_w - water_start[m]) / water_start[m]
        scale = abs(z[HEAT_IN, m]) + abs(z[HEAT_OUT, m]) + abs(heat_start[m])
        balance[1, m] = (heat - heat_start[m] - z[HEAT_IN, m] + z[HEAT_OUT, m]) / scale


@njit(**_jit)
def run_blocks(first, last, nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places, P, table, air, knot_s,
               known_s, horizon_s, record_every, substeps, coef, extent, raw_mass, out, marks, ends, balance,
               failed):  # type: ignore[no-untyped-def]
    """Blocks ``first`` to ``last`` of an ensemble whose arrays lead with the block: [block, ..., lane]."""
    for b in range(first, last):
        run_block(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places, P[b], table[b], air[b], knot_s,
                  known_s, horizon_s, record_every, substeps, coef, extent, raw_mass[b], out[b], marks[b], ends[b],
                  balance[b], failed[b])


def lanes_first(array: Any) -> Any:
    """Members last -> blocks first, lanes last; the tail is padded with the last member."""
    n = array.shape[-1]
    blocks = -(-n // LANES)
    pad = blocks * LANES - n
    if pad:
        array = np.concatenate([array, np.repeat(array[..., -1:], pad, axis=-1)], axis=-1)
    split = array.reshape(*array.shape[:-1], blocks, LANES)
    return np.ascontiguousarray(np.moveaxis(split, -2, 0))


def members_last(array: Any, n: int) -> Any:
    """The inverse of ``lanes_first``: drops the padding."""
    joined = np.moveaxis(array, 0, -2)
    return np.ascontiguousarray(joined.reshape(*joined.shape[:-2], -1)[..., :n])
