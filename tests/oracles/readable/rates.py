"""The readable kernel's physics: rates of change of heat, water and reactions, members on the last axis.

Fields have the shape (nx * ny, members), outer faces (faces, members). The compiled twin is
``compiled_rates.py``; the laws of both are in ``laws.py``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.section import laws
from pitreckon.section.shapes import GROUPS, UPPER, Section
from pitreckon.section.tally import BOILED, DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = tuple[slice, slice]
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
    sideways: Mask  # faces at the ends of the lines along x; the others end lines along y
    per_meat: Floats  # 1 / (volume of meat in the cell); 0 where all is bone

    @classmethod
    def of(cls, section: Section) -> Piece:
        """A section's geometry."""
        meat = 1.0 - section.bone
        with np.errstate(divide="ignore"):
            per_meat = np.where(meat > 0.0, 1.0 / (section.volume * meat), 0.0)
        group, column = section.outer_group, (slice(None), None)
        return cls(
            nx=section.nx,
            ny=section.ny,
            gx=section.gx[..., None],
            gy=section.gy[..., None],
            volume=section.volume[column],
            bone=section.bone[column],
            meat=meat[column],
            core=section.core,
            places=section.places,
            outer=section.outer_cell,
            group=group,
            area=section.outer_area[column],
            upper=np.where(group == UPPER, section.outer_area, 0.0)[column],
            sideways=section.outer_sideways,
            per_meat=per_meat[column],
        )

    @property
    def glazes(self) -> slice:
        """Rows of the tallies: water left in the glaze of each outer face."""
        return slice(GLAZE0, GLAZE0 + self.outer.size)

    @property
    def skins(self) -> slice:
        """Rows of the tallies: vapour that each outer face has given off bare."""
        return slice(GLAZE0 + self.outer.size, GLAZE0 + 2 * self.outer.size)

    def grid(self, field: Floats) -> Floats:
        """A field of cells as (nx, ny, members)."""
        return field.reshape(self.nx, self.ny, -1)

    @property
    def pairs(self) -> tuple[tuple[Index, Index, Floats], ...]:
        """Along x and along y: which cells of a grid join which next ones, and their conductances."""
        return (np.s_[:-1, :], np.s_[1:, :], self.gx), (np.s_[:, :-1], np.s_[:, 1:], self.gy)

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


@dataclass(frozen=True)
class Fields:
    """What follows from a state in every cell."""

    temp_c: Floats
    capacity: Floats  # [J/m3 K]
    conductivity: Floats
    transport: Floats  # of water above the holding capacity [m2/s]
    diffusion: Floats  # of all water [m2/s]
    excess: Floats  # water above the holding capacity; negative below it
    free: Floats  # what of it flows freely
    throttle: Floats  # 1 in a wet cell, down to 0 in a dry one


@dataclass(frozen=True)
class Around:
    """The pit round the piece at one instant of each member."""

    air_c: Floats
    wall_c: Floats
    stage: Named


@dataclass(frozen=True)
class Skin:
    """What covers the outer faces and how wet they are, (faces, members)."""

    pool: Floats  # share that liquid in the wrap keeps wet, one number a member
    glazed: Floats  # 1 where there is a glaze
    meat_activity: Floats  # water activity below a glaze
    activity: Floats  # water activity
    open: Floats  # what the dried skin leaves of the Stefan coefficient

    @property
    def from_pool(self) -> Floats:
        """Share of the vapour that comes from the liquid: dry meat beside it gives off next to none."""
        share: Floats = self.pool / (self.meat_activity + laws.NOT_NONE) * (1.0 - self.glazed)
        return share

    @property
    def from_meat(self) -> Floats:
        """Share of the vapour that comes from the meat itself."""
        share: Floats = (1.0 - self.glazed) - self.from_pool
        return share

    @property
    def bare(self) -> Floats:
        """Share of the surface that neither liquid nor glaze covers."""
        share: Floats = (1.0 - self.pool) * (1.0 - self.glazed)
        return share


