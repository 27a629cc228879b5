"""The compiled kernel's physics: rates of change of heat, water and reactions of one block.

The readable twin is ``tests/oracles/readable/rates.py``; the laws of both are in ``laws.py``. Arrays are [cell, lane]
or [face, lane].
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

import numpy as np

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.lanes import cell, in_rows, span
from pitreckon.section.precision import INNER, njit
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL

CW, SIGMA, ZERO = laws.WATER_CP_J_KGK, laws.SIGMA_W_M2K4, laws.CELSIUS_ZERO_K
INV_STEAM_TAU, INV_DRY = 1.0 / laws.STEAM_TAU_S, 1.0 / laws.DRY_LIMIT
HALF_CW = 0.5 * CW
FREE_WIDTH2 = laws.FREE_WIDTH**2
NOT_NONE = laws.NOT_NONE
NOTHING = 0.0
"""Rows are cleared and copied by way of a product or a sum with it; else the compiler calls the C library for each, of
a cache line or two, which takes longer.
"""
GLAZE_HOLD, MOST_VAPOUR = laws.GLAZE_HOLD, laws.MOST_VAPOUR
SHRINK_RATE, SHRINK_EA = laws.SHRINK_RATE, laws.SHRINK_EA_OVER_R
AT_90, AT_58 = laws.AT_90_C, laws.AT_58_C


Axis = namedtuple("Axis", "lines many stride step heat water faces")
"""One of the two directions: ``lines`` lines of ``many`` cells, ``stride`` apart, the lines ``step`` apart.

Half the conductance of heat and of water from each cell of a line to the next, [line, link]; the outer faces that
end a line of this way.
"""


Grid = namedtuple(
    "Grid",
    "x y ny volume bone ocell oarea ogroup core places holds inv_film_area upper_area meat_volume",
)
"""A section's geometry, as ``shapes.Section`` has it, its sums and its two axes.

holds: volume of meat; of the whole cell where there is none
"""


State = namedtuple("State", "h x z")
"""What the scheme integrates: enthalpy [J/m3], water [kg/kg] and the tallies; also their rates."""


Fields = namedtuple("Fields", "T C K D B E F W QX QY JX JY dry vapour pooled glazed ooze heat skin")
"""What follows from a state.

