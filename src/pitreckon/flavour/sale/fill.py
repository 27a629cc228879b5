"""How full a jar is filled, and how many jars a batch fills.

A label's weight is what the jars of a lot hold on average at least, and each jar may hold only a little less.
"""

from dataclasses import dataclass
from functools import cache
from math import exp, floor, sqrt
from statistics import NormalDist
from typing import Final

from pitreckon.catalog.foods import read_table
from pitreckon.errors import InputError
from pitreckon.forms.checks import within
from pitreckon.units import format_percent

MARKETS: Final = ("us", "eu", "uk")
"""Where the jars are sold. The United Kingdom keeps the European rules of prepackages and allergens (from memory)."""
FILLINGS: Final = {"hand": 0.015, "machine": 0.005}
"""Spread of a jar's weight, as a share of it (one standard deviation). Common practice, no source: weigh your own."""
LOSSES: Final = {"dry": 0.03, "wet": 0.05}
"""What stays in bowls, sieves and the filler. Common practice, no source: weigh your own."""
LOSS_FACTOR: Final = 2.0
"""From half to twice the loss that was said, 5 to 95 %. Common practice, no source."""
_POINTS: Final = 199
_NORMAL: Final = NormalDist()


@dataclass(frozen=True, slots=True)
class Fill:
    """One jar. nominal_kg: what its label says; mean_kg: what it is filled to; spread_kg: one standard deviation

    short_kg: the shortage that the rules allow a single jar
    """

    nominal_kg: float
    mean_kg: float
    spread_kg: float
    short_kg: float


def allowed_shortage_kg(nominal_kg: float, market: str) -> float:
    """By how much one jar may hold less than its label says [kg].

    Raises InputError: the label's weight is outside 5 g to 10 kg, for which the tables hold.
    """
    grams = 1000.0 * nominal_kg
    within("fill", nominal_kg, 0.005, 10.0, lambda kg: f"{1000.0 * kg:g} g")
    for upto_g, share, fixed_g in _shortages("us" if market == "us" else "eu"):
        if grams < upto_g or upto_g >= 10_000.0:
            return (share * grams if share else fixed_g) / 1000.0
    raise AssertionError


@cache
def _shortages(market: str) -> tuple[tuple[float, float, float], ...]:
    rows = (row for row in read_table("pitreckon.flavour", "shortages.csv") if row["market"] == market)
    return tuple((float(row["upto_g"]), float(row["share"] or 0.0), float(row["grams"] or 0.0)) for row in rows)


def fill_of(nominal_kg: float, market: str, spread: float) -> Fill:
    """How full to fill, so that the rules of a market hold. spread: of a jar's weight [-], one standard deviation

    us: on average the label's weight, and three standard deviations above the shortage that is allowed (the three are
    ours; Handbook 133 allows none in a usual sample). eu, uk: the three rules of packers: on average the label's
    weight, one in forty below the allowed shortage, none (one in ten thousand, ours) below twice that.
    """
    within("spread", spread, 0.0, 0.2, format_percent)
    short, sigma = allowed_shortage_kg(nominal_kg, market), spread * nominal_kg
    if market == "us":
        mean = max(nominal_kg, nominal_kg - short + 3.0 * sigma)
    else:
        one_in_forty = nominal_kg - short - sigma * _NORMAL.inv_cdf(0.025)
        mean = max(nominal_kg, one_in_forty, nominal_kg - 2.0 * short - sigma * _NORMAL.inv_cdf(1e-4))
    return Fill(nominal_kg, mean, sigma, short)


def chance_of(jars: int, mass_kg: float, fill: Fill, loss: float) -> float:
    """Chance that so much of a batch fills so many jars [-]. loss: the middle of it [-]

    The loss is log-normal, half to twice of it being 5 to 95 %; the sum of so many fills is normal.
    """
    if jars <= 0:
        return 1.0
    spread = fill.spread_kg * sqrt(jars)
    found = 0.0
    for lost in _losses(loss):
        left = mass_kg * (1.0 - lost) - jars * fill.mean_kg
        found += _NORMAL.cdf(left / spread) if spread > 0.0 else float(left >= -1e-12)
    return found / _POINTS


def jars_filled(mass_kg: float, fill: Fill, loss: float, chance: float) -> int:
    """So many jars are filled with at least this chance: 0.95 gives the few, 0.05 the many."""
    low, high = 0, floor(mass_kg / fill.mean_kg * 1.2) + 10
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if chance_of(middle, mass_kg, fill, loss) >= chance else (low, middle - 1)
    return low


def mass_for(jars: int, fill: Fill, loss: float, chance: float = 0.95) -> float:
    """The batch [kg] that fills so many jars with this chance. Raises InputError: so much is lost that none would."""
    if loss > 0.4:
        raise InputError("more than two fifths would be lost", "Write a smaller loss, as in 3 %")
    low = jars * fill.mean_kg
    high = 10.0 * low
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if chance_of(jars, middle, fill, loss) >= chance else (middle, high)
    return high


@cache
def _losses(loss: float) -> tuple[float, ...]:
    """The loss at evenly spaced chances."""
    width = (LOSS_FACTOR - 1.0) / _NORMAL.inv_cdf(0.95) * 0.6931471805599453
    return tuple(min(0.95, loss * exp(width * _NORMAL.inv_cdf((n + 0.5) / _POINTS))) for n in range(_POINTS))
