"""What is not known, in four levels: the model's constants, the kind of meat and pit, this pit, this piece.

The model's own constants, and what a kind of cut or of pit is, were fitted together (``catalog.calibrated``). What that
leaves open hangs together: of two that could each be off, one that runs high makes the other run low, and the trade's
times come out right all the same. It is the same for all pieces of all cooks. How a pit differs from others of its
kind, and a piece from others of its cut, comes on top: the pit's for all that cooks on it, an item's in part for all
its pieces (one butcher, one hand), in part for each alone. A cook's eye and hand, the fourth, stand with the looks
(``reckon.looks``), for they change what is said and not what is.

``z`` are standard numbers of the unknowns by name, each with its whole spread; they are correlated. ``w`` are
independent standard numbers: ``z = mix @ w``. Members are drawn and weighted by ``w``.
"""

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut, Figure, Pit
from pitreckon.catalog.calibrated import calibrated
from pitreckon.section import material
from pitreckon.section.constants import CONSTANTS

PIT_UNKNOWNS: Final = ("offset", "wall", "convection", "flow", "dip", "recovery", "lag", "held")
LAG_SPREAD: Final = 0.5
"""Spread of the logarithm of how late the readout's sensor is: common practice, no source."""
HELD_K, HELD_BY_ITSELF_K = 4.0, 1.5
"""How far off its setting a pit is held for hours, by hand or by its own controls: spread [K], common practice, no
source. A readout shows it; before there is one it is unknown."""
MEASURED_SCALE_SD: Final = 0.03
"""Relative spread of the thickness where the cook measured it: common practice, no source."""
NOTHING: Final = 1e-9
"""In place of no spread at all, so that every unknown has a standard number."""
MASS_SD_ONE, MASS_SD_MANY = 0.03, 0.12
"""Relative spread of a piece's weight about what was said of it: of one that was weighed, and of several of which the
usual weight was said (common practice, no source)."""
OF_CATALOG: Final = -1.0
"""Stands for a spread that the cut's own figures give."""
OWN: Final[dict[str, tuple[float, float]]] = {
    "scale": (OF_CATALOG, 0.8),
    "start": (1.5, 0.5),
    "transport": (0.15, 0.5),
    "diffusion": (0.15, 0.5),
    "drip": (0.4, 0.5),
    "drink": (0.2, 0.5),
    "shift": (1.1, 0.5),
    "drop": (0.025, 0.5),
    "skin": (0.13, 0.5),
    "crust": (0.1, 0.5),
    "crust_at": (0.1, 0.5),
    "crust_n": (0.0, 0.0),
    "gelatin": (OF_CATALOG, 0.6),
    "gelatin_ea": (0.0, 0.0),
    "colour": (0.2, 0.3),
    "colour_ea": (0.0, 0.0),
    "floor": (0.0, 0.0),
    "conductivity": (0.055, 0.5),
    "emissivity": (0.016, 0.5),
    "open": (OF_CATALOG, 0.5),
    "glaze": (0.036, 0.5),
    "leak": (0.35, 0.5),
    "gap": (0.3, 0.5),
    "permeance": (0.2, 0.5),
    "sheen": (0.2, 0.5),
    "bone": (0.04, 0.5),
    "fat": (0.055, 0.5),
    "spot": (4.0, 1.0),
}
"""An item's unknowns: how pieces of one cut and cook differ (a standard deviation in the unknown's unit, of the
logarithm for what is positive and wide), and what share of that variance is one piece's alone (common practice, no
source)."""
ITEM_UNKNOWNS: Final = tuple(OWN)
UNKNOWNS: Final = (*PIT_UNKNOWNS, *ITEM_UNKNOWNS)
ROW: Final = {name: i for i, name in enumerate(UNKNOWNS)}
PITS: Final = len(PIT_UNKNOWNS)
SAID: Final = frozenset({"start", "lag"})
"""What the cook said or the pit's readout is: no spread of animals or cookers, so no fitted factor touches it."""
OF_THE_DAY: Final = ("held", "start")
"""How a pit is held and how cold the meat went on: of one cook, and of no other."""
PLACES: Final = frozenset({"spot"})
"""An item's unknowns that come from the pit."""


def factor_of(name: str) -> float:
    """What a spread from memory is multiplied by, so that cooks come out as far apart as the trade has them."""
    if name in SAID:
        return 1.0
    of_pit = name in PIT_UNKNOWNS or name in PLACES
    return CONSTANTS["pit_spread" if of_pit else "piece_spread"].value


