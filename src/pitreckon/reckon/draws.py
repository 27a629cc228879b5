"""The prior: what is not known about a pit and a piece before anything is seen, drawn once for each member.

Every draw is a Latin hypercube, so that a few hundred members cover each spread evenly. A pit's draws are
shared by all that cooks on it; an item's are its own. Both depend on the seed and the label alone: adding an
item changes nothing for the others.
"""

import zlib
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut, Figure, Pit, Wrap
from pitreckon.catalog.constants import Constant
from pitreckon.cook import ItemPlan
from pitreckon.physics.constants import GAS_CONSTANT
from pitreckon.section import material
from pitreckon.section.constants import CONSTANTS
from pitreckon.section.members import Members

START_SD_K = 1.5
"""Spread of the meat's temperature at put-on about what was said [K]: common practice, no source."""

CONDUCTIVITY_SD = 0.10
"""Relative spread of conductivity from animal to animal (the parameter set's prior range)."""

MEASURED_SCALE_SD = 0.03
"""Relative spread of the thickness where the cook measured it: common practice, no source."""


LAG_S, LAG_SPREAD = 90.0, 0.5
"""How late the readout's sensor is, and the spread of its logarithm: common practice, no source."""

SPOT_SD_K = 4.0
"""Spread of the air from place to place on one grate [K]: common practice, no source."""

PIT_UNKNOWNS = ("offset", "wall", "convection", "flow", "dip", "recovery", "lag")
OWN_SHARE = {
    "scale": 0.8,
    "start": 0.5,
    "transport": 0.1,
    "diffusion": 0.1,
    "drip": 0.3,
    "shift": 0.3,
    "drop": 0.3,
    "skin": 0.2,
    "gelatin": 0.3,
    "gelatin_ea": 0.0,
    "colour": 0.2,
    "colour_ea": 0.0,
    "conductivity": 0.3,
    "emissivity": 0.3,
    "open": 0.5,
    "glaze": 0.2,
    "leak": 0.5,
    "gap": 0.5,
    "bone": 0.3,
    "fat": 0.3,
    "spot": 1.0,
    "crust": 0.1,
    "crust_at": 0.1,
    "permeance": 0.5,
}
"""An item's unknowns, and what share of each one's variance is a piece's own: the rest its fellows have as well
(common practice, no source; what is the model's own ignorance is the same in all pieces)."""
ITEM_UNKNOWNS = tuple(OWN_SHARE)
UNKNOWNS = (*PIT_UNKNOWNS, *ITEM_UNKNOWNS)

Unknowns = Mapping[str, Floats]
"""Standard normal numbers by name, one a member."""


def named(z: Floats) -> dict[str, Floats]:
    """Rows of an array by the names of ``UNKNOWNS``."""
    return dict(zip(UNKNOWNS, z, strict=True))


def prior(label: str, pit: str, n: int, seed: int) -> Floats:
    """Draws of all that is not known of a piece and its pit, shape (unknowns, members)."""
    of_pit = hypercube(stream(seed, f"pit {pit}"), PIT_UNKNOWNS, n)
    of_item = hypercube(stream(seed, f"item {label}"), ITEM_UNKNOWNS, n)
    return np.stack([(of_pit | of_item)[name] for name in UNKNOWNS])


def stream(seed: int, label: str) -> np.random.Generator:
    """A generator that depends on the seed and the label alone."""
    return np.random.default_rng([seed, zlib.crc32(label.encode())])


def hypercube(rng: np.random.Generator, names: tuple[str, ...], n: int) -> dict[str, Floats]:
    """Standard normal draws of each name, every one of n equal strata hit once."""
    out = {}
    for name in names:
        u = (rng.permutation(n) + rng.random(n)) / n
        out[name] = np.asarray(ndtri(np.clip(u, 1e-9, 1.0 - 1e-9)), dtype=np.float64)
    return out


def normal(figure: Figure | Constant, z: Floats) -> Floats:
    """Draws of a figure with its own spread, symmetric."""
    return figure.value + figure.spread * z


def lognormal(figure: Figure, z: Floats) -> Floats:
    """Draws of a positive figure whose spread is read as relative."""
    return np.asarray(figure.value * np.exp(figure.spread / figure.value * z)) if figure.value > 0 else 0.0 * z


def by_logarithm(name: str, z: Floats) -> Floats:
    """Factors e**(spread z) of a model constant whose spread is that of its logarithm."""
    return np.asarray(np.exp(CONSTANTS[name].spread * z))


@dataclass(frozen=True)
class PitDraw:
    """What is not known about a pit, per member."""

    offset_k: Floats
    wall_offset_k: Floats
    air_speed_m_s: Floats
    air_flow_kg_s: Floats
    lid_dip_k: Floats
    lid_recovery_s: Floats
    lag_s: Floats