Temperature, heat capacity, conductivity, two transports, water excess, what of it is free and the throttle of a
nearly dry cell, by cell; flows of heat and water from a cell to its next along x and y, kept ``ny`` rows further
down, so that the rows before the first cell and past an edge are there and stay zero; by outer face how far its
dryness lets it colour, its vapour, the shares of it that come from liquid in the wrap and from a
glaze, drip and heat, and the vapour that passes its skin bare.
"""


@njit(**INNER)
def pool_share(pool, inv_film_area, scale, holds):
    """Share of the surface that ``pool`` of liquid in the wrap keeps wet.

    The tally is per volume of the nominal section: the piece has scale**3 of it, over scale**2 of surface.
    """
    return laws.limited(pool * scale * inv_film_area, 0.0, 1.0) * holds


@njit(**INNER)
def skin_share(P, given, coefficient, m):
    """What the skin of a face that has ``given`` off so much vapour [kg/m2] leaves of a Stefan coefficient."""
    resistance = laws.skin_resistance(max(given, 0.0), P[at.SKIN_R, m], P[at.SKIN_E, m], P[at.SKIN_N, m])
    return 1.0 / (1.0 + resistance * coefficient)


@njit(**INNER)
def state_of(bone, P, h, x, T, C, K, D, B, E, F, W):
    """Temperature, heat capacity, conductivity, transport coefficients and water excess of every cell."""
    lanes = span(P[0])
    P, h, x, T, C, K, D, B, E, F, W = in_rows((P, h, x, T, C, K, D, B, E, F, W))
    for c in range(bone.shape[0]):
        b = bone[c]
        meat = 1.0 - b
        for m in range(lanes):
            cap = meat * P[at.DENSITY, m] * (P[at.DRY_CP, m] + CW * x[c, m]) + b * P[at.BONE_C, m]
            t = h[c, m] / cap
            tl = laws.limited(t, -20.0, 140.0)
            C[c, m] = cap
            T[c, m] = t
            of_meat = P[at.K_BASE, m] + P[at.K_TEMP, m] * tl + P[at.K_WATER, m] * x[c, m]
            K[c, m] = meat * of_meat + b * P[at.BONE_K, m]
            moves, lost = laws.transport_and_holding(tl, P[at.MELT, m])
            D[c, m] = P[at.TRANSPORT, m] * moves
            B[c, m] = P[at.DIFFUSION, m] * laws.diffusion_shape(laws.limited(t, 0.0, 120.0))
            excess = x[c, m] - P[at.WATER0, m] * (1.0 - P[at.DROP, m] * lost)
            E[c, m] = excess
            F[c, m] = 0.5 * (excess + np.sqrt(excess * excess + FREE_WIDTH2))
            W[c, m] = laws.limited(x[c, m] * INV_DRY, 0.0, 1.0)


@njit(**INNER)
def across(axis, first_row, P, T, K, D, B, E, F, W, Q, J):
    """Heat ``Q`` [W] and water ``J`` [kg/s] from every cell to the next one on its way, kept ``first_row`` further."""
    lanes = span(P[0])
    P, T, K, D, B, E, F, W, Q, J = in_rows((P, T, K, D, B, E, F, W, Q, J))
    for q in range(axis.lines):
        for k in range(axis.many - 1):
            first = q * axis.step + k * axis.stride
            a, b, row = cell(first), cell(first + axis.stride), cell(first + first_row)
            g, gw = axis.heat[q, k], axis.water[q, k]
            for m in range(lanes):
                # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
                pull = (D[a, m] + D[b, m]) * (F[a, m] - F[b, m])
                pull += (B[a, m] + B[b, m]) * (E[a, m] - E[b, m])
                # The giving cell limits the flow, so that none goes negative and a dry one can still take.
                given = max(pull, 0.0) * W[a, m] + min(pull, 0.0) * W[b, m]
                moved = gw * given * P[at.SHRINK2, m]
                warm = HALF_CW * P[at.DENSITY, m] * moved * (T[a, m] + T[b, m])
                Q[row, m] = g * (K[a, m] + K[b, m]) * (T[a, m] - T[b, m]) * P[at.SHRINK2, m] + warm
                J[row, m] = moved


@njit(**INNER)
def gather(ny, volume, bone, QX, QY, JX, JY, kh, kx, dh, dx):
    """Rates of every cell from the flows through its four faces, less the known rates ``kh`` and ``kx``."""
    lanes = span(dh[0])
    QX, QY, JX, JY, kh, kx, dh, dx = in_rows((QX, QY, JX, JY, kh, kx, dh, dx))
    for c in range(volume.shape[0]):
        row, left, above = cell(c + ny), cell(c), cell(c + ny - 1)
        meat = 1.0 - bone[c]
        iv = 1.0 / volume[c]
        im = iv / meat if meat > 0.0 else 0.0
        for m in range(lanes):
            dh[c, m] = iv * (QY[above, m] - QY[row, m] + QX[left, m] - QX[row, m]) - kh[c, m]
            dx[c, m] = im * (JY[above, m] - JY[row, m] + JX[left, m] - JX[row, m]) - kx[c, m]


@njit(**INNER)
def boils_somewhere(P, T, most):
    """Is any cell of any member above its boiling point? ``most`` is room for one number a lane."""
    lanes = span(P[0])
    P, T = in_rows((P, T))
    for m in range(lanes):
        most[m] = T[0, m]
    for c in range(1, T.shape[0]):
        for m in range(lanes):
            most[m] = max(most[m], T[c, m]) + 0.0  # the sum keeps the store whole: a masked one is slow
    for m in range(lanes):  # noqa: SIM110  (no generators in compiled code)
        if not most[m] <= P[at.BOIL, m]:
            return True
    return False


@njit(**INNER)
def boil(volume, bone, P, T, C, W, dh, dx, dz):
    """Heat above boiling turns into steam where there is water."""
    lanes = span(P[0])
    P, T, C, W, dh, dx, dz = in_rows((P, T, C, W, dh, dx, dz))
    for c in range(T.shape[0]):
        meat = 1.0 - bone[c]
        if meat <= 0.0:
            continue
        v = volume[c]
        for m in range(lanes):
            over = max(T[c, m] - P[at.BOIL, m], 0.0)
            lat = laws.latent_heat(T[c, m])
            steam = C[c, m] * over * INV_STEAM_TAU * W[c, m] / lat
            taken = steam * (lat + CW * T[c, m])
            dh[c, m] -= taken
            dx[c, m] -= steam / (meat * P[at.DENSITY, m])
            dz[EVAPORATED, m] += steam * v
            dz[BOILED, m] += steam * v
            dz[HEAT_OUT, m] += taken * v


@njit(**INNER)
def slope(grid, P, S, air, wall, y, known, fields, dy):
    """Time derivatives ``dy`` of state ``y``, of heat and water less those ``known``; fills its ``fields``.

    Whether any lane boils anywhere.
    """
    lanes = span(P[0])
    ny, volume, bone = grid.ny, grid.volume, grid.bone
    T, C, K, D, B, E, F, W = fields.T, fields.C, fields.K, fields.D, fields.B, fields.E, fields.F, fields.W
    QX, QY, JX, JY = fields.QX, fields.QY, fields.JX, fields.JY
    h, x, z = y
    dh, dx, dz = dy
    for i in range(dz.shape[0]):
        for m in range(lanes):
            dz[i, m] = S[at.HOLDS, m] * NOTHING
    state_of(bone, P, h, x, T, C, K, D, B, E, F, W)
    across(grid.x, ny, P, T, K, D, B, E, F, W, QX, JX)
    across(grid.y, ny, P, T, K, D, B, E, F, W, QY, JY)
    gather(ny, volume, bone, QX, QY, JX, JY, known.h, known.x, dh, dx)
    boiling = boils_somewhere(P, T, fields.vapour[0])
    if boiling:
        boil(volume, bone, P, T, C, W, dh, dx, dz)
    outside(
        grid.ocell, grid.ogroup, bone, grid.inv_film_area, P, S, air, wall, x, z, T, E, fields.dry,
        fields.vapour, fields.pooled, fields.glazed, fields.ooze, fields.heat, fields.skin,
    )  # fmt: skip
    leave(
        grid.ocell, grid.oarea, volume, bone, P, S, T, fields.vapour, fields.pooled, fields.glazed, fields.ooze,
        fields.heat, fields.skin, dh, dx, dz,
    )  # fmt: skip
    return boiling


@njit(**INNER)
def outside(
    ocell, ogroup, bone, inv_film_area, P, S, air, wall, x, z, T, E, dry, vapour, pooled, glazed, ooze, heat,
    skin,
):  # fmt: skip
    """Every outer face: vapour [kg/m2 s], where it comes from, drip [kg/m2 s], heat in [W/m2] and dryness."""
    lanes = span(P[0])
    P, S, x, z, T, E, dry, vapour, pooled, glazed, ooze, heat, skin = in_rows(
        (P, S, x, z, T, E, dry, vapour, pooled, glazed, ooze, heat, skin)
    )
    faces = ocell.shape[0]
    for n in range(faces):
        c, g = cell(ocell[n]), ogroup[n]
        meat = 1.0 - bone[c]
        brushed = 1.0 if g == UPPER else 0.0  # a glaze goes on the upper faces
        for m in range(lanes):
            t = T[c, m]
            pool = pool_share(z[POOL, m], inv_film_area, P[at.SCALE, m], S[at.HOLDS, m])
            solid = S[at.GLAZE_S, m]
            coated = brushed if solid > 0.0 else 0.0
            gw = max(z[GLAZE0 + n, m], 0.0)
            act_glaze = gw / (gw + GLAZE_HOLD * solid + 1e-12)
            act = laws.surface_activity(max(x[c, m], 0.0), P[at.SKIN_B, m])
            act = act + (1.0 - act) * pool
            pooled[n, m] = pool / (act + NOT_NONE)  # of the vapour: dry meat beside the liquid gives off next to none
            bare = S[at.STEFAN + g, m]
            open_skin = skin_share(P, z[GLAZE0 + faces + n, m], bare * (1.0 - coated), m)
            saturated = laws.saturation_pressure(laws.limited(t, 0.0, 140.0))
            humid = min(S[at.VAPOUR, m] / saturated, 1.0)
            dry[n, m] = P[at.FLOOR, m] + (1.0 - P[at.FLOOR, m]) * (1.0 - humid - (act - humid) * open_skin)
            act = act + (act_glaze - act) * coated
            press = P[at.PRESSURE, m]
            pv = min(act * saturated, MOST_VAPOUR * press)
            drives = laws.log_ratio(press, min(S[at.VAPOUR, m], MOST_VAPOUR * press), pv)
            passes = bare * (open_skin * max(drives, 0.0) + min(drives, 0.0))  # what condenses meets no skin
            skin[n, m] = max(passes, 0.0)
            vapour[n, m] = passes + S[at.THROUGH + g, m] * drives
            glazed[n, m] = coated
            excess = E[c, m]
            squeezed = P[at.DRIP, m] * max(excess, 0.0) + P[at.DRINK, m] * pool * min(excess, 0.0)
            ooze[n, m] = P[at.DENSITY, m] * squeezed * meat
            ts, tw = t + ZERO, wall[m] + ZERO
            ts2, tw2 = ts * ts, tw * tw
            heat[n, m] = S[at.CONV + g, m] * (air[m] - t) + S[at.EMIS + g, m] * SIGMA * (tw2 * tw2 - ts2 * ts2)


@njit(**INNER)
def leave(ocell, oarea, volume, bone, P, S, T, vapour, pooled, glazed, ooze, heat, skin, dh, dx, dz):
    """Add what passes the outer faces to the rates of their cells and to the tallies; one row at a time."""
    lanes = span(P[0])
    P, S, T, vapour, pooled, glazed, ooze, heat, skin, dh, dx, dz = in_rows(
        (P, S, T, vapour, pooled, glazed, ooze, heat, skin, dh, dx, dz)
    )
    faces = ocell.shape[0]
    for n in range(faces):
        c, area = cell(ocell[n]), oarea[n]
        meat = 1.0 - bone[c]
        iv = 1.0 / volume[c]
        im = iv / meat if meat > 0.0 else 0.0
        for m in range(lanes):
            own = vapour[n, m] * (1.0 - pooled[n, m]) * (1.0 - glazed[n, m])
            gone = vapour[n, m] * laws.latent_heat(T[c, m]) + CW * T[c, m] * (own + ooze[n, m])
            dh[c, m] += area * iv * (heat[n, m] - gone) * P[at.SHRINK, m]
            dx[c, m] -= area * im * (own + ooze[n, m]) * P[at.SHRINK, m] / P[at.DENSITY, m]
        for m in range(lanes):
            own = vapour[n, m] * (1.0 - pooled[n, m]) * (1.0 - glazed[n, m])
            dz[EVAPORATED, m] += area * own * P[at.SHRINK, m]
        for m in range(lanes):
            dz[DRIPPED, m] += area * ooze[n, m] * P[at.SHRINK, m]
        for m in range(lanes):
            from_pool = vapour[n, m] * pooled[n, m] * (1.0 - glazed[n, m])
            dz[POOL, m] += area * S[at.HOLDS, m] * (ooze[n, m] - from_pool) * P[at.SHRINK, m]
        for m in range(lanes):
            dz[HEAT_IN, m] += area * heat[n, m] * P[at.SHRINK, m]
        for m in range(lanes):
            own = vapour[n, m] * (1.0 - pooled[n, m]) * (1.0 - glazed[n, m])
            gone = vapour[n, m] * laws.latent_heat(T[c, m]) + CW * T[c, m] * (own + ooze[n, m])
            dz[HEAT_OUT, m] += area * gone * P[at.SHRINK, m]
        for m in range(lanes):
            dz[GLAZE0 + n, m] = -vapour[n, m] * glazed[n, m]
        for m in range(lanes):
            dz[GLAZE0 + faces + n, m] = skin[n, m] * (1.0 - pooled[n, m]) * (1.0 - glazed[n, m])


@njit(**INNER)
def react(ocell, P, S, T, dry, dt, total):
    """Add a step to the slow reactions, which do not act back on heat and water, by the midpoint's rates.

    A lane whose step was refused has a ``dt`` of 0 and gains nothing: its temperature is limited so that even no
    number becomes one (which limit comes first decides that). No branches: masked stores are slow.
    """
    lanes = span(P[0])
    P, S, T, dry, gel, shrink, kill, colour = in_rows(
        (P, S, T, dry, total.gelatin, total.shrink, total.kill, total.colour)
    )
    for c in range(T.shape[0]):
        for m in range(lanes):
            t = min(180.0, max(-20.0, T[c, m]))
            inverse = 1.0 / (t + ZERO)
            gel[c, m] += dt[m] * (P[at.GEL_RATE, m] * laws.arrhenius(inverse, P[at.GEL_EA, m], AT_90))
            shrink[c, m] += dt[m] * (SHRINK_RATE * laws.arrhenius(inverse, SHRINK_EA, AT_58))
            kill[c, m] += dt[m] * laws.kill_rate(t)
    for n in range(colour.shape[0]):
        own = cell(ocell[n])
        for m in range(lanes):
            t = min(180.0, max(-20.0, T[own, m]))
            speed = P[at.COL_RATE, m] * laws.arrhenius(1.0 / (t + ZERO), P[at.COL_EA, m], AT_90)
            colour[n, m] += dt[m] * (speed * min(1.0, max(0.0, dry[n, m])) * (1.0 + S[at.SUGAR, m]))
