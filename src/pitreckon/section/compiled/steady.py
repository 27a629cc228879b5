"""The compiled kernel's line solves: what lets a step be far longer than the cells' own time.

``prepare`` eliminates, once a step, the lines of equations along x and along y, of heat and of water;
``steady`` turns rates into steadied ones. All that moves is counted, so the balances close.
The readable twin is ``readable_steady.py``; ``multistage.py`` has the scheme.
"""

# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

from typing import Any, NamedTuple

from numba import njit

from pitreckon.section import laws
from pitreckon.section.compiled import lanes as at
from pitreckon.section.compiled.lanes import span
from pitreckon.section.compiled.rates import CW, GLAZE_HOLD, INV_STEAM_TAU, NOT_NONE, SIGMA, ZERO, pool_share
from pitreckon.section.multistage import BOIL_AHEAD
from pitreckon.section.precision import INNER
from pitreckon.section.shapes import UPPER
from pitreckon.section.tally import BOILED, EVAPORATED, GLAZE0, HEAT_OUT, POOL

BOIL_SPEED = BOIL_AHEAD * INV_STEAM_TAU
PLUS, MINUS = 1.0, -1.0


class Lines(NamedTuple):
    """Eliminated lines along one direction, of heat and of water.

    By cell: one over the pivot, and the pivot's share of the next cell's row (0 at a line's end).
    """

    heat: Any
    heat_on: Any
    water: Any
    water_on: Any


class Steadier(NamedTuple):
    """All of a step's line solves.

    By cell: capacity [J/m3 K], mobility of water, what boiling takes [J/K] and [kg/K]; by outer face: what the surface
    takes of heat [J/K], the vapour in that [kg/K] and of water; all over the look-ahead time. Rows: two of room, and
    what water carries.
    """

    x: Any
    y: Any
    capacity: Any
    mobility: Any
    boil_heat: Any
    boil_steam: Any
    face_heat: Any
    face_steam: Any
    face_water: Any
    rooms: Any


@njit(**INNER)
def hold(volume, holds, C, D, B, E, F, W, capacity, mobility, x_heat, y_heat, x_water, y_water):
    """Capacity and mobility of every cell; the pivots begin with what the cell holds."""
    lanes = span(C[0])
    for c in range(volume.shape[0]):
        v, water = volume[c], holds[c]
        for m in range(lanes):
            cap = C[c, m]
            capacity[c, m] = cap
            x_heat[c, m] = v * cap
            y_heat[c, m] = v * cap
            x_water[c, m] = water
            y_water[c, m] = water
            mobility[c, m] = (D[c, m] * laws.free_share(E[c, m], F[c, m]) + B[c, m]) * W[c, m]


@njit(**INNER)
def boil_ahead(volume, bone, P, T, C, W, ahead, boil_heat, boil_steam, y_heat):
    """What boiling takes of every cell per kelvin, added to the pivots of the lines along y."""
    lanes = span(P[0])
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


@njit(**INNER)
def faces(ocell, ogroup, oarea, inv_film_area, P, S, x, z, T, ahead, face_heat, face_steam, face_water):
    """What the outer faces take per kelvin and per kg/kg."""
    lanes = span(P[0])
    for n in range(ocell.shape[0]):
        c, g = ocell[n], ogroup[n]
        area = oarea[n]
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
            speed = S[at.STEFAN + g, m] / (press - min(act * saturated, 0.8 * press))
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


@njit(**INNER)
def add(source, target):
    """One row on another."""
    lanes = span(target)
    for m in range(lanes):
        target[m] += source[m]


@njit(**INNER)
def eliminate(axis, links, field, P, ahead, before, carried, pivot, on):
    """Eliminate the lines of an axis whose cells are joined by ``links`` times ``field``.

    ``pivot`` becomes one over it, ``on`` the share of it that the next cell's row takes. ``before`` is room for what
    joined the last cell, ``carried`` for its share.
    """
    lanes = span(P[0])
    for q in range(axis.lines):
        for m in range(lanes):
            before[m] = 0.0
            carried[m] = 0.0
        for k in range(axis.many - 1):
            c = q * axis.step + k * axis.stride
            following = c + axis.stride
            link = links[q, k]
            for m in range(lanes):
                joined = link * (field[c, m] + field[following, m]) * ahead[m] * P[at.SHRINK2, m]
                inverse = 1.0 / (pivot[c, m] + joined + before[m] * (1.0 - carried[m]))
                pivot[c, m] = inverse
                on[c, m] = joined * inverse
                before[m] = joined
                carried[m] = joined * inverse
        c = q * axis.step + (axis.many - 1) * axis.stride
        for m in range(lanes):
            pivot[c, m] = 1.0 / (pivot[c, m] + before[m] * (1.0 - carried[m]))
            on[c, m] = 0.0


