"""The prior: what is not known about a pit and a piece before anything is seen, drawn once for each member.

Every draw is a Latin hypercube, so that a few hundred members cover each spread evenly. What is the model's own
ignorance is one draw for all; a pit's draws are shared by all that cooks on it; an item's are its own (``levels``).
All depend on the seed and the label alone: adding an item changes nothing for the others.
"""

import zlib
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from pitreckon.arrays import Floats, Ints
from pitreckon.catalog import Cut, Figure, Pit, Wrap
from pitreckon.catalog.calibrated import calibrated
from pitreckon.cook import ItemPlan
from pitreckon.physics.constants import GAS_CONSTANT
from pitreckon.reckon.levels import (
    EVERYWHERE,
    ITEM_UNKNOWNS,
    PIT_UNKNOWNS,
    ROW,
    UNKNOWNS,
    Levels,
    levels_of,
    levels_of_pit,
)
from pitreckon.section import material
from pitreckon.section.constants import CONSTANTS
from pitreckon.section.members import Members

LAG_S = 90.0
"""How late the readout's sensor is: common practice, no source."""

Unknowns = Mapping[str, Floats]
"""Standard normal numbers by name, one a member."""


def named(z: Floats) -> dict[str, Floats]:
    """Rows of an array by the names of ``UNKNOWNS``."""
    return dict(zip(UNKNOWNS, z, strict=True))


def prior(label: str, pit: str, n: int, seed: int) -> Floats:
    """Independent draws of all that is not known of a piece and its pit (``levels``: ``w``), (unknowns, members)."""
    of_pit = hypercube(stream(seed, f"pit {pit}"), PIT_UNKNOWNS, n)
    of_item = hypercube(stream(seed, f"item {label}"), ITEM_UNKNOWNS, n)
    return np.stack([(of_pit | of_item)[name] for name in UNKNOWNS])


def prior_at(levels: Levels, label: str, pit: str, n: int, seed: int) -> Floats:
    """The same of a piece with its levels: what all cooks have in common is one draw for all pieces of all items."""
    z = prior(label, pit, n, seed)
    fitted, memory = calibrated().addresses, tuple(EVERYWHERE)
    of_all = hypercube(stream(seed, "everywhere"), fitted + memory, n)
    common = np.stack([of_all[name] for name in fitted])
    off = levels.loads @ common + levels.own[:, None] * z
    for name in memory:
        off[ROW[name]] += levels.memory[ROW[name]] * of_all[name]
    return np.asarray(np.linalg.solve(levels.mix, off / levels.sd[:, None]))


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


def lognormal(figure: Figure, z: Floats) -> Floats:
    """Draws of a positive figure whose spread is read as relative."""
    return np.asarray(figure.value * np.exp(figure.spread / figure.value * z)) if figure.value > 0 else 0.0 * z


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
    held_k: Floats


def draw_pit(pit: Pit, z: Unknowns, levels: Levels | None = None) -> PitDraw:
    """One pit as its unknowns have it; ``z`` has a row for each of ``PIT_UNKNOWNS``."""
    sd = levels or levels_of_pit(pit)
    return PitDraw(
        offset_k=pit.air.offset_k.value + sd["offset"] * z["offset"],
        wall_offset_k=pit.surface.wall_offset_k.value + sd["wall"] * z["wall"],
        air_speed_m_s=pit.surface.air_speed_m_s.value * np.exp(sd["convection"] * z["convection"]),
        air_flow_kg_s=pit.exchange.air_flow_kg_s.value * np.exp(sd["flow"] * z["flow"]),
        lid_dip_k=np.maximum(pit.air.lid_dip_k.value + sd["dip"] * z["dip"], 0.0),
        lid_recovery_s=np.maximum(pit.air.lid_recovery_s.value + sd["recovery"] * z["recovery"], 30.0),
        lag_s=LAG_S * np.exp(sd["lag"] * z["lag"]),
        held_k=sd["held"] * z["held"],
    )


