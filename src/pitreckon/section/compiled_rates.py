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
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL

CW, SIGMA, ZERO = laws.WATER_CP_J_KGK, laws.SIGMA_W_M2K4, laws.CELSIUS_ZERO_K
INV_STEAM_TAU, INV_DRY = 1.0 / laws.STEAM_TAU_S, 1.0 / laws.DRY_LIMIT
FREE_WIDTH2 = laws.FREE_WIDTH**2
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
    """What follows from a state.

    Temperature, heat capacity, conductivity, two transports, water excess and what of it is free, by cell; flows
    of heat and water from a cell to its next along x and y, kept ``ny`` rows further down, so that the rows before the
    first cell and past an edge are there and stay zero; of one outer face: vapour, the shares of it that come
    from liquid in the wrap and from a glaze, drip and heat.
    """

    T: Any
    C: Any
    K: Any
    D: Any
    B: Any
    E: Any
    F: Any
    QX: Any
    QY: Any
    JX: Any
    JY: Any
    vapour: Any
    pooled: Any
    glazed: Any
    ooze: Any
    heat: Any


@njit(**inner)
def pool_share(pool, total_area, scale, holds):
    """Share of the surface that ``pool`` of liquid in the wrap keeps wet.

    The tally is per volume of the nominal section: the piece has scale**3 of it, over scale**2 of surface.
    """
    return held(pool * scale / (POOL_FILM * total_area), 0.0, 1.0) * holds


@njit(**inner)
def state_of(bone, P, h, x, T, C, K, D, B, E, F):
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
            moves, lost = laws.transport_and_holding(tl, held(tl - P[at.SHIFT, m], -20.0, 140.0))
            D[c, m] = P[at.TRANSPORT, m] * moves
            B[c, m] = P[at.DIFFUSION, m] * laws.diffusion_shape(held(t, 0.0, 120.0))
            excess = x[c, m] - P[at.WATER0, m] * (1.0 - P[at.DROP, m] * lost)
            E[c, m] = excess
            F[c, m] = 0.5 * (excess + np.sqrt(excess * excess + FREE_WIDTH2))


@njit(**inner)
def across(a, b, row, g, gw, P, shrink2, x, T, K, D, B, E, F, Q, J):
    """Heat ``Q[row]`` [W] and water ``J[row]`` [kg/s] from cell ``a`` to its neighbour ``b``."""
    for m in range(LANES):
        # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
        pull = (D[a, m] + D[b, m]) * (F[a, m] - F[b, m])
        pull += (B[a, m] + B[b, m]) * (E[a, m] - E[b, m])
        # The giving cell limits the flow, so that none goes negative and a dry one can still take.
        wet_a, wet_b = held(x[a, m] * INV_DRY, 0.0, 1.0), held(x[b, m] * INV_DRY, 0.0, 1.0)
        given = max(pull, 0.0) * wet_a + min(pull, 0.0) * wet_b
        moved = 0.5 * gw * given
        warm = CW * P[at.DENSITY, m] * moved * 0.5 * (T[a, m] + T[b, m])
        Q[row, m] = (0.5 * g * (K[a, m] + K[b, m]) * (T[a, m] - T[b, m]) + warm) * shrink2[m]
        J[row, m] = moved * shrink2[m]


@njit(**inner)
def gather(c, ny, iv, im, QX, QY, JX, JY, dh, dx):
    """Rates of a cell from the flows through its four faces."""
    row = c + ny
    for m in range(LANES):
        dh[c, m] = iv * (QY[row - 1, m] - QY[row, m] + QX[row - ny, m] - QX[row, m])
        dx[c, m] = im * (JY[row - 1, m] - JY[row, m] + JX[row - ny, m] - JX[row, m])


@njit(**inner)
def boils_somewhere(P, T, most):
    """Is any cell of any member above its boiling point? ``most`` is room for one number a lane."""
    for m in range(LANES):
        most[m] = T[0, m]
    for c in range(1, T.shape[0]):
        for m in range(LANES):
            most[m] = max(most[m], T[c, m])
    for m in range(LANES):  # noqa: SIM110  (no generators in compiled code)
        if not most[m] <= P[at.BOIL, m]:
            return True
    return False


@njit(**inner)
def boil(volume, bone, P, x, T, C, dh, dx, dz):
    """Heat above boiling turns into steam where there is water."""
    for c in range(T.shape[0]):
        meat = 1.0 - bone[c]
        if meat <= 0.0:
            continue
        v = volume[c]
        for m in range(LANES):
            over = max(T[c, m] - P[at.BOIL, m], 0.0)
            wet = held(x[c, m] * INV_DRY, 0.0, 1.0)
            lat = laws.latent_heat(T[c, m])
            steam = C[c, m] * over * INV_STEAM_TAU * wet / lat
            taken = steam * (lat + CW * T[c, m])
            dh[c, m] -= taken
            dx[c, m] -= steam / (meat * P[at.DENSITY, m])
            dz[EVAPORATED, m] += steam * v
            dz[BOILED, m] += steam * v
            dz[HEAT_OUT, m] += taken * v