@njit(**INNER)
def ends_of(axis, ocell, face_heat, face_water, lines):
    """What the faces at an axis's ends take, added to the pivots of its ``lines``."""
    for f in range(axis.faces.shape[0]):
        n = axis.faces[f]
        c = ocell[n]
        add(face_heat[n], lines.heat[c])
        add(face_water[n], lines.water[c])


@njit(**INNER)
def prepare(grid, P, S, y, fields, ahead, boiling, s):
    """Eliminate all lines for a step that looks ``ahead`` [s] ahead of state ``y`` with its ``fields``."""
    before, carried = s.rooms[0], s.rooms[1]
    hold(
        grid.volume, grid.holds, fields.C, fields.D, fields.B, fields.E, fields.F, fields.W,
        s.capacity, s.mobility, s.x.heat, s.y.heat, s.x.water, s.y.water,
    )  # fmt: skip
    if boiling:
        boil_ahead(grid.volume, grid.bone, P, fields.T, fields.C, fields.W, ahead, s.boil_heat, s.boil_steam, s.y.heat)
    faces(
        grid.ocell, grid.ogroup, grid.oarea, grid.inv_film_area, P, S, y.x, y.z, fields.T, ahead,
        s.face_heat, s.face_steam, s.face_water,
    )  # fmt: skip
    carried_by_water(grid.ocell, P, fields.T, s.rooms[2])
    ends_of(grid.x, grid.ocell, s.face_heat, s.face_water, s.x)
    ends_of(grid.y, grid.ocell, s.face_heat, s.face_water, s.y)
    eliminate(grid.x, grid.x.heat, fields.K, P, ahead, before, carried, s.x.heat, s.x.heat_on)
    eliminate(grid.y, grid.y.heat, fields.K, P, ahead, before, carried, s.y.heat, s.y.heat_on)
    eliminate(grid.x, grid.x.water, s.mobility, P, ahead, before, carried, s.x.water, s.x.water_on)
    eliminate(grid.y, grid.y.water, s.mobility, P, ahead, before, carried, s.y.water, s.y.water_on)


@njit(**INNER)
def solve(axis, size, capacity, pivot, on, carry, r):
    """Solve eliminated lines with the right side ``size`` (by cell) times ``r``, which becomes the solution.

    Of heat the solution is a warming [K/s]; times ``capacity`` (None for water) it is a rate of enthalpy again.
    """
    lanes = span(carry)
    for q in range(axis.lines):
        for m in range(lanes):
            carry[m] = 0.0
        for k in range(axis.many):
            c = q * axis.step + k * axis.stride
            for m in range(lanes):
                there = size[c] * r[c, m] + carry[m]
                r[c, m] = there
                carry[m] = on[c, m] * there
        for m in range(lanes):
            carry[m] = 0.0
        for k in range(axis.many - 1, -1, -1):
            c = q * axis.step + k * axis.stride
            for m in range(lanes):
                there = r[c, m] * pivot[c, m] + on[c, m] * carry[m]
                carry[m] = there
                if capacity is None:
                    r[c, m] = there
                else:
                    r[c, m] = there * capacity[c, m]


@njit(**INNER)
def carried_by_water(ocell, P, T, warm):
    """Enthalpy of a kg/kg of water at the mean temperature of the outer faces [J/m3 of meat], less that at 0 degC."""
    lanes = span(warm)
    for m in range(lanes):
        warm[m] = 0.0
    share = 1.0 / ocell.shape[0]
    for n in range(ocell.shape[0]):
        c = ocell[n]
        for m in range(lanes):
            warm[m] += T[c, m]
    for m in range(lanes):
        warm[m] *= CW * P[at.DENSITY, m] * share