def fields_of(piece: Piece, p: Named, state: State) -> Fields:
    """Temperature and properties of every cell."""
    water = state.water
    meat_capacity = p["dry_density"] * (p["dry_cp"] + CW * water)
    capacity = piece.meat * meat_capacity + piece.bone * p["bone_capacity"]
    temp_c = state.heat / capacity
    limited = laws.limited(temp_c, -20.0, 140.0)
    meat_k = p["k_base"] + p["k_temp"] * limited + p["k_water"] * water
    moves, lost = laws.transport_and_holding(limited, laws.melt_factor(p["hold_shift"]))
    excess = water - p["water"] * (1.0 - p["hold_drop"] * lost)
    return Fields(
        temp_c=temp_c,
        capacity=capacity,
        conductivity=piece.meat * meat_k + piece.bone * p["bone_k"],
        transport=p["transport"] * moves,
        diffusion=p["diffusion"] * laws.diffusion_shape(laws.limited(temp_c, 0.0, 120.0)),
        excess=excess,
        free=laws.free_water(excess),
        throttle=laws.limited(water / laws.DRY_LIMIT, 0.0, 1.0),
    )


def derivative(piece: Piece, p: Named, around: Around, state: State, fields: Fields) -> State:
    """Time derivative of a state."""
    rate = State(*(np.zeros_like(a) for a in (state.heat, state.water, state.tally)))
    _exchange(piece, p, fields, rate)
    _boil(piece, p, fields, rate)
    _surface(piece, p, around, state, fields, rate)
    return rate


def _exchange(piece: Piece, p: Named, fields: Fields, rate: State) -> None:
    """Conduction, and water that moves between neighbours and carries its heat along."""
    temp_c, k, transport, diffusion, excess, free, throttle, meat, volume, per_meat = (
        piece.grid(f)
        for f in (
            fields.temp_c,
            fields.conductivity,
            fields.transport,
            fields.diffusion,
            fields.excess,
            fields.free,
            fields.throttle,
            piece.meat,
            piece.volume,
            piece.per_meat,
        )
    )
    heat_rate, water_rate = piece.grid(rate.heat), piece.grid(rate.water)
    for a, b, conductance in piece.pairs:
        g = conductance / p["scale"] ** 2
        # Water above the holding capacity flows freely, the rest diffuses; both down the same excess.
        pull = 0.5 * (transport[a] + transport[b]) * (free[a] - free[b])
        pull += 0.5 * (diffusion[a] + diffusion[b]) * (excess[a] - excess[b])
        # The giving cell limits the flow, so that none goes negative and a dry one can still take.
        given = np.maximum(pull, 0.0) * throttle[a] + np.minimum(pull, 0.0) * throttle[b]
        moved = g * np.minimum(meat[a], meat[b]) * given
        carried = CW * p["dry_density"] * moved * 0.5 * (temp_c[a] + temp_c[b])
        heat = g * 0.5 * (k[a] + k[b]) * (temp_c[a] - temp_c[b]) + carried
        heat_rate[a] -= heat / volume[a]
        heat_rate[b] += heat / volume[b]
        water_rate[a] -= moved * per_meat[a]
        water_rate[b] += moved * per_meat[b]


def _boil(piece: Piece, p: Named, fields: Fields, rate: State) -> None:
    """Heat above boiling turns into steam where there is water."""
    over = np.maximum(fields.temp_c - p["boil_c"], 0.0)
    wet = fields.throttle * (piece.meat > 0.0)
    latent = laws.latent_heat(fields.temp_c)
    steam = fields.capacity * over / laws.STEAM_TAU_S * wet / latent
    taken = steam * (latent + CW * fields.temp_c)
    rate.heat -= taken
    rate.water -= steam * piece.volume * piece.per_meat / p["dry_density"]
    boiled = (steam * piece.volume).sum(axis=0)
    rate.tally[EVAPORATED] += boiled
    rate.tally[BOILED] += boiled
    rate.tally[HEAT_OUT] += (taken * piece.volume).sum(axis=0)