def draw_pit(pit: Pit, z: Unknowns) -> PitDraw:
    """One pit as its unknowns have it; ``z`` has a row for each of ``PIT_UNKNOWNS``."""
    return PitDraw(
        offset_k=normal(pit.air.offset_k, z["offset"]),
        wall_offset_k=normal(pit.surface.wall_offset_k, z["wall"]),
        air_speed_m_s=lognormal(pit.surface.air_speed_m_s, z["convection"]),
        air_flow_kg_s=lognormal(pit.exchange.air_flow_kg_s, z["flow"]),
        lid_dip_k=np.maximum(normal(pit.air.lid_dip_k, z["dip"]), 0.0),
        lid_recovery_s=np.maximum(normal(pit.air.lid_recovery_s, z["recovery"]), 30.0),
        lag_s=LAG_S * np.exp(LAG_SPREAD * z["lag"]),
    )


@dataclass(frozen=True)
class ItemDraw:
    """What is not known about a piece of an item, per member."""

    members: Members
    emissivity: Floats
    open_fraction: Floats
    leak_z: Floats
    gap_z: Floats
    bone_show: Floats
    fat_render: Floats
    spot_k: Floats
    permeance_z: Floats

    def leak(self, wrap: Wrap) -> Floats:
        """Leak of a wrap, folded well or badly [kg/m2 s Pa]."""
        return lognormal(wrap.leak_kg_m2_s_pa, self.leak_z)

    def permeance(self, wrap: Wrap) -> Floats:
        """Permeance of a wrap's sheet [kg/m2 s Pa]."""
        return lognormal(wrap.vapour_permeance_kg_m2_s_pa, self.permeance_z)

    def gap(self, wrap: Wrap) -> Floats:
        """Conductance of the gap under a wrap [W/m2K]."""
        return lognormal(wrap.gap_conductance_w_m2k, self.gap_z)


def draw_item(cut: Cut, item: ItemPlan, pressure_pa: float, z: Unknowns) -> ItemDraw:
    """One piece of an item as its unknowns have it; ``z`` has a row for each of ``ITEM_UNKNOWNS``."""
    n = z["scale"].size
    middle = material.parameters_of(cut, pressure_pa)
    collagen = cut.texture.collagen_rate
    rate_spread = float(np.hypot(CONSTANTS["gelatin_rate_per_s"].spread, collagen.spread / collagen.value))
    scale_sd = MEASURED_SCALE_SD if item.thickness_m is not None else cut.shape.scale_sd.value
    open_fraction = np.clip(normal(cut.surface.open_fraction, z["open"]), 0.1, 1.0)
    covered = material.covered_surface_factor(open_fraction) / material.covered_surface_factor(
        cut.surface.open_fraction.value
    )
    k = 1.0 + CONDUCTIVITY_SD * z["conductivity"]
    members = Members.of(n, middle).changed(
        scale=cut.scale(item.mass_kg) * np.exp(scale_sd * z["scale"]),
        start_c=item.start_c + START_SD_K * z["start"],
        transport=middle["transport"] * covered * by_logarithm("transport_m2_s", z["transport"]),
        diffusion=middle["diffusion"] * covered * by_logarithm("diffusion_m2_s", z["diffusion"]),
        drip=middle["drip"] * by_logarithm("drip_m_s", z["drip"]),
        hold_shift=normal(CONSTANTS["hold_shift_k"], z["shift"]),
        hold_drop=np.clip(normal(CONSTANTS["hold_drop"], z["drop"]), 0.1, 0.9),
        skin_b=middle["skin_b"] * by_logarithm("skin_b", z["skin"]),
        skin_r=middle["skin_r"] * by_logarithm("skin_r_m2s_kg", z["crust"]),
        skin_e=middle["skin_e"] * by_logarithm("skin_e_kg_m2", z["crust_at"]),
        gelatin_rate=middle["gelatin_rate"] * np.exp(rate_spread * z["gelatin"]),
        gelatin_ea_over_r=normal(CONSTANTS["gelatin_ea_j_mol"], z["gelatin_ea"]) / GAS_CONSTANT,
        colour_rate=middle["colour_rate"] * by_logarithm("colour_rate_per_s", z["colour"]),
        colour_ea_over_r=normal(CONSTANTS["colour_ea_j_mol"], z["colour_ea"]) / GAS_CONSTANT,
        k_base=middle["k_base"] * k,
        k_temp=middle["k_temp"] * k,
        k_water=middle["k_water"] * k,
        glaze_set_at=np.maximum(normal(CONSTANTS["glaze_set_ratio"], z["glaze"]), 0.1),
    )
    return ItemDraw(
        members=members,
        emissivity=np.clip(normal(CONSTANTS["emissivity"], z["emissivity"]), 0.5, 1.0),
        open_fraction=open_fraction,
        leak_z=z["leak"],
        gap_z=z["gap"],
        bone_show=np.maximum(normal(CONSTANTS["bone_show"], z["bone"]), 0.0),
        fat_render=np.clip(normal(CONSTANTS["fat_render"], z["fat"]), 0.0, 1.0),
        spot_k=SPOT_SD_K * z["spot"],
        permeance_z=z["permeance"],
    )
