"""The readable kernel's line solves: what lets a step be far longer than the cells' own time.

Along x, then along y, of heat and of water, a tridiagonal set of equations for every line of cells. With u the
warming of a cell [K/s], V C what it holds, L its links to its neighbours and A what it loses outward, all by the
look-ahead time, a line says

    (V C + A + sum of L) u - sum of (L u of the neighbour) = V (rate of enthalpy)

so that summed over a line nothing is lost but A u, which goes on the tallies: the balances close. The compiled twin is
``compiled_steady.py``; ``multistage.py`` has the scheme.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from tests.oracles.readable.rates import CW, ZERO, Fields, Floats, Named, Piece, State, by_group, skin_of

from pitreckon.section import laws
from pitreckon.section.multistage import BOIL_AHEAD
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, HEAT_OUT, POOL


@dataclass(frozen=True)
class Lines:
    """Symmetric tridiagonal equations of all lines, eliminated from the first cell on; [along, line, member]."""

    axis: int  # 0: lines along x, 1: along y
    inverse: Floats  # one over the pivot
    on: Floats  # the pivot's share of the next cell's row

    @classmethod
    def of(cls, axis: int, own: Floats, link: Floats) -> Lines:
        """From what every cell holds and loses by itself, (nx, ny, members), and its links to the next."""
        own, link = np.moveaxis(own, axis, 0), np.moveaxis(link, axis, 0)
        inverse, on = np.empty_like(own), np.empty_like(link)
        back = np.zeros_like(own[0])  # what is left of the link to the cell before: that in series with its own
        for k in range(len(link)):
            mine = own[k] + back
            inverse[k] = 1.0 / (mine + link[k])
            on[k] = link[k] * inverse[k]
            back = link[k] * mine * inverse[k]
        inverse[-1] = 1.0 / (own[-1] + back)
        return cls(axis, inverse, on)

    def solved(self, right: Floats) -> Floats:
        """The solution for a right side, both (nx, ny, members)."""
        u = np.moveaxis(right, self.axis, 0).copy()
        last = len(u) - 1
        for k in range(last):
            u[k + 1] += self.on[k] * u[k]
        u *= self.inverse
        for k in range(last - 1, -1, -1):
            u[k] += self.on[k] * u[k + 1]
        return np.moveaxis(u, 0, self.axis)


@dataclass(frozen=True)
class Steadier:
    """All of a step's line solves, and what leaves on the way.

    By cell: capacity [J/m3 K], what boiling takes [J/K], the steam in it [kg/K] and of water [m3]. By outer face: what
    the surface takes of heat [J/K], the vapour in that [kg/K], of water as vapour and as juice [m3]. By member: what a
    kg/kg of water carries of heat at the mean temperature of the outer faces [J/m3].
    """

    heat: Sequence[Lines]  # along x, along y
    water: Sequence[Lines]
    capacity: Floats
    boil_heat: Floats
    boil_steam: Floats
    boil_dry: Floats
    face_heat: Floats
    face_steam: Floats
    face_water: Floats
    face_ooze: Floats
    holds_liquid: Floats
    carried: Floats


def prepare(piece: Piece, p: Named, stage: Named, ahead_s: Floats, state: State, fields: Fields) -> Steadier:
    """Eliminate all lines for a step of each member that looks ``ahead_s`` ahead of its state."""
    boil_heat, boil_steam, boil_dry = _boiling(piece, p, ahead_s, fields)
    face_heat, face_steam, face_water, face_ooze = _faces(piece, p, stage, ahead_s, state, fields)

    # Along x the faces at the sides take, along y the others, and boiling.
    holds_heat = piece.volume * fields.capacity
    holds_water = holds_of(piece) * np.ones_like(ahead_s)
    own_heat = [holds_heat, holds_heat + boil_heat]
    own_water = [holds_water, holds_water + boil_dry]
    for axis, faces in enumerate((piece.sideways, ~piece.sideways)):
        np.add.at(own_heat[axis], piece.outer[faces], face_heat[faces])
        np.add.at(own_water[axis], piece.outer[faces], face_water[faces] + face_ooze[faces])

    mobility = (fields.transport * laws.free_share(fields.excess, fields.free) + fields.diffusion) * fields.throttle
    k, m, meat = (piece.grid(f) for f in (fields.conductivity, mobility, piece.meat))
    heat, water = [], []
    for axis, (a, b, conductance) in enumerate(piece.pairs):
        link = 0.5 * conductance * ahead_s / p["scale"] ** 2
        wet_link = link * np.minimum(meat[a], meat[b])
        heat.append(Lines.of(axis, piece.grid(own_heat[axis]), link * (k[a] + k[b])))
        water.append(Lines.of(axis, piece.grid(own_water[axis]), wet_link * (m[a] + m[b])))
    return Steadier(
        heat=heat,
        water=water,
        capacity=fields.capacity,
        boil_heat=boil_heat,
        boil_steam=boil_steam,
        boil_dry=boil_dry,
        face_heat=face_heat,
        face_steam=face_steam,
        face_water=face_water,
        face_ooze=face_ooze,
        holds_liquid=stage["holds_liquid"],
        carried=CW * p["dry_density"] * fields.temp_c[piece.outer].mean(axis=0),
    )


def _boiling(piece: Piece, p: Named, ahead_s: Floats, fields: Fields) -> tuple[Floats, Floats, Floats]:
    """What boiling takes of every cell: heat and the steam in it per kelvin, water per kg/kg where that is little."""
    boils = (fields.temp_c > p["boil_c"]) & (piece.meat > 0.0)
    speed = BOIL_AHEAD / laws.STEAM_TAU_S * ahead_s
    heat = speed * piece.volume * fields.capacity * fields.throttle * boils
    over = np.maximum(fields.temp_c - p["boil_c"], 0.0) * (piece.meat > 0.0) * (fields.throttle < 1.0)
    steam = ahead_s * piece.volume * fields.capacity * over / laws.STEAM_TAU_S / laws.DRY_LIMIT
    dry = steam / laws.latent_heat(fields.temp_c) / p["dry_density"]
    return heat, heat / (laws.latent_heat(fields.temp_c) + CW * fields.temp_c), dry


def _faces(
    piece: Piece, p: Named, stage: Named, ahead_s: Floats, state: State, fields: Fields
) -> tuple[Floats, Floats, Floats, Floats]:
    """What the outer faces take: heat and the vapour in it per kelvin; per kg/kg water as vapour and as juice."""
    skin = skin_of(piece, p, stage, state)
    t = laws.limited(fields.temp_c[piece.outer], 0.0, 140.0)
    pressure, b = p["pressure_pa"], p["skin_b"]
    saturated = laws.saturation_pressure(t)
    at_face = np.minimum(skin.activity * saturated, laws.MOST_VAPOUR * pressure)
    passes = by_group(piece, stage, "vapour") * np.where(at_face > stage["vapour_pa"], skin.open, 1.0)
    speed = (passes + by_group(piece, stage, "through")) / (pressure - at_face)
    vapour_per_k = speed * skin.activity * laws.saturation_slope(t, saturated)
    water = np.maximum(state.water[piece.outer], 0.0)
    activity_per_water = 2.0 * water * b * b / (water * water + b * b) ** 2
    radiant = 4.0 * laws.SIGMA_W_M2K4 * by_group(piece, stage, "emissivity") * (t + ZERO) ** 3
    squeezed = np.where(fields.excess[piece.outer] > 0.0, p["drip"], p["drink"] * skin.pool)
    reach = piece.area / p["scale"] * ahead_s
    return (
        reach * (by_group(piece, stage, "convection") + radiant + vapour_per_k * laws.latent_heat(t)),
        reach * vapour_per_k * skin.from_meat,
        reach * speed * saturated * activity_per_water * skin.bare / p["dry_density"],
        reach * squeezed * piece.meat[piece.outer],
    )


def holds_of(piece: Piece) -> Floats:
    """What the water of a cell fills: its meat; of a cell that is all bone, where it stays 0, the whole."""
    return np.where(piece.meat > 0.0, piece.volume * piece.meat, piece.volume)


def steady(piece: Piece, p: Named, s: Steadier, rate: State) -> State:
    """Steadied rates of enthalpy and water; what leaves on the way goes on the tallies' rates."""
    water, tally = rate.water.copy(), rate.tally.copy()
    heat = rate.heat - piece.meat * s.carried * water  # the water's own part waits until the water has been worked on
    sensible = s.carried / p["dry_density"]  # of a kg of water
    ends = (piece.sideways, ~piece.sideways)

    for lines, faces in zip(s.heat, ends, strict=True):
        warming = lines.solved(piece.grid(piece.volume * heat)).reshape(heat.shape)
        heat = warming * s.capacity
        cell = piece.outer[faces]
        steam = s.face_steam[faces] * warming[cell]
        tally[HEAT_OUT] += (s.face_heat[faces] * warming[cell] + sensible * steam).sum(axis=0)
        tally[EVAPORATED] += steam.sum(axis=0)
        np.add.at(water, cell, -piece.per_meat[cell] * steam / p["dry_density"])

    steam = s.boil_steam * warming
    tally[HEAT_OUT] += (s.boil_heat * warming + sensible * steam).sum(axis=0)
    tally[EVAPORATED] += steam.sum(axis=0)
    tally[BOILED] += steam.sum(axis=0)
    water -= piece.per_meat * steam / p["dry_density"]

    for lines, faces in zip(s.water, ends, strict=True):
        water = lines.solved(piece.grid(holds_of(piece) * water)).reshape(water.shape)
        vapour = s.face_water[faces] * p["dry_density"] * water[piece.outer[faces]]
        tally[EVAPORATED] += vapour.sum(axis=0)
        juice = s.face_ooze[faces] * p["dry_density"] * water[piece.outer[faces]]
        tally[DRIPPED] += juice.sum(axis=0)
        tally[POOL] += s.holds_liquid * juice.sum(axis=0)
        tally[HEAT_OUT] += (sensible * (vapour + juice)).sum(axis=0)

    steam = s.boil_dry * p["dry_density"] * water
    tally[EVAPORATED] += steam.sum(axis=0)
    tally[BOILED] += steam.sum(axis=0)
    tally[HEAT_OUT] += (sensible * steam).sum(axis=0)
    return State(heat + piece.meat * s.carried * water, water, tally)