CALIBRATED: Final[dict[str, tuple[str, ...]]] = {
    "offset": ("pit:{pit}.air.offset_k",),
    "wall": ("pit:{pit}.surface.wall_offset_k",),
    "convection": ("pit:{pit}.surface.air_speed_m_s",),
    "scale": ("cut:{cut}.thickness",),
    "transport": ("constant:transport_m2_s",),
    "diffusion": ("constant:diffusion_m2_s",),
    "drip": ("constant:drip_m_s",),
    "drink": ("constant:drink_m_s",),
    "drop": ("constant:hold_drop",),
    "skin": ("constant:skin_b",),
    "crust": ("constant:skin_r_m2s_kg",),
    "crust_at": ("constant:skin_e_kg_m2",),
    "crust_n": ("constant:skin_n",),
    "gelatin": ("constant:gelatin_rate_per_s", "cut:{cut}.texture.collagen_rate"),
    "gelatin_ea": ("constant:gelatin_ea_j_mol",),
    "colour": ("constant:colour_rate_per_s",),
    "colour_ea": ("constant:colour_ea_j_mol",),
    "floor": ("constant:colour_floor",),
    "conductivity": ("constant:conductivity_factor",),
    "leak": ("wrap:{wrap}.leak_kg_m2_s_pa",),
    "gap": ("wrap:{wrap}.gap_conductance_w_m2k",),
    "permeance": ("wrap:{wrap}.vapour_permeance_kg_m2_s_pa",),
    "sheen": ("wrap:{wrap}.emissivity",),
}
"""Fitted constants that an unknown of a piece is the sum of, by address."""
EVERYWHERE: Final = {
    "shift": "hold_shift_k",
    "emissivity": "emissivity",
    "glaze": "glaze_set_ratio",
    "bone": "bone_show",
    "fat": "fat_render",
}
"""Constants of the model that no fit has touched: their spread stands beside their value."""


@dataclass(frozen=True, eq=False)
class Levels:
    """The levels of one piece.

    sd: whole spread of each unknown, in its unit, (unknowns,)
    mix: ``z = mix @ w``, (unknowns, unknowns); the pit's rows hang on the pit's numbers alone
    loads: ``sd * z`` from independent numbers of all fitted constants, (unknowns, constants)
    memory: spread of what was not fitted and is the same everywhere, (unknowns,)
    own: spread of the pit's and the item's own, (unknowns,); piece: share of its variance that is one piece's alone
    """

    sd: Floats
    mix: Floats
    loads: Floats
    memory: Floats
    own: Floats
    piece: Floats

    def __getitem__(self, name: str) -> float:
        """Whole spread of an unknown."""
        return float(self.sd[ROW[name]])

    def correlation(self, other: "Levels", *, same_pit: float, same_item: float, another_day: bool = False) -> Floats:
        """Of ``w`` between this piece and another, shape (unknowns, unknowns).

        same_pit: both are on one pit; same_item: both are pieces of one item (or a share of what that would be)
        another_day: they are not cooked together: what is of the day they do not share
        """
        shared = np.zeros(self.own.size)
        if same_pit:
            shared[:PITS] = same_pit
        if same_item:
            shared[PITS:] = same_item * (1.0 - np.maximum(self.piece, other.piece)[PITS:])
        if another_day:
            shared[[ROW[name] for name in OF_THE_DAY]] = 0.0
        covariance = self.loads @ other.loads.T + np.diag(self.memory * other.memory + shared * self.own * other.own)
        correlation = covariance / np.outer(self.sd, other.sd)
        left = np.linalg.solve(self.mix, correlation)
        return np.asarray(np.linalg.solve(other.mix, left.T).T)

    @property
    def alone(self) -> Floats:
        """Share of the variance of each ``w`` that is one piece's alone, (unknowns,)."""
        return np.asarray(np.clip(1.0 - np.diag(self.correlation(self, same_pit=True, same_item=True)), 0.0, 1.0))

    @property
    def to_units(self) -> Floats:
        """Of ``w``, to departures in their units, (unknowns, unknowns)."""
        return np.asarray(self.sd[:, None] * self.mix)

    def wider(self, times: float) -> "Levels":
        """With all spreads so many times as large."""
        return self if times == 1.0 else _wider(self, times)

    def at(self, w: Floats, **z: Floats | float) -> Floats:
        """``w`` moved so that some unknowns have these standard numbers ``z``; shape (unknowns, members)."""
        out = self.mix @ w
        for name, value in z.items():
            out[ROW[name]] = value
        return np.asarray(np.linalg.solve(self.mix, out))