@dataclass(frozen=True)
class ItemDraw:
    """What is not known about a piece of an item, per member.

    wrap, fold: what it is cooked in, and standard numbers and spreads of how; spot_k: its place's air over the grate's
    grate_k: its pit's grate over the readout; 0 until a pit is known
    """

    members: Members
    emissivity: Floats
    open_fraction: Floats
    wrap: str | None
    fold: Mapping[str, Floats]
    bone_show: Floats
    fat_render: Floats
    spot_k: Floats
    grate_k: Floats

    def take(self, index: Ints) -> "ItemDraw":
        """Some of the members, in the order of ``index``."""
        fold = {name: each[index] if each.ndim else each for name, each in self.fold.items()}
        numbers = (self.bone_show, self.fat_render, self.spot_k, self.grate_k)
        return ItemDraw(
            *(self.members.take(index), self.emissivity[index], self.open_fraction[index], self.wrap, fold),
            *(each[index] for each in numbers),
        )

    def _of(self, name: str, figure: Figure, wrap: Wrap) -> Floats:
        """Draws of a wrap's figure; of the piece's own wrap with all that is not known of how it was folded."""
        if wrap.key == self.wrap:
            return np.asarray(figure.value * np.exp(self.fold[f"sd {name}"] * self.fold[name]))
        return lognormal(figure, self.fold[name])

    def leak(self, wrap: Wrap) -> Floats:
        """Leak of a wrap, folded well or badly [kg/m2 s Pa]."""
        return self._of("leak", wrap.leak_kg_m2_s_pa, wrap)

    def permeance(self, wrap: Wrap) -> Floats:
        """Permeance of a wrap's sheet [kg/m2 s Pa]."""
        return self._of("permeance", wrap.vapour_permeance_kg_m2_s_pa, wrap)

    def gap(self, wrap: Wrap) -> Floats:
        """Conductance of the gap under a wrap [W/m2K]."""
        return self._of("gap", wrap.gap_conductance_w_m2k, wrap)

    def sheen(self, wrap: Wrap) -> Floats:
        """Emissivity of a wrap's outside [-]."""
        return np.minimum(self._of("sheen", wrap.emissivity, wrap), 0.95)


def draw_item(cut: Cut, item: ItemPlan, pressure_pa: float, z: Unknowns, levels: Levels | None = None) -> ItemDraw:
    """One piece of an item as its unknowns have it; ``z`` has a row for each of ``ITEM_UNKNOWNS``."""
    n = z["scale"].size
    wrap = wrap_of(item)
    sd = levels or levels_of(cut, None, wrap, measured=item.thickness_m is not None)
    middle = material.parameters_of(cut, pressure_pa)
    open_fraction = np.clip(cut.surface.open_fraction.value + sd["open"] * z["open"], 0.1, 1.0)
    covered = material.covered_surface_factor(open_fraction) / material.covered_surface_factor(
        cut.surface.open_fraction.value
    )

    def times(name: str) -> Floats:
        return np.asarray(np.exp(sd[name] * z[name]))

    def about(constant: str, name: str) -> Floats:
        return np.asarray(CONSTANTS[constant].value + sd[name] * z[name])

    conducts = times("conductivity")
    members = Members.of(n, middle).changed(
        scale=cut.scale(item.mass_kg) * times("scale"),
        start_c=item.start_c + sd["start"] * z["start"],
        transport=middle["transport"] * covered * times("transport"),
        diffusion=middle["diffusion"] * covered * times("diffusion"),
        drip=middle["drip"] * times("drip"),
        drink=middle["drink"] * times("drink"),
        hold_shift=about("hold_shift_k", "shift"),
        hold_drop=np.clip(about("hold_drop", "drop"), 0.1, 0.9),
        skin_b=middle["skin_b"] * times("skin"),
        skin_r=middle["skin_r"] * times("crust"),
        skin_e=middle["skin_e"] * times("crust_at"),
        skin_n=np.clip(middle["skin_n"] * times("crust_n"), 1.0, 10.0),
        gelatin_rate=middle["gelatin_rate"] * times("gelatin"),
        gelatin_ea_over_r=np.clip(about("gelatin_ea_j_mol", "gelatin_ea"), 25e3, 140e3) / GAS_CONSTANT,
        colour_rate=middle["colour_rate"] * times("colour"),
        colour_ea_over_r=np.clip(about("colour_ea_j_mol", "colour_ea"), 25e3, 140e3) / GAS_CONSTANT,
        colour_floor=np.minimum(middle["colour_floor"] * times("floor"), 0.9),
        k_base=middle["k_base"] * conducts,
        k_temp=middle["k_temp"] * conducts,
        k_water=middle["k_water"] * conducts,
        glaze_set_at=np.maximum(about("glaze_set_ratio", "glaze"), 0.1),
    )
    folds = ("leak", "permeance", "gap", "sheen")
    return ItemDraw(
        members=members,
        emissivity=np.clip(about("emissivity", "emissivity"), 0.5, 1.0),
        open_fraction=open_fraction,
        wrap=wrap,
        fold={name: z[name] for name in folds} | {f"sd {name}": np.asarray(sd[name]) for name in folds},
        bone_show=np.maximum(about("bone_show", "bone"), 0.0),
        fat_render=np.clip(about("fat_render", "fat"), 0.0, 1.0),
        spot_k=sd["spot"] * z["spot"],
        grate_k=np.zeros(n),
    )


def wrap_of(item: ItemPlan) -> str | None:
    """The wrap that a piece is cooked in, the first one of its course; None: bare."""
    return next((stage.wrap for stage in item.stages if stage.kind == "wrapped" and stage.wrap), None)
