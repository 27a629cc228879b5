"""The compiled kernel's physics: rates of change of heat, water and reactions of one block.

The readable twin is ``readable_rates.py``; the laws of both are in ``laws.py``. Arrays are [cell, lane] or
[face, lane].
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from pitreckon.section import compiled_lanes as at
from pitreckon.section import laws
from pitreckon.section.compiled_lanes import LANES, held, inner
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL

CW, SIGMA, ZERO = laws.WATER_CP_J_KGK, laws.SIGMA_W_M2K4, laws.CELSIUS_ZERO_K
INV_STEAM_TAU, DRY, INV_DRY = 1.0 / laws.STEAM_TAU_S, laws.DRY_LIMIT, 1.0 / laws.DRY_LIMIT
POOL_FILM, GLAZE_HOLD, COLOUR_FLOOR = laws.POOL_FILM_KG_M2, laws.GLAZE_HOLD, laws.COLOUR_FLOOR


class Grid(NamedTuple):
    """A section's geometry, as ``shapes.Section`` has it, and its sums."""

    nx: Any
    ny: Any
    gx: Any
    gy: Any
    volume: Any
    bone: Any
    ocell: Any
    oarea: Any
    ogroup: Any
    core: Any
    places: Any
    total_area: Any
    upper_area: Any
    meat_volume: Any


class State(NamedTuple):
    """What the scheme integrates: enthalpy [J/m3], water [kg/kg] and the tallies; also their rates."""

    h: Any
    x: Any
    z: Any


class Fields(NamedTuple):
    """Temperature, heat capacity, conductivity, two transports, water excess; flows between cells."""

    T: Any
    C: Any
    K: Any
    D: Any
    B: Any
    E: Any
    QX: Any
    QY: Any
    JX: Any
    JY: Any


@njit(**inner)
def pool_share(pool, total_area, scale, holds):
    """Share of the surface that ``pool`` of liquid in the wrap keeps wet.

    The tally is per volume of the nominal section: the piece has scale**3 of it, over scale**2 of surface.
    """
    return held(pool * scale / (POOL_FILM * total_area), 0.0, 1.0) * holds


@njit(**inner)
def state_of(bone, P, h, x, T, C, K, D, B, E):
    """Temperature, heat capacity, conductivity, transport coefficient and water excess of every cell."""
    for c in range(bone.shape[0]):
        b = bone[c]
        meat = 1.0 - b
        for m in range(LANES):
            cap = meat * P[at.DENSITY, m] * (P[at.DRY_CP, m] + CW * x[c, m]) + b * P[at.BONE_C, m]
            t = h[c, m] / cap
            tl = held(t, -20.0, 140.0)
            C[c, m] = cap
            T[c, m] = t
            of_meat = P[at.K_BASE, m] + P[at.K_TEMP, m] * tl + P[at.K_WATER, m] * x[c, m]
            K[c, m] = meat * of_meat + b * P[at.BONE_K, m]
            D[c, m] = P[at.TRANSPORT, m] * laws.transport_shape(tl)
            B[c, m] = P[at.DIFFUSION, m] * laws.diffusion_shape(held(t, 0.0, 120.0))
            lost = laws.holding_share(held(tl - P[at.SHIFT, m], -20.0, 140.0))
            E[c, m] = x[c, m] - P[at.WATER0, m] * (1.0 - P[at.DROP, m] * lost)


@njit(**inner)
def across(a, b, g, gw, P, x, T, K, D, B, E, Q, J):
    """Heat ``Q`` [W] and water ``J`` [kg/s] from cell ``a`` to its neighbour ``b``."""
    for m in range(LANES):
        s2 = 1.0 / (P[at.SCALE, m] * P[at.SCALE, m])
        # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
        pull = 0.5 * (D[a, m] + D[b, m]) * (max(E[a, m], 0.0) - max(E[b, m], 0.0))
        pull += 0.5 * (B[a, m] + B[b, m]) * (E[a, m] - E[b, m])
        # The giving cell limits the flow, so that none goes negative and a dry one can still take.
        wet_a, wet_b = held(x[a, m] * INV_DRY, 0.0, 1.0), held(x[b, m] * INV_DRY, 0.0, 1.0)
        given = max(pull, 0.0) * wet_a + min(pull, 0.0) * wet_b
        moved = gw * s2 * given
        warm = CW * P[at.DENSITY, m] * moved * 0.5 * (T[a, m] + T[b, m])
        Q[a, m] = g * s2 * 0.5 * (K[a, m] + K[b, m]) * (T[a, m] - T[b, m]) + warm
        J[a, m] = moved


