"""The readable kernel's physics: rates of change of heat, water and reactions, members on the last axis.

Fields have the shape (nx * ny, members), outer faces (faces, members). The compiled twin is
``compiled_rates.py``; the laws of both are in ``laws.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pitreckon.section import laws
from pitreckon.section.shapes import GROUPS, UPPER
from pitreckon.section.tally import (
    BOILED,
    DRIPPED,
    EVAPORATED,
    GLAZE0,
    HEAT_IN,
    HEAT_OUT,
    POOL,
)

Floats = NDArray[np.float64]
Named = dict[str, Floats]
"""Rows of a table by their name, each one number a member; views, so that they follow the table."""

CW, ZERO = laws.WATER_CP_J_KGK, laws.CELSIUS_ZERO_K


@dataclass(frozen=True)
class Piece:
    """The section's geometry, with an axis for the members behind it."""

    nx: int
    ny: int
    gx: Floats
    gy: Floats
    volume: Floats
    bone: Floats
    meat: Floats
    core: int
    places: NDArray[np.int64]
    outer: NDArray[np.int64]
    group: NDArray[np.int64]
    area: Floats
    upper: Floats  # area of the upper faces, 0 for the others
    per_meat: Floats  # 1 / (volume of meat in the cell); 0 where all is bone

    @classmethod
    def of(cls, nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places) -> Piece:  # type: ignore[no-untyped-def]
        """From the arrays of a ``Section``."""
        meat = 1.0 - bone
        with np.errstate(divide="ignore"):
            per_meat = np.where(meat > 0.0, 1.0 / (volume * meat), 0.0)
        upper = np.where(ogroup == UPPER, oarea, 0.0)
        column = (slice(None), None)
        return cls(
            nx=nx,
            ny=ny,
            gx=gx[..., None],
            gy=gy[..., None],
            volume=volume[column],
            bone=bone[column],
            meat=meat[column],
            core=core,
            places=places,
            outer=ocell,
            group=ogroup,
            area=oarea[column],
            upper=upper[column],
            per_meat=per_meat[column],
        )

    def grid(self, field: Floats) -> Floats:
        """A field of cells as (nx, ny, members)."""
        return field.reshape(self.nx, self.ny, -1)

    def upper_mean(self, faces: Floats) -> Floats:
        """Mean over the upper faces."""
        mean: Floats = (self.upper * faces).sum(axis=0) / self.upper.sum()
        return mean

    def meat_mean(self, cells: Floats) -> Floats:
        """Mean over the meat by volume."""
        weight = self.volume * self.meat
        mean: Floats = (weight * cells).sum(axis=0) / weight.sum()
        return mean


@dataclass
class State:
    """What the scheme integrates; also its time derivative."""

    heat: Floats  # enthalpy [J/m3]
    water: Floats  # [kg per kg of fat-free dry matter]
    tally: Floats  # running sums, rows of ``tally.py``

    def copy(self) -> State:
        """A state of its own."""
        return State(self.heat.copy(), self.water.copy(), self.tally.copy())


@dataclass(frozen=True)
class Fields:
    """What follows from a state in every cell."""

    temp_c: Floats
    capacity: Floats  # [J/m3 K]
    conductivity: Floats
    transport: Floats  # of water above the holding capacity [m2/s]
    diffusion: Floats  # of all water [m2/s]
    excess: Floats  # water above the holding capacity; negative below it


@dataclass(frozen=True)
class Around:
    """The pit round the piece at one instant."""

    air_c: Floats
    wall_c: Floats
    stage: Named


def fields_of(piece: Piece, p: Named, state: State) -> Fields:
    """Temperature and properties of every cell."""
    water = state.water
    meat_capacity = p["dry_density"] * (p["dry_cp"] + CW * water)
    capacity = piece.meat * meat_capacity + piece.bone * p["bone_capacity"]
    temp_c = state.heat / capacity
    limited = np.clip(temp_c, -20.0, 140.0)
    meat_k = p["k_base"] + p["k_temp"] * limited + p["k_water"] * water
    lost = laws.holding_share(np.clip(limited - p["hold_shift"], -20.0, 140.0))
    return Fields(
        temp_c=temp_c,
        capacity=capacity,
        conductivity=piece.meat * meat_k + piece.bone * p["bone_k"],
        transport=p["transport"] * laws.transport_shape(limited),
        diffusion=p["diffusion"] * laws.diffusion_shape(np.clip(temp_c, 0.0, 120.0)),
        excess=water - p["water"] * (1.0 - p["hold_drop"] * lost),
    )