@cache
def levels_of(cut: Cut | None, pit: Pit | None, wrap: str | None, *, measured: bool, many: bool = False) -> Levels:
    """The levels of a piece of a cut on a pit, in a wrap or none.

    measured: the cook measured its thickness; many: it is one of several, of which the usual weight was said
    None for a cut or a pit: its own numbers count for nothing.
    """
    fit = calibrated()
    k = len(UNKNOWNS)
    root = np.linalg.cholesky(fit.covariance())
    loads, memory = np.zeros((k, fit.sd.size)), np.zeros(k)
    for name, templates in CALIBRATED.items():
        for template in templates:
            at = fit.index(template.format(cut=cut and cut.key, pit=pit and pit.key, wrap=wrap))
            if at is not None and not (name == "scale" and measured):
                loads[ROW[name]] += root[at] * (material.size_share(cut) if name == "scale" and cut else 1.0)
    for name, constant in EVERYWHERE.items():
        memory[ROW[name]] = CONSTANTS[constant].spread
    factor = np.array([factor_of(name) for name in UNKNOWNS])
    of_pit = _of_pit(pit) if pit is not None else np.zeros(PITS)
    of_item = _of_item(cut, measured=measured, many=many) if cut is not None else np.zeros(len(ITEM_UNKNOWNS))
    own = np.maximum(factor * np.concatenate([of_pit, of_item]), NOTHING)
    covariance = loads @ loads.T + np.diag(memory**2 + own**2)
    sd = np.sqrt(np.diag(covariance))
    piece = np.concatenate([np.zeros(PITS), [share for _, share in OWN.values()]])
    return Levels(sd, _mix(covariance / np.outer(sd, sd)), loads, memory, own, piece)


@lru_cache(maxsize=256)
def _wider(levels: Levels, times: float) -> Levels:
    sized = {name: times * getattr(levels, name) for name in ("sd", "loads", "memory", "own")}
    return replace(levels, **sized)


def levels_of_pit(pit: Pit) -> Levels:
    """The levels of a pit, whatever is on it."""
    return levels_of(None, pit, None, measured=False)


def _mix(correlation: Floats) -> Floats:
    """A root of a correlation matrix that leaves each number as near to its own name as can be (the symmetric root).

    First the pit's, then the item's given the pit's, so that all items of a pit have one pit.
    """
    out = np.zeros_like(correlation)
    pit, item = slice(0, PITS), slice(PITS, None)
    out[pit, pit] = _root(correlation[pit, pit])
    out[item, pit] = np.linalg.solve(out[pit, pit], correlation[pit, item]).T
    out[item, item] = _root(correlation[item, item] - out[item, pit] @ out[item, pit].T)
    return out


def _root(matrix: Floats) -> Floats:
    values, vectors = np.linalg.eigh(matrix)
    return np.asarray((vectors * np.sqrt(np.maximum(values, 1e-9))) @ vectors.T)


def _relative(figure: Figure) -> float:
    return figure.spread / figure.value if figure.value > 0.0 else 0.0


def _of_pit(pit: Pit) -> Floats:
    """How this pit differs from others of its kind: by ``PIT_UNKNOWNS``."""
    air, surface = pit.air, pit.surface
    return np.array(
        [
            air.offset_k.spread,
            surface.wall_offset_k.spread,
            _relative(surface.air_speed_m_s),
            _relative(pit.exchange.air_flow_kg_s),
            air.lid_dip_k.spread,
            air.lid_recovery_s.spread,
            LAG_SPREAD,
            HELD_BY_ITSELF_K if pit.fan or pit.fuel in {"gas", "electric"} else HELD_K,
        ]
    )


def _of_item(cut: Cut, *, measured: bool, many: bool) -> Floats:
    """How this piece differs from others of its cut, before its factor: by ``ITEM_UNKNOWNS``."""
    said = np.array([MEASURED_SCALE_SD if measured else 0.0, (MASS_SD_MANY if many else MASS_SD_ONE) / 3.0])
    thickness = 0.0 if measured else material.size_share(cut) * cut.shape.scale_sd.value
    known = {
        "scale": float(np.hypot(thickness, np.linalg.norm(said) / factor_of("scale"))),
        "gelatin": _relative(cut.texture.collagen_rate),
        "open": cut.surface.open_fraction.spread,
    }
    return np.array([known.get(name, sd) for name, (sd, _) in OWN.items()])
