"""Three worlds that twins are dealt from: as calibrated, one that the forecaster does not hold, and a wide one.

``calibrated``: constants off together, as the joint calibration leaves them open; pits and pieces as far from their
like as the catalog's fitted factors say. ``other``: all that is a piece's or a pit's own half as wide again; the skin
comes sharper or flatter and is of another thickness; wraps are folded much tighter or looser; activation energies are
others; every cook is 10 to 15 % slower or faster than the middle has it; the feel rises steeper or flatter than the
collagen. ``wide``: every constant off by itself, pits and pieces as memory has them, sizes with them. What is
otherwise in the second is a judgement, not drawn from anything.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Cut, Pit
from pitreckon.catalog.calibrated import calibrated
from pitreckon.reckon.learned import SAME_SOURCE
from pitreckon.reckon.levels import CALIBRATED, EVERYWHERE, OF_THE_DAY, OWN, PIT_UNKNOWNS, factor_of, levels_of
from pitreckon.section.constants import CONSTANTS
from validation.twins.streams import stream

WORLDS = ("calibrated", "other", "wide")
"""Those that the forecast is scored on. Readers of cards are dealt from a fourth, ``even``: as calibrated, for pieces
that have nothing but what the forecaster names (no thick end, no lids without a word)."""
WIDER = 1.5
NAMED = 0.65
"""Share of the spread of pits and pieces that is in the unknowns which the forecaster has. The rest is in what twins
have besides (composition, unevenness, lids, drifts), so that in the calibrated world cooks are, all told, as far apart
as the trade has them; found on seed 20261129."""
QUICKER = -0.015
"""Of the logarithm of size. Times of the trade, on which the constants were fitted, have lids lifted, thick ends and
cooks who come late in them; a twin has all these besides, so that without this it would take 2 % longer than the trade
has it; found on seed 20261129."""
MASS_SD = 0.015
"""A piece that was weighed, of its weight."""


@dataclass(frozen=True)
class House:
    """A household: what lasts from cook to cook.

    resealed: its pit is another one now; lays: it has a thermometer that is laid on the grate at some of its cooks
    """

    seed: int
    number: int
    pit: str
    resealed: bool = False
    lays: bool = False

    def stream(self, label: str) -> np.random.Generator:
        """Random numbers of the house: the same at every cook."""
        again = " resealed" if self.resealed and label.startswith("pit ") else ""
        return stream(self.seed, self.number, f"house {label}{again}")

    def sides(self, rng: np.random.Generator) -> NDArray[np.float64]:
        """To which side each of six laws of the world ``other`` is off: by ``rng``, the cook's, each time anew."""
        return rng.choice([-1.0, 1.0], 6)


@dataclass(frozen=True)
class Truth:
    """How far each unknown is from its middle: in its unit, or of its logarithm.

    feel_power: of the felt tenderness over the collagen's; held: share of a pit's sinking and drifting, as memory has
    them, that this world's cooks see
    """

    offs: Mapping[str, float]
    feel_power: float
    held: float

    def off(self, name: str) -> float:
        """From the middle, in the unit."""
        return self.offs[name]

    def with_lids(self) -> Truth:
        """The same for a piece whose cook lifts lids and comes late: see ``QUICKER``."""
        return replace(self, offs={**self.offs, "size": self.offs["size"] + QUICKER})

    def times(self, name: str) -> float:
        """Over the middle."""
        return float(np.exp(self.offs[name]))


def truth_of(
    world: str, cut: Cut, pit: Pit, wrap: str | None, rng: np.random.Generator, house: House | None = None
) -> Truth:
    """Draw what is true of a piece and its pit; ``house``: whose they are."""
    fit = calibrated()
    if world == "wide":
        constants = {a: _alone(a) * float(rng.standard_normal()) for a in fit.addresses}
    else:
        of_all = rng if house is None else house.stream("constants")
        drawn = of_all.multivariate_normal(np.zeros(fit.sd.size), fit.covariance())
        constants = dict(zip(fit.addresses, drawn, strict=True))
    levels = levels_of(cut, pit, wrap, measured=False)
    offs: dict[str, float] = {}
    wider = {"calibrated": NAMED, "even": 1.0, "other": NAMED * WIDER, "wide": 1.0 / factor_of("held")}[world]
    for name, own, alone in zip((*PIT_UNKNOWNS, *OWN), levels.own, levels.piece, strict=True):
        spread = float(own) * (1.0 / factor_of(name) if world == "wide" else wider)
        offs[name] = spread * _own(name, cut, pit, alone, rng, house)
        addresses = [a.format(cut=cut.key, pit=pit.key, wrap=wrap) for a in CALIBRATED.get(name, ())]
        offs[name] += sum(constants.get(address, 0.0) for address in addresses if not address.endswith("thickness"))
        if name in EVERYWHERE:
            of_all = rng if house is None else house.stream(f"everywhere {name}")
            offs[name] += CONSTANTS[EVERYWHERE[name]].spread * float(of_all.standard_normal())
    # Geometry itself is drawn, and not what the forecaster makes of it.
    sd = cut.shape.scale_sd.value
    factor = factor_of("scale") * wider
    offs["thickness"] = 0.0 if world == "wide" else factor * sd * float(rng.standard_normal())
    offs["thickness"] += constants.get(f"cut:{cut.key}.thickness", 0.0)
    offs["size"] = (sd if world == "wide" else MASS_SD / 3.0) * float(rng.standard_normal())
    power = 1.0
    if world == "other":
        side = rng.choice([-1.0, 1.0], 6) if house is None else house.sides(rng)
        offs["crust_n"] += 0.7 * side[0]
        offs["crust"] += 0.35 * side[1]
        offs["leak"] += 1.0 * side[2]
        offs["permeance"] += 0.4 * side[2]
        offs["gelatin_ea"] += 18e3 * side[3]
        offs["colour_ea"] += 18e3 * side[3]
        offs["size"] += side[4] * float(rng.uniform(0.06, 0.09))  # time goes as its 1.6th power or so
        power = float(np.exp(0.35 * side[5]))
    return Truth(offs, power, wider * factor_of("held"))


def _own(name: str, cut: Cut, pit: Pit, alone: float, rng: np.random.Generator, house: House | None) -> float:
    """A standard number of a pit or a piece; in a house, as far as it lasts, that of the house."""
    fresh = float(rng.standard_normal())
    if house is None or name in OF_THE_DAY:
        return fresh
    if name in PIT_UNKNOWNS:
        return float(house.stream(f"pit {pit.key} {name}").standard_normal())
    lasts = SAME_SOURCE * (1.0 - alone)
    kept = float(house.stream(f"source {cut.key} {name}").standard_normal())
    return float(np.sqrt(lasts) * kept + np.sqrt(1.0 - lasts) * fresh)


def _alone(address: str) -> float:
    """Spread of a constant by itself, as it stands beside its value; kinds of cuts and pits lie at their middles."""
    kind, _, rest = address.partition(":")
    if kind == "constant":
        return CONSTANTS[rest].spread
    if kind == "wrap":
        key, _, field = rest.partition(".")
        figure = getattr(catalog.wraps()[key], field)
        return float(figure.spread / figure.value)
    return 0.0
