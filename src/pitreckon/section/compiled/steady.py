"""The compiled kernel's line solves: what lets a step be far longer than the cells' own time.

``prepare`` eliminates, once a step, the lines of equations along x and along y, of heat and of water;
``steady`` turns rates into steadied ones. All that moves is counted, so the balances close.
The readable twin is ``tests/oracles/readable/steady.py``; ``multistage.py`` has the scheme.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from collections import namedtuple

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.lanes import cell, in_rows, span
from pitreckon.section.compiled.rates import (
    CW,
    GLAZE_HOLD,
    INV_DRY,
    INV_STEAM_TAU,
    MOST_VAPOUR,
    NOT_NONE,
    NOTHING,
    SIGMA,
    ZERO,
    pool_share,
    skin_share,
)
from pitreckon.section.multistage import BOIL_AHEAD
from pitreckon.section.precision import INNER, njit
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, GLAZE0, HEAT_OUT, POOL

BOIL_SPEED = BOIL_AHEAD * INV_STEAM_TAU


Lines = namedtuple("Lines", "heat heat_on water water_on")
"""Eliminated lines along one direction, of heat and of water.

By cell: one over the pivot, and the pivot's share of the next cell's row (0 at a line's end).
"""


Steadier = namedtuple(
    "Steadier",
    "x y capacity mobility boil_heat boil_steam boil_dry face_heat face_steam face_water face_ooze before carried warm",
)
"""All of a step's line solves.

By cell: capacity [J/m3 K], mobility of water, what boiling takes [J/K], [kg/K] and of water; by outer face: what
the surface takes of heat [J/K], the vapour in that [kg/K], of water as vapour and as juice; all over the look-ahead
time. By line: room for an elimination. A row: what water carries.
"""


@njit(**INNER)
def hold(volume, holds, C, D, B, E, F, W, capacity, mobility, x_heat, y_heat, x_water, y_water):
    """Capacity and mobility of every cell; the pivots begin with what the cell holds."""
    lanes = span(C[0])
    C, D, B, E, F, W, capacity, mobility, x_heat, y_heat, x_water, y_water = in_rows(
        (C, D, B, E, F, W, capacity, mobility, x_heat, y_heat, x_water, y_water)
    )
    for c in range(volume.shape[0]):
        v, water = volume[c], holds[c]
        for m in range(lanes):
            cap = C[c, m]
            capacity[c, m] = cap + NOTHING
            x_heat[c, m] = v * cap
            y_heat[c, m] = v * cap
            x_water[c, m] = water
            y_water[c, m] = water
            mobility[c, m] = (D[c, m] * laws.free_share(E[c, m], F[c, m]) + B[c, m]) * W[c, m]


@njit(**INNER)
def boil_ahead(volume, bone, P, T, C, W, ahead, boil_heat, boil_steam, boil_dry, y_heat, y_water):
    """What boiling takes of every cell per kelvin, and per kg/kg where that is little, added to the pivots along y."""
    lanes = span(P[0])
    P, T, C, W, boil_heat, boil_steam, boil_dry, y_heat, y_water = in_rows(
        (P, T, C, W, boil_heat, boil_steam, boil_dry, y_heat, y_water)
    )
    for c in range(volume.shape[0]):
        meat = 1.0 - bone[c]
        if meat <= 0.0:
            continue
        v = volume[c]
        for m in range(lanes):
            hot = 1.0 if T[c, m] > P[at.BOIL, m] else 0.0
            takes = BOIL_SPEED * ahead[m] * v * C[c, m] * W[c, m] * hot
            boil_heat[c, m] = takes
            boil_steam[c, m] = takes / (laws.latent_heat(T[c, m]) + CW * T[c, m])
            y_heat[c, m] += takes
        for m in range(lanes):
            over = max(T[c, m] - P[at.BOIL, m], 0.0)
            last = INV_DRY if W[c, m] < 1.0 else 0.0
            steam = ahead[m] * v * C[c, m] * over * INV_STEAM_TAU * last / laws.latent_heat(T[c, m])
            boil_dry[c, m] = steam / P[at.DENSITY, m]
            y_water[c, m] += steam / P[at.DENSITY, m]


@njit(**INNER)
def faces(
    ocell, ogroup, oarea, bone, inv_film_area, P, S, x, z, T, E, ahead, face_heat, face_steam, face_water, face_ooze
):  # fmt: skip
    """What the outer faces take per kelvin and per kg/kg."""
    lanes = span(P[0])
    P, S, x, z, T, E, face_heat, face_steam, face_water, face_ooze = in_rows(
        (P, S, x, z, T, E, face_heat, face_steam, face_water, face_ooze)
    )
    for n in range(ocell.shape[0]):
        c, g = cell(ocell[n]), ogroup[n]
        area = oarea[n]
        meat = 1.0 - bone[c]
        brushed = 1.0 if g == UPPER else 0.0
        for m in range(lanes):
            pool = pool_share(z[POOL, m], inv_film_area, P[at.SCALE, m], S[at.HOLDS, m])
            solid = S[at.GLAZE_S, m]
            coated = brushed if solid > 0.0 else 0.0
            gw = max(z[GLAZE0 + n, m], 0.0)
            act_glaze = gw / (gw + GLAZE_HOLD * solid + 1e-12)
            wet, b = max(x[c, m], 0.0), P[at.SKIN_B, m]
            act = laws.surface_activity(wet, b)
            act = act + (1.0 - act) * pool
            from_meat = (1.0 - pool / (act + NOT_NONE)) * (1.0 - coated)
            act = act + (act_glaze - act) * coated
            press = P[at.PRESSURE, m]
            t = laws.limited(T[c, m], 0.0, 140.0)
            saturated = laws.saturation_pressure(t)
            pv = min(act * saturated, MOST_VAPOUR * press)
            passes = S[at.STEFAN + g, m]
            open_skin = skin_share(P, z[GLAZE0 + ocell.shape[0] + n, m], passes * (1.0 - coated), m)
            passes *= open_skin if pv > S[at.VAPOUR, m] else 1.0
            speed = (passes + S[at.THROUGH + g, m]) / (press - pv)
            steam = speed * act * laws.saturation_slope(t, saturated)
            bare = (1.0 - pool) * (1.0 - coated)
            over = wet * wet + b * b
            drier = speed * saturated * 2.0 * wet * b * b / (over * over) * bare
            tk = t + ZERO
            radiant = 4.0 * SIGMA * S[at.EMIS + g, m] * tk * tk * tk
            reach = area * P[at.SHRINK, m] * ahead[m]
            face_heat[n, m] = reach * (S[at.CONV + g, m] + radiant + steam * laws.latent_heat(t))
            face_steam[n, m] = reach * steam * from_meat
            face_water[n, m] = reach * drier / P[at.DENSITY, m]
            squeezed = P[at.DRIP, m] if E[c, m] > 0.0 else P[at.DRINK, m] * pool
            face_ooze[n, m] = reach * squeezed * meat


@njit(**INNER)
def add(source, target):
    """One row on another."""
    lanes = span(target)
    for m in range(lanes):
        target[m] += source[m]


# All lines of an axis go side by side, cell by cell: each cell waits for the one before it in its line, and the next
# line's is reckoned meanwhile.


@njit(**INNER)
def eliminate(axis, links, field, P, ahead, before, carried, pivot, on):
    """Eliminate the lines of an axis whose cells are joined by ``links`` times ``field``.

    ``pivot`` becomes one over it, ``on`` the share of it that the next cell's row takes. ``before`` is room for what
    joined the last cell, ``carried`` for the share of its pivot that is its own: a sum, never a difference, so that the
    balances close in single precision too.
    """
    lanes = span(P[0])
    field, P, before, carried, pivot, on = in_rows((field, P, before, carried, pivot, on))
    for q in range(axis.lines):
        for m in range(lanes):
            before[q, m] = ahead[m] * NOTHING
            carried[q, m] = ahead[m] * NOTHING
    for k in range(axis.many - 1):
        for q in range(axis.lines):
            here = q * axis.step + k * axis.stride
            c, following = cell(here), cell(here + axis.stride)
            link = links[q, k]
            for m in range(lanes):
                joined = link * (field[c, m] + field[following, m]) * ahead[m] * P[at.SHRINK2, m]
                own = pivot[c, m] + before[q, m] * carried[q, m]
                inverse = 1.0 / (own + joined)
                pivot[c, m] = inverse
                on[c, m] = joined * inverse
                before[q, m] = joined
                carried[q, m] = own * inverse
    for q in range(axis.lines):
        c = cell(q * axis.step + (axis.many - 1) * axis.stride)
        for m in range(lanes):
            pivot[c, m] = 1.0 / (pivot[c, m] + before[q, m] * carried[q, m])
            on[c, m] = 0.0


@njit(**INNER)
def ends_of(axis, ocell, face_heat, face_water, face_ooze, lines):
    """What the faces at an axis's ends take, added to the pivots of its ``lines``."""
    for f in range(axis.faces.shape[0]):
        n = cell(axis.faces[f])
        c = cell(ocell[n])
        add(face_heat[n], lines.heat[c])
        add(face_water[n], lines.water[c])
        add(face_ooze[n], lines.water[c])


@njit(**INNER)
def prepare(grid, P, S, y, fields, ahead, boiling, s):
    """Eliminate all lines for a step that looks ``ahead`` [s] ahead of state ``y`` with its ``fields``."""
    before, carried = s.before, s.carried
    hold(
        grid.volume, grid.holds, fields.C, fields.D, fields.B, fields.E, fields.F, fields.W,
        s.capacity, s.mobility, s.x.heat, s.y.heat, s.x.water, s.y.water,
    )  # fmt: skip
    if boiling:
        boil_ahead(
            grid.volume, grid.bone, P, fields.T, fields.C, fields.W, ahead, s.boil_heat, s.boil_steam, s.boil_dry,
            s.y.heat, s.y.water,
        )  # fmt: skip
    faces(
        grid.ocell, grid.ogroup, grid.oarea, grid.bone, grid.inv_film_area, P, S, y.x, y.z, fields.T, fields.E, ahead,
        s.face_heat, s.face_steam, s.face_water, s.face_ooze,
    )  # fmt: skip
    carried_by_water(grid.ocell, P, fields.T, s.warm)
    ends_of(grid.x, grid.ocell, s.face_heat, s.face_water, s.face_ooze, s.x)
    ends_of(grid.y, grid.ocell, s.face_heat, s.face_water, s.face_ooze, s.y)
    eliminate(grid.x, grid.x.heat, fields.K, P, ahead, before, carried, s.x.heat, s.x.heat_on)
    eliminate(grid.y, grid.y.heat, fields.K, P, ahead, before, carried, s.y.heat, s.y.heat_on)
    eliminate(grid.x, grid.x.water, s.mobility, P, ahead, before, carried, s.x.water, s.x.water_on)
    eliminate(grid.y, grid.y.water, s.mobility, P, ahead, before, carried, s.y.water, s.y.water_on)


@njit(**INNER)
def solve(axis, size, capacity, pivot, on, carry, r):
    """Solve eliminated lines with the right side ``size`` (by cell) times ``r``, which becomes the solution.

    Of heat the solution is a warming [K/s]; ``capacity`` is not None where ``r`` is one already. ``carry`` is room for
    what each line's last cell hands on.
    """
    lanes = span(carry[0])
    pivot, on, r, carry = in_rows((pivot, on, r, carry))
    for q in range(axis.lines):
        c = cell(q * axis.step)
        for m in range(lanes):
            there = size[c] * r[c, m] if capacity is None else size[c] * (capacity[c, m] * r[c, m])
            r[c, m] = there
            carry[q, m] = on[c, m] * there
    for k in range(1, axis.many):
        for q in range(axis.lines):
            c = cell(q * axis.step + k * axis.stride)
            for m in range(lanes):
                own = size[c] * r[c, m] if capacity is None else size[c] * (capacity[c, m] * r[c, m])
                there = own + carry[q, m]
                r[c, m] = there
                carry[q, m] = on[c, m] * there
    for q in range(axis.lines):
        c = cell(q * axis.step + (axis.many - 1) * axis.stride)
        for m in range(lanes):
            there = r[c, m] * pivot[c, m]
            r[c, m] = there
            carry[q, m] = there + NOTHING
    for k in range(axis.many - 2, -1, -1):
        for q in range(axis.lines):
            c = cell(q * axis.step + k * axis.stride)
            for m in range(lanes):
                there = r[c, m] * pivot[c, m] + on[c, m] * carry[q, m]
                r[c, m] = there
                carry[q, m] = there + NOTHING


@njit(**INNER)
def carried_by_water(ocell, P, T, warm):
    """Enthalpy of a kg/kg of water at the mean temperature of the outer faces [J/m3 of meat], less that at 0 degC."""
    lanes = span(warm)
    for m in range(lanes):
        warm[m] = 0.0
    share = 1.0 / ocell.shape[0]
    for n in range(ocell.shape[0]):
        c = cell(ocell[n])
        for m in range(lanes):
            warm[m] += T[c, m]
    for m in range(lanes):
        warm[m] *= CW * P[at.DENSITY, m] * share


@njit(**INNER)
def without(bone, warm, x, h):
    """Take what the water of rates ``x`` carries out of rates ``h`` of enthalpy."""
    lanes = span(warm)
    x, h = in_rows((x, h))
    for c in range(bone.shape[0]):
        meat = 1.0 - bone[c]
        for m in range(lanes):
            h[c, m] -= meat * warm[m] * x[c, m]


@njit(**INNER)
def again_with(bone, warm, capacity, x, h):
    """Turn warming ``h`` [K/s] into rates of enthalpy, and add what the water of rates ``x`` carries."""
    lanes = span(warm)
    capacity, x, h = in_rows((capacity, x, h))
    for c in range(bone.shape[0]):
        meat = 1.0 - bone[c]
        for m in range(lanes):
            h[c, m] = h[c, m] * capacity[c, m] + meat * warm[m] * x[c, m]


@njit(**INNER)
def steady(grid, P, S, boiling, s, d):
    """Turn rates ``d`` of enthalpy and water into steadied ones; what leaves on the way goes on the tallies' rates."""
    h, x, z = d
    warm = s.warm
    without(grid.bone, warm, x, h)
    solve(grid.x, grid.volume, None, s.x.heat, s.x.heat_on, s.before, h)
    leaving(grid.x, grid.ocell, grid.volume, grid.bone, P, warm, s.face_heat, s.face_steam, h, x, z)
    solve(grid.y, grid.volume, s.capacity, s.y.heat, s.y.heat_on, s.before, h)
    leaving(grid.y, grid.ocell, grid.volume, grid.bone, P, warm, s.face_heat, s.face_steam, h, x, z)
    if boiling:
        boiled(grid.volume, grid.bone, P, warm, s.boil_heat, s.boil_steam, h, x, z)
    solve(grid.x, grid.holds, None, s.x.water, s.x.water_on, s.before, x)
    drying(grid.x, grid.ocell, P, S, warm, s.face_water, s.face_ooze, x, z)
    solve(grid.y, grid.holds, None, s.y.water, s.y.water_on, s.before, x)
    drying(grid.y, grid.ocell, P, S, warm, s.face_water, s.face_ooze, x, z)
    if boiling:
        boiled_dry(grid.bone, P, warm, s.boil_dry, x, z)
    again_with(grid.bone, warm, s.capacity, x, h)


@njit(**INNER)
def leaving(axis, ocell, volume, bone, P, warm, face_heat, face_steam, warming, x, z):
    """Heat and vapour that the faces at the ends of the lines just solved take with ``warming`` [K/s]."""
    lanes = span(P[0])
    P, face_heat, face_steam, warming, x, z = in_rows((P, face_heat, face_steam, warming, x, z))
    for f in range(axis.faces.shape[0]):
        n = cell(axis.faces[f])
        c = cell(ocell[n])
        meat = 1.0 - bone[c]
        im = 1.0 / (volume[c] * meat) if meat > 0.0 else 0.0
        for m in range(lanes):
            z[HEAT_OUT, m] += (face_heat[n, m] + warm[m] / P[at.DENSITY, m] * face_steam[n, m]) * warming[c, m]
        for m in range(lanes):
            gone = face_steam[n, m] * warming[c, m]
            z[EVAPORATED, m] += gone
            x[c, m] -= im * gone / P[at.DENSITY, m]


@njit(**INNER)
def boiled(volume, bone, P, warm, boil_heat, boil_steam, warming, x, z):
    """Heat and steam that boiling takes with ``warming`` [K/s]."""
    lanes = span(P[0])
    P, boil_heat, boil_steam, warming, x, z = in_rows((P, boil_heat, boil_steam, warming, x, z))
    for c in range(volume.shape[0]):
        meat = 1.0 - bone[c]
        if meat <= 0.0:
            continue
        im = 1.0 / (volume[c] * meat)
        for m in range(lanes):
            z[HEAT_OUT, m] += (boil_heat[c, m] + warm[m] / P[at.DENSITY, m] * boil_steam[c, m]) * warming[c, m]
        for m in range(lanes):
            steam = boil_steam[c, m] * warming[c, m]
            z[EVAPORATED, m] += steam
            x[c, m] -= im * steam / P[at.DENSITY, m]
        for m in range(lanes):
            z[BOILED, m] += boil_steam[c, m] * warming[c, m]


@njit(**INNER)
def boiled_dry(bone, P, warm, boil_dry, x, z):
    """Steam that boiling takes with wetting ``x`` [1/s] of cells that are nearly dry."""
    lanes = span(P[0])
    P, boil_dry, x, z = in_rows((P, boil_dry, x, z))
    for c in range(bone.shape[0]):
        if bone[c] >= 1.0:
            continue
        for m in range(lanes):
            z[EVAPORATED, m] += boil_dry[c, m] * P[at.DENSITY, m] * x[c, m]
        for m in range(lanes):
            z[BOILED, m] += boil_dry[c, m] * P[at.DENSITY, m] * x[c, m]
        for m in range(lanes):
            z[HEAT_OUT, m] += warm[m] * boil_dry[c, m] * x[c, m]


@njit(**INNER)
def drying(axis, ocell, P, S, warm, face_water, face_ooze, x, z):
    """Vapour that the faces take with wetting ``x`` [1/s], and what runs off them."""
    lanes = span(P[0])
    P, S, face_water, face_ooze, x, z = in_rows((P, S, face_water, face_ooze, x, z))
    for f in range(axis.faces.shape[0]):
        n = cell(axis.faces[f])
        c = cell(ocell[n])
        for m in range(lanes):
            z[EVAPORATED, m] += face_water[n, m] * P[at.DENSITY, m] * x[c, m]
        for m in range(lanes):
            z[HEAT_OUT, m] += warm[m] * (face_water[n, m] + face_ooze[n, m]) * x[c, m]
        for m in range(lanes):
            z[DRIPPED, m] += face_ooze[n, m] * P[at.DENSITY, m] * x[c, m]
        for m in range(lanes):
            z[POOL, m] += S[at.HOLDS, m] * face_ooze[n, m] * P[at.DENSITY, m] * x[c, m]