@njit(**inner)
def slope(grid, P, S, air, wall, y, fields, dy):
    """Time derivatives ``dy`` of state ``y`` of one block; fills its ``fields``."""
    nx, ny, gx, gy = grid.nx, grid.ny, grid.gx, grid.gy
    volume, bone = grid.volume, grid.bone
    T, C, K, D, B, E, F = fields.T, fields.C, fields.K, fields.D, fields.B, fields.E, fields.F
    QX, QY, JX, JY = fields.QX, fields.QY, fields.JX, fields.JY
    h, x, z = y
    dh, dx, dz = dy
    state_of(bone, P, h, x, T, C, K, D, B, E, F)
    shrink2 = fields.ooze  # free until the faces come: 1 / scale**2
    for m in range(LANES):
        shrink2[m] = 1.0 / (P[at.SCALE, m] * P[at.SCALE, m])
    for i in range(dz.shape[0]):
        for m in range(LANES):
            dz[i, m] = 0.0
    for i in range(nx):
        for j in range(ny):
            a = i * ny + j
            ma = 1.0 - bone[a]
            if j + 1 < ny:
                gw = gy[i, j] * min(ma, 1.0 - bone[a + 1])
                across(a, a + 1, a + ny, gy[i, j], gw, P, shrink2, x, T, K, D, B, E, F, QY, JY)
            if i + 1 < nx:
                gw = gx[i, j] * min(ma, 1.0 - bone[a + ny])
                across(a, a + ny, a + ny, gx[i, j], gw, P, shrink2, x, T, K, D, B, E, F, QX, JX)
    for c in range(nx * ny):
        meat = 1.0 - bone[c]
        iv = 1.0 / volume[c]
        gather(c, ny, iv, iv / meat if meat > 0.0 else 0.0, QX, QY, JX, JY, dh, dx)
    if boils_somewhere(P, T, fields.vapour):
        boil(volume, bone, P, x, T, C, dh, dx, dz)
    for n in range(grid.ocell.shape[0]):
        c = grid.ocell[n]
        meat = 1.0 - bone[c]
        im = 1.0 / (volume[c] * meat) if meat > 0.0 else 0.0
        face(
            n, c, grid.ogroup[n], meat, grid.total_area, P, S, air, wall, x, z, T, E,
            fields.vapour, fields.pooled, fields.glazed, fields.ooze, fields.heat,
        )  # fmt: skip
        leave(
            n, c, grid.oarea[n], 1.0 / volume[c], im, P, S, T,
            fields.vapour, fields.pooled, fields.glazed, fields.ooze, fields.heat, dh, dx, dz,
        )  # fmt: skip


@njit(**inner)
def face(n, c, g, meat, total_area, P, S, air, wall, x, z, T, E, vapour, pooled, glazed, ooze, heat):
    """One outer face: vapour [kg/m2 s], where it comes from, drip [kg/m2 s] and heat in [W/m2]."""
    brushed = 1.0 if g == UPPER else 0.0  # a glaze goes on the upper faces
    for m in range(LANES):
        t = T[c, m]
        pool = pool_share(z[POOL, m], total_area, P[at.SCALE, m], S[at.HOLDS, m])
        solid = S[at.GLAZE_S, m]
        coated = brushed if solid > 0.0 else 0.0
        gw = max(z[GLAZE0 + n, m], 0.0)
        act_glaze = gw / (gw + GLAZE_HOLD * solid + 1e-12)
        act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
        act = act + (1.0 - act) * pool
        act = act + (act_glaze - act) * coated
        press = P[at.PRESSURE, m]
        pv = min(act * laws.saturation_pressure(held(t, 0.0, 140.0)), 0.8 * press)
        vapour[m] = S[at.STEFAN + g, m] * laws.log_ratio(press, S[at.VAPOUR, m], pv)
        pooled[m] = pool
        glazed[m] = coated
        excess = E[c, m]
        ooze[m] = P[at.DENSITY, m] * P[at.DRIP, m] * (max(excess, 0.0) + pool * min(excess, 0.0)) * meat
        ts, tw = t + ZERO, wall[m] + ZERO
        ts2, tw2 = ts * ts, tw * tw
        heat[m] = S[at.CONV + g, m] * (air[m] - t) + S[at.EMIS + g, m] * SIGMA * (tw2 * tw2 - ts2 * ts2)


@njit(**inner)
def leave(n, c, area, iv, im, P, S, T, vapour, pooled, glazed, ooze, heat, dh, dx, dz):
    """Add what passes one outer face to the rates of its cell and to the tallies; one row at a time."""
    for m in range(LANES):
        own = vapour[m] * (1.0 - pooled[m]) * (1.0 - glazed[m])
        gone = vapour[m] * laws.latent_heat(T[c, m]) + CW * T[c, m] * (own + ooze[m])
        dh[c, m] += area * iv * (heat[m] - gone) / P[at.SCALE, m]
    for m in range(LANES):
        own = vapour[m] * (1.0 - pooled[m]) * (1.0 - glazed[m])
        dx[c, m] -= area * im * (own + ooze[m]) / (P[at.DENSITY, m] * P[at.SCALE, m])
    for m in range(LANES):
        own = vapour[m] * (1.0 - pooled[m]) * (1.0 - glazed[m])
        dz[EVAPORATED, m] += area * own / P[at.SCALE, m]
    for m in range(LANES):
        dz[DRIPPED, m] += area * ooze[m] / P[at.SCALE, m]
    for m in range(LANES):
        from_pool = vapour[m] * pooled[m] * (1.0 - glazed[m])
        dz[POOL, m] += area * S[at.HOLDS, m] * (ooze[m] - from_pool) / P[at.SCALE, m]
    for m in range(LANES):
        dz[HEAT_IN, m] += area * heat[m] / P[at.SCALE, m]
    for m in range(LANES):
        own = vapour[m] * (1.0 - pooled[m]) * (1.0 - glazed[m])
        gone = vapour[m] * laws.latent_heat(T[c, m]) + CW * T[c, m] * (own + ooze[m])
        dz[HEAT_OUT, m] += area * gone / P[at.SCALE, m]
    for m in range(LANES):
        dz[GLAZE0 + n, m] = -vapour[m] * glazed[m]


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
            colour[n, m] = P[at.COL_RATE, m] * laws.arrhenius(t, P[at.COL_EA, m], 90.0) * dry * (1.0 + S[at.SUGAR, m])