@njit(**INNER)
def moved(sign, bone, warm, x, h):
    """Add (or take, by ``sign``) what the water of rates ``x`` carries to rates ``h`` of enthalpy."""
    lanes = span(warm)
    for c in range(bone.shape[0]):
        part = sign * (1.0 - bone[c])
        for m in range(lanes):
            h[c, m] += part * warm[m] * x[c, m]


@njit(**INNER)
def steady(grid, P, boiling, s, d):
    """Turn rates ``d`` of enthalpy and water into steadied ones; what leaves on the way goes on the tallies' rates."""
    carry, capacity = s.rooms[0], s.capacity
    h, x, z = d
    warm = s.rooms[2]
    moved(MINUS, grid.bone, warm, x, h)
    solve(grid.x, grid.volume, capacity, s.x.heat, s.x.heat_on, carry, h)
    leaving(grid.x, grid.ocell, grid.volume, grid.bone, P, warm, capacity, s.face_heat, s.face_steam, h, x, z)
    solve(grid.y, grid.volume, capacity, s.y.heat, s.y.heat_on, carry, h)
    leaving(grid.y, grid.ocell, grid.volume, grid.bone, P, warm, capacity, s.face_heat, s.face_steam, h, x, z)
    if boiling:
        boiled(grid.volume, grid.bone, P, warm, capacity, s.boil_heat, s.boil_steam, h, x, z)
    solve(grid.x, grid.holds, None, s.x.water, s.x.water_on, carry, x)
    drying(grid.x, grid.ocell, P, warm, s.face_water, x, z)
    solve(grid.y, grid.holds, None, s.y.water, s.y.water_on, carry, x)
    drying(grid.y, grid.ocell, P, warm, s.face_water, x, z)
    moved(PLUS, grid.bone, warm, x, h)


@njit(**INNER)
def leaving(axis, ocell, volume, bone, P, warm, capacity, face_heat, face_steam, h, x, z):
    """Heat and vapour that the faces at the ends of the lines just solved take with heating ``h`` [W/m3]."""
    lanes = span(P[0])
    for f in range(axis.faces.shape[0]):
        n = axis.faces[f]
        c = ocell[n]
        meat = 1.0 - bone[c]
        im = 1.0 / (volume[c] * meat) if meat > 0.0 else 0.0
        for m in range(lanes):
            z[HEAT_OUT, m] += face_heat[n, m] * h[c, m] / capacity[c, m]
        for m in range(lanes):
            z[HEAT_OUT, m] += warm[m] / P[at.DENSITY, m] * face_steam[n, m] * h[c, m] / capacity[c, m]
        for m in range(lanes):
            gone = face_steam[n, m] * h[c, m] / capacity[c, m]
            z[EVAPORATED, m] += gone
            x[c, m] -= im * gone / P[at.DENSITY, m]


@njit(**INNER)
def boiled(volume, bone, P, warm, capacity, boil_heat, boil_steam, h, x, z):
    """Heat and steam that boiling takes with heating ``h`` [W/m3]."""
    lanes = span(P[0])
    for c in range(volume.shape[0]):
        meat = 1.0 - bone[c]
        if meat <= 0.0:
            continue
        im = 1.0 / (volume[c] * meat)
        for m in range(lanes):
            z[HEAT_OUT, m] += boil_heat[c, m] * h[c, m] / capacity[c, m]
        for m in range(lanes):
            z[HEAT_OUT, m] += warm[m] / P[at.DENSITY, m] * boil_steam[c, m] * h[c, m] / capacity[c, m]
        for m in range(lanes):
            steam = boil_steam[c, m] * h[c, m] / capacity[c, m]
            z[EVAPORATED, m] += steam
            x[c, m] -= im * steam / P[at.DENSITY, m]
        for m in range(lanes):
            z[BOILED, m] += boil_steam[c, m] * h[c, m] / capacity[c, m]


@njit(**INNER)
def drying(axis, ocell, P, warm, face_water, x, z):
    """Vapour that the faces take with wetting ``x`` [1/s]."""
    lanes = span(P[0])
    for f in range(axis.faces.shape[0]):
        n = axis.faces[f]
        c = ocell[n]
        for m in range(lanes):
            z[EVAPORATED, m] += face_water[n, m] * P[at.DENSITY, m] * x[c, m]
        for m in range(lanes):
            z[HEAT_OUT, m] += warm[m] * face_water[n, m] * x[c, m]