def derivative(piece: Piece, p: Named, around: Around, state: State) -> tuple[State, Fields]:
    """Time derivative of a state, and the fields that it was reckoned with."""
    fields = fields_of(piece, p, state)
    rate = State(*(np.zeros_like(a) for a in (state.heat, state.water, state.tally)))
    _boil(piece, p, state, fields, rate)
    _exchange(piece, p, state, fields, rate)
    _surface(piece, p, around, state, fields, rate)
    return rate, fields


def _boil(piece: Piece, p: Named, state: State, fields: Fields, rate: State) -> None:
    """Heat above boiling turns into steam where there is water."""
    over = np.maximum(fields.temp_c - p["boil_c"], 0.0)
    wet = np.clip(state.water / laws.DRY_LIMIT, 0.0, 1.0) * (piece.meat > 0.0)
    latent = laws.latent_heat(fields.temp_c)
    steam = fields.capacity * over / laws.STEAM_TAU_S * wet / latent
    taken = steam * (latent + CW * fields.temp_c)
    rate.heat -= taken
    rate.water -= steam * piece.volume * piece.per_meat / p["dry_density"]
    boiled = (steam * piece.volume).sum(axis=0)
    rate.tally[EVAPORATED] += boiled
    rate.tally[BOILED] += boiled
    rate.tally[HEAT_OUT] += (taken * piece.volume).sum(axis=0)


def _exchange(piece: Piece, p: Named, state: State, fields: Fields, rate: State) -> None:
    """Conduction, and water that moves between neighbours and carries its heat along."""
    temp_c, k, transport, diffusion, excess, water, meat, volume, per_meat = (
        piece.grid(f)
        for f in (
            fields.temp_c,
            fields.conductivity,
            fields.transport,
            fields.diffusion,
            fields.excess,
            state.water,
            piece.meat,
            piece.volume,
            piece.per_meat,
        )
    )
    heat_rate, water_rate = piece.grid(rate.heat), piece.grid(rate.water)
    along_x = (np.s_[:-1, :], np.s_[1:, :], piece.gx)
    along_y = (np.s_[:, :-1], np.s_[:, 1:], piece.gy)
    for a, b, conductance in (along_x, along_y):
        g = conductance / p["scale"] ** 2
        free = laws.free_water(excess)
        # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
        pull = 0.5 * (transport[a] + transport[b]) * (free[a] - free[b])
        pull += 0.5 * (diffusion[a] + diffusion[b]) * (excess[a] - excess[b])
        # The giving cell limits the flow, so that none goes negative and a dry one can still take.
        throttle = np.clip(water / laws.DRY_LIMIT, 0.0, 1.0)
        given = np.maximum(pull, 0.0) * throttle[a] + np.minimum(pull, 0.0) * throttle[b]
        moved = g * np.minimum(meat[a], meat[b]) * given
        carried = CW * p["dry_density"] * moved * 0.5 * (temp_c[a] + temp_c[b])
        heat = g * 0.5 * (k[a] + k[b]) * (temp_c[a] - temp_c[b]) + carried
        heat_rate[a] -= heat / volume[a]
        heat_rate[b] += heat / volume[b]
        water_rate[a] -= moved * per_meat[a]
        water_rate[b] += moved * per_meat[b]


def pool_share(piece: Piece, p: Named, stage: Named, tally: Floats) -> Floats:
    """Share of the surface that liquid standing in the wrap keeps wet."""
    # The tally is per volume of the nominal section: the piece has scale**3 of it, over scale**2 of surface.
    film = tally[POOL] * p["scale"] / piece.area.sum()
    share: Floats = np.clip(film / laws.POOL_FILM_KG_M2, 0.0, 1.0) * stage["holds_liquid"]
    return share