def skin_of(piece: Piece, p: Named, stage: Named, state: State) -> Skin:
    """Liquid in the wrap, glaze and water activity of every outer face."""
    # The tally is per volume of the nominal section: the piece has scale**3 of it, over scale**2 of surface.
    film = state.tally[POOL] * p["scale"] / (piece.area.sum() * laws.POOL_FILM_KG_M2)
    pool = laws.limited(film, 0.0, 1.0) * stage["holds_liquid"]
    solid = stage["glaze_solid"]
    glazed = np.where(solid > 0.0, 1.0, 0.0) * (piece.group == UPPER)[:, None]  # brushed on the upper faces
    glaze_water = np.maximum(state.tally[piece.glazes], 0.0)
    of_glaze = glaze_water / (glaze_water + laws.GLAZE_HOLD * solid + 1e-12)
    of_meat = laws.surface_activity(np.maximum(state.water[piece.outer], 0.0), p["skin_b"])
    of_meat = of_meat + (1.0 - of_meat) * pool
    given = np.maximum(state.tally[piece.skins], 0.0)
    resistance = laws.skin_resistance(given, p["skin_r"], p["skin_e"], p["skin_n"])
    left = 1.0 / (1.0 + resistance * by_group(piece, stage, "vapour") * (1.0 - glazed))
    return Skin(pool, glazed, of_meat, of_meat + (of_glaze - of_meat) * glazed, left)


def by_group(piece: Piece, stage: Named, name: str) -> Floats:
    """A coefficient of the stage on every outer face."""
    values: Floats = np.stack([stage[f"{name}_{g}"] for g in range(GROUPS)])[piece.group]
    return values


def _surface(piece: Piece, p: Named, around: Around, state: State, fields: Fields, rate: State) -> None:
    """Convection, radiation, evaporation and drip on the outer faces; the glaze dries on top of them."""
    stage, cell = around.stage, piece.outer
    temp_c, excess = fields.temp_c[cell], fields.excess[cell]
    skin = skin_of(piece, p, stage, state)

    pressure = p["pressure_pa"]
    saturated = laws.saturation_pressure(laws.limited(temp_c, 0.0, 140.0))
    most = laws.MOST_VAPOUR * pressure
    at_face = np.minimum(skin.activity * saturated, most)
    drives = laws.log_ratio(pressure, np.minimum(stage["vapour_pa"], most), at_face)
    # What condenses meets no skin.
    passes = by_group(piece, stage, "vapour") * (skin.open * np.maximum(drives, 0.0) + np.minimum(drives, 0.0))
    vapour = passes + by_group(piece, stage, "through") * drives
    from_meat = vapour * skin.from_meat
    from_pool = vapour * skin.from_pool
    squeezed = p["drip"] * np.maximum(excess, 0.0) + p["drink"] * skin.pool * np.minimum(excess, 0.0)
    ooze = p["dry_density"] * squeezed * piece.meat[cell]

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
    rate.tally[piece.glazes] = -vapour * skin.glazed
    rate.tally[piece.skins] = np.maximum(passes, 0.0) * skin.from_meat


def reactions(piece: Piece, p: Named, stage: Named, state: State, temp_c: Floats) -> Named:
    """Rates [1/s] of the slow reactions, which do not act back on heat and water."""
    t = laws.limited(temp_c, -20.0, 180.0)
    inverse_k = 1.0 / (t + ZERO)
    skin = skin_of(piece, p, stage, state)
    # What browns is the outer side of the skin, where vapour stands between that of the meat and that of the air.
    humid = np.minimum(stage["vapour_pa"] / laws.saturation_pressure(laws.limited(t[piece.outer], 0.0, 140.0)), 1.0)
    outside = humid + (skin.meat_activity - humid) * skin.open
    dryness = p["colour_floor"] + (1.0 - p["colour_floor"]) * (1.0 - outside)
    browning = p["colour_rate"] * laws.arrhenius(inverse_k[piece.outer], p["colour_ea_over_r"], laws.AT_90_C)
    return {
        "gelatin": p["gelatin_rate"] * laws.arrhenius(inverse_k, p["gelatin_ea_over_r"], laws.AT_90_C),
        "shrunk": laws.SHRINK_RATE * laws.arrhenius(inverse_k, laws.SHRINK_EA_OVER_R, laws.AT_58_C),
        "kill": laws.kill_rate(t),
        "colour": browning * dryness * (1.0 + stage["sugar"]),
    }