@njit(**inner)
def slope(grid, P, S, air, wall, y, fields, dy):
    """Time derivatives ``dy`` of state ``y`` of one block; fills its ``fields``."""
    nx, ny, gx, gy = grid.nx, grid.ny, grid.gx, grid.gy
    volume, bone = grid.volume, grid.bone
    T, C, K, D, B, E, QX, QY, JX, JY = fields
    h, x, z = y
    dh, dx, dz = dy
    state_of(bone, P, h, x, T, C, K, D, B, E)
    for i in range(dz.shape[0]):
        for m in range(LANES):
            dz[i, m] = 0.0
    for i in range(nx):
        for j in range(ny):
            a = i * ny + j
            ma = 1.0 - bone[a]
            if j + 1 < ny:
                gw = gy[i, j] * min(ma, 1.0 - bone[a + 1])
                across(a, a + 1, gy[i, j], gw, P, x, T, K, D, B, E, QY, JY)
            if i + 1 < nx:
                gw = gx[i, j] * min(ma, 1.0 - bone[a + ny])
                across(a, a + ny, gx[i, j], gw, P, x, T, K, D, B, E, QX, JX)
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
                over = max(T[c, m] - P[at.BOIL, m], 0.0)
                wet = held(x[c, m] * INV_DRY, 0.0, 1.0) * some
                lat = laws.latent_heat(T[c, m])
                steam = C[c, m] * over * INV_STEAM_TAU * wet / lat
                taken = steam * (lat + CW * T[c, m])
                dh[c, m] = -taken
                dx[c, m] = -steam * v * im / P[at.DENSITY, m]
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
    surface(grid, P, S, air, wall, x, z, T, E, dh, dx, dz)


@njit(**inner)
def surface(grid, P, S, air, wall, x, z, T, E, dh, dx, dz):
    """Convection, radiation, evaporation and drip on the outer faces; the glaze dries on top of them."""
    ocell, oarea, ogroup = grid.ocell, grid.oarea, grid.ogroup
    volume, bone = grid.volume, grid.bone
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
            pool = pool_share(z[POOL, m], grid.total_area, P[at.SCALE, m], S[at.HOLDS, m])
            solid = S[at.GLAZE_S, m]
            glazed = 1.0 if solid > 0.0 else 0.0
            gw = max(z[GLAZE0 + n, m], 0.0)
            act_glaze = gw / (gw + GLAZE_HOLD * solid + 1e-12)
            act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
            act = act + (1.0 - act) * pool
            act = act + (act_glaze - act) * glazed
            press = P[at.PRESSURE, m]
            pv = min(act * laws.saturation_pressure(tl), 0.8 * press)
            mass = S[at.STEFAN + g, m] * laws.log_ratio(press, S[at.VAPOUR, m], pv)
            own = (1.0 - pool) * (1.0 - glazed)
            excess = E[c, m]
            ooze = P[at.DENSITY, m] * P[at.DRIP, m] * (max(excess, 0.0) + pool * min(excess, 0.0)) * meat
            ts, tw = t + ZERO, wall[m] + ZERO
            ts2, tw2 = ts * ts, tw * tw
            heat = S[at.CONV + g, m] * (air[m] - t) + S[at.EMIS + g, m] * SIGMA * (tw2 * tw2 - ts2 * ts2)
            gone = mass * laws.latent_heat(t) + CW * t * (mass * own + ooze)
            a = area / P[at.SCALE, m]
            dh[c, m] += a * iv * (heat - gone)
            dx[c, m] -= a * im * (mass * own + ooze) / P[at.DENSITY, m]
            dz[EVAPORATED, m] += a * mass * own
            dz[DRIPPED, m] += a * ooze
            dz[POOL, m] += a * S[at.HOLDS, m] * (ooze - mass * pool * (1.0 - glazed))
            dz[HEAT_IN, m] += a * heat
            dz[HEAT_OUT, m] += a * gone
            dz[GLAZE0 + n, m] = -mass * glazed