def by_group(piece: Piece, stage: Named, name: str) -> Floats:
    """A coefficient of the stage on every outer face."""
    values: Floats = np.stack([stage[f"{name}_{g}"] for g in range(GROUPS)])[piece.group]
    return values


def _surface(piece: Piece, p: Named, around: Around, state: State, fields: Fields, rate: State) -> None:
    """Convection, radiation, evaporation and drip on the outer faces; the glaze dries on top of them."""
    stage, cell = around.stage, piece.outer
    temp_c, excess = fields.temp_c[cell], fields.excess[cell]
    pool = pool_share(piece, p, stage, state.tally)
    solid = stage["glaze_solid"]
    glazed = np.where(solid > 0.0, 1.0, 0.0) * (piece.group == UPPER)[:, None]  # brushed on the upper faces
    glaze_water = np.maximum(state.tally[GLAZE0:], 0.0)
    activity = laws.surface_activity(np.maximum(state.water[cell], 0.0), p["skin_b"])
    activity = activity + (1.0 - activity) * pool
    of_glaze = glaze_water / (glaze_water + laws.GLAZE_HOLD * solid + 1e-12)
    activity = activity + (of_glaze - activity) * glazed

    pressure = p["pressure_pa"]
    saturated = laws.saturation_pressure(np.clip(temp_c, 0.0, 140.0))
    at_face = np.minimum(activity * saturated, 0.8 * pressure)
    vapour = by_group(piece, stage, "vapour") * laws.log_ratio(pressure, stage["vapour_pa"], at_face)
    from_meat = vapour * (1.0 - pool) * (1.0 - glazed)
    from_pool = vapour * pool * (1.0 - glazed)
    squeezed = np.maximum(excess, 0.0) + pool * np.minimum(excess, 0.0)
    ooze = p["dry_density"] * p["drip"] * squeezed * piece.meat[cell]

    face_k, wall_k = temp_c + ZERO, around.wall_c + ZERO
    radiated = by_group(piece, stage, "emissivity") * laws.SIGMA_W_M2K4 * (wall_k**4 - face_k**4)
    heat = by_group(piece, stage, "convection") * (around.air_c - temp_c) + radiated
    gone = vapour * laws.latent_heat(temp_c) + CW * temp_c * (from_meat + ooze)

    # A block's or drum's corner cell has two outer faces, so the sums run over faces, not cells.
    area = piece.area / p["scale"]
    np.add.at(rate.heat, cell, area / piece.volume[cell] * (heat - gone))
    np.add.at(rate.water, cell, -area * piece.per_meat[cell] * (from_meat + ooze) / p["dry_density"])
    rate.tally[EVAPORATED] += (area * from_meat).sum(axis=0)
    rate.tally[DRIPPED] += (area * ooze).sum(axis=0)
    rate.tally[POOL] += (area * stage["holds_liquid"] * (ooze - from_pool)).sum(axis=0)
    rate.tally[HEAT_IN] += (area * heat).sum(axis=0)
    rate.tally[HEAT_OUT] += (area * gone).sum(axis=0)
    rate.tally[GLAZE0:] = -vapour * glazed


def reactions(piece: Piece, p: Named, stage: Named, state: State, temp_c: Floats) -> dict[str, Any]:
    """Rates [1/s] of the slow reactions, which do not act back on heat and water."""
    t = np.clip(temp_c, -20.0, 180.0)
    activity = laws.surface_activity(np.maximum(state.water[piece.outer], 0.0), p["skin_b"])
    activity = activity + (1.0 - activity) * pool_share(piece, p, stage, state.tally)
    dryness = laws.COLOUR_FLOOR + (1.0 - laws.COLOUR_FLOOR) * (1.0 - activity)
    browning = p["colour_rate"] * laws.arrhenius(t[piece.outer], p["colour_ea_over_r"], 90.0)
    return {
        "gelatin": p["gelatin_rate"] * laws.arrhenius(t, p["gelatin_ea_over_r"], 90.0),
        "shrunk": laws.SHRINK_RATE * laws.arrhenius(t, laws.SHRINK_EA_OVER_R, 58.0),
        "kill": laws.kill_rate(t),
        "colour": browning * dryness * (1.0 + stage["sugar"]),
    }
