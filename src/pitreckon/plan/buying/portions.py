"""What a company eats: heads of unlike appetite, drawn many times.

Common random numbers make the draws comparable: the first heads of a larger company are those of a smaller one,
so that a guest more never makes any draw eat less.
"""

from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog.buying import Portions
from pitreckon.errors import InputError, Place
from pitreckon.plan.wishes import Guests
from pitreckon.reckon.draws import stream

DRAWS: Final = 4096
"""Draws behind each chance: it is then known to 0.8 points at worst, to 0.5 at 90 %."""
ONE_BY_ONE: Final = 48
"""Heads, or pieces, that are drawn one by one; of the others only the sum is."""
SIDES: Final = ("none", "usual", "many")


def gamma_sum(count: int, spread: float, normal: Floats) -> Floats:
    """Sum of alike positive amounts of mean 1, as a gamma amount by the cube root of Wilson and Hilferty (1931).

    count: how many, 0 and more; spread: standard deviation of one over its mean [-]; normal: standard normal draws.
    It rises with the count in every draw. Source: from memory; held against scipy's gamma by the tests.
    """
    if count == 0:
        return np.zeros_like(normal)
    shape = count / spread**2
    # below -6 roots of the shape the cube would turn round; nothing that is drawn lies there for 1 head or more
    root = np.maximum(1.0 - 1.0 / (9.0 * shape) + normal / (3.0 * np.sqrt(shape)), 0.0)
    return np.asarray(count * root**3)


class Many:
    """Sums of alike lognormal amounts of mean 1; the first are drawn one by one, the others together.

    ln_sd: spread of ln of one [-]; rng: its stream, from which the draws of the others come first, so that a larger
    count keeps the draws of a smaller one
    """

    def __init__(self, ln_sd: float, rng: np.random.Generator, draws: int) -> None:
        self._ln_sd, self._rng, self._draws = ln_sd, rng, draws
        self._cv = float(np.sqrt(np.expm1(ln_sd**2)))
        self._rest = rng.standard_normal(draws)
        self._sums = [np.zeros(draws)]

    def total(self, count: int) -> Floats:
        """Sum of that many; (draws,)."""
        few = min(count, ONE_BY_ONE)
        while len(self._sums) <= few:
            one = np.exp(self._ln_sd * self._rng.standard_normal(self._draws) - 0.5 * self._ln_sd**2)
            self._sums.append(self._sums[-1] + one)
        return self._sums[few] + gamma_sum(count - few, self._cv, self._rest) if count > few else self._sums[few]


def eaten_kg(guests: Guests, norms: Portions, sides: str = "usual", seed: int = 1, draws: int = DRAWS) -> Floats:
    """Cooked meat without bone that a company eats in every draw [kg]; (draws,).

    guests: who eats; norms: how much; sides: none | usual | many, with other courses counted as sides.

    Raises InputError: sides is none of those words.
    """
    if sides not in SIDES:
        raise InputError(f"'{sides}' is no kind of sides", f"Write one of: {', '.join(SIDES)}", Place(field="sides"))
    beside = {"none": norms.bare_factor.value, "usual": 1.0, "many": norms.many_factor.value}[sides]
    parts = (
        ("adults", guests.adults, 1.0),
        ("children", guests.children, norms.child_factor.value),
        ("hungry", guests.hungry, norms.hungry_factor.value),
    )
    heads = np.zeros(draws)
    for name, count, factor in parts:
        heads += factor * Many(norms.head_sd.value, stream(seed, f"heads {name}"), draws).total(count)
    crowd = norms.crowd_sd.value
    whole = np.exp(crowd * stream(seed, "crowd").standard_normal(draws) - 0.5 * crowd**2)
    return np.asarray(heads * whole * norms.adult_kg.value * beside)


def norm_kg(guests: Guests, norms: Portions, sides: str = "usual") -> float:
    """What the norms alone say that a company eats [kg]."""
    beside = {"none": norms.bare_factor.value, "usual": 1.0, "many": norms.many_factor.value}[sides]
    heads = guests.adults + norms.child_factor.value * guests.children + norms.hungry_factor.value * guests.hungry
    return heads * norms.adult_kg.value * beside


def taste(label: str, norms: Portions, seed: int, draws: int, alone: bool) -> Floats:
    """How a crowd takes to one item beside the others, mean 1; (draws,). 1 where there is no other."""
    if alone:
        return np.ones(draws)
    sd = norms.taste_sd.value
    return np.asarray(np.exp(sd * stream(seed, f"taste {label}").standard_normal(draws) - 0.5 * sd**2))