@njit(**inner)
def spectrum(grid, alive, P, S, x, T, C, K, D, B, R):
    """Bound on the fastest rate of the block [1/s]: row sums of the Jacobian ``R``, heat and water added."""
    nx, ny, gx, gy = grid.nx, grid.ny, grid.gx, grid.gy
    volume, ocell, oarea, ogroup = grid.volume, grid.ocell, grid.oarea, grid.ogroup
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
                spread = K[c, m] / C[c, m] + D[c, m] + dry * B[c, m]
                R[c, m] = 2.0 * geo / (P[at.SCALE, m] * P[at.SCALE, m]) * spread
                R[c, m] += INV_STEAM_TAU if T[c, m] > P[at.BOIL, m] - 5.0 else 0.0
    for n in range(ocell.shape[0]):
        c = ocell[n]
        g = ogroup[n]
        for m in range(LANES):
            t = held(T[c, m], 0.0, 140.0)
            thin = oarea[n] / (volume[c] * P[at.SCALE, m])
            xx = max(x[c, m], 0.0)
            ps = laws.saturation_pressure(t)
            act = laws.surface_activity(xx, P[at.SKIN_B, m])
            press = P[at.PRESSURE, m]
            steep = S[at.STEFAN + g, m] / (press - min(act * ps, 0.8 * press))
            by_t = steep * act * ps * 0.04 * 2.4e6
            # The activity's steepest slope, 0.65/b, unless the surface is too wet to get there in this step.
            by_x = steep * ps * (0.65 / P[at.SKIN_B, m] if xx < 1.5 else 0.05)
            # A warmer surface pushes water off and a wetter one cools: a coupled pair, both of one sign.
            push = (
                0.03 * R[c, m] * (D[c, m] + B[c, m]) / (K[c, m] / C[c, m]) * P[at.WATER0, m] * P[at.DROP, m]
            )
            R[c, m] += thin * (
                (S[at.CONV + g, m] + S[at.EMIS + g, m] * 16.0 + by_t) / C[c, m] + P[at.DRIP, m]
            )
            R[c, m] += thin * by_x / P[at.DENSITY, m] + np.sqrt(push * thin * by_x * 2.4e6 / C[c, m])
    worst = 0.0
    for c in range(nx * ny):
        for m in range(LANES):
            if alive[m] and np.isfinite(R[c, m]):
                worst = max(worst, R[c, m])
    return worst


@njit(**inner)
def rates(grid, P, S, x, z, T, gel, shrink, kill, colour):
    """Rates of the slow reactions, which do not act back on heat and water."""
    for c in range(T.shape[0]):
        for m in range(LANES):
            t = held(T[c, m], -20.0, 180.0)
            gel[c, m] = P[at.GEL_RATE, m] * laws.arrhenius(t, P[at.GEL_EA, m], 90.0)
            shrink[c, m] = laws.SHRINK_RATE * laws.arrhenius(t, laws.SHRINK_EA_OVER_R, 58.0)
            kill[c, m] = laws.kill_rate(t)
    for n in range(colour.shape[0]):
        c = grid.ocell[n]
        for m in range(LANES):
            t = held(T[c, m], -20.0, 180.0)
            pool = pool_share(z[POOL, m], grid.total_area, P[at.SCALE, m], S[at.HOLDS, m])
            act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
            act = act + (1.0 - act) * pool
            dry = COLOUR_FLOOR + (1.0 - COLOUR_FLOOR) * (1.0 - act)
            colour[n, m] = (
                P[at.COL_RATE, m] * laws.arrhenius(t, P[at.COL_EA, m], 90.0) * dry * (1.0 + S[at.SUGAR, m])
            )
