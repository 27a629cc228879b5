"""How much of a brushed coat runs off before it sets."""

from __future__ import annotations

from math import log, radians, sin, sqrt
from typing import TYPE_CHECKING, Final

from pitreckon.catalog.foods import Range
from pitreckon.errors import InputError

if TYPE_CHECKING:
    from pitreckon.flavour.weigh.batch import Batch

GRAVITY: Final = 9.80665
DENSITY_KG_M3: Final = 1150.0
"""A sauce or a syrup: 1.15 g/ml, USDA SR28 06150 and 11935 by the tablespoon."""
SLOPES_DEG: Final = (3.0, 15.0)
"""Of the face of a rack or the top of a butt (from memory)."""
RUN_M: Final = 0.06
"""From the ridge to the edge: half the width of a rack, catalog."""

THICKENS: Final = (30.0, 1000.0)
"""How many times as thick a coat is once it has set: a sugar solution from 60 to 75 or 80 % sugar (from memory)."""

BODIES: Final = {
    # viscosity [Pa s] and yield stress [Pa] at 60-70 degC, smallest and largest; all from memory
    "thin": ((0.005, 0.05), (0.0, 0.0)),
    "syrup": ((0.1, 1.0), (0.0, 0.0)),
    "thick": ((0.5, 3.0), (3.0, 20.0)),
}
"""What a coat is like, hot: runs like vinegar, like honey, or stands like ketchup."""


def standing_film_m(yield_pa: float, slope_deg: float, density_kg_m3: float = DENSITY_KG_M3) -> float:
    """Thickest film of a sauce with a yield stress that stands on a slope [m]: its weight along the slope is the yield.

    yield_pa: [Pa]; slope_deg: above 0 to 90

    >>> round(standing_film_m(20.0, 90.0) * 1000.0, 2)
    1.77
    """
    return yield_pa / (density_kg_m3 * GRAVITY * sin(radians(slope_deg)))


def draining_film_jeffreys_m(
    viscosity_pa_s: float, slope_deg: float, run_m: float, seconds: float, density_kg_m3: float = DENSITY_KG_M3
) -> float:
    """Mean film of a plain liquid left on a slope after it has drained for a time [m].

    The film at a distance x from the ridge is sqrt(mu x / (rho g t)) along gravity's share; its mean is 2/3 of that
    at the edge. Jeffreys 1930, The draining of a vertical plate (from memory).

    >>> round(draining_film_jeffreys_m(1.0, 90.0, 0.1, 100.0, 1000.0) * 1000.0, 3)
    0.213
    """
    edge = sqrt(viscosity_pa_s * run_m / (density_kg_m3 * GRAVITY * sin(radians(slope_deg)) * seconds))
    return 2.0 / 3.0 * edge


def drip_share(coat_kg_m2: float, body: str, seconds: float) -> Range:
    """Share of a coat that runs off in a time [-], least and most.

    coat_kg_m2: brushed on, above 0; body: one of ``BODIES``; seconds: until it is set, above 0

    As it dries it thickens, evenly in the logarithm of its viscosity: most of what drips does so at first. A rough
    bark holds more than the smooth face of the law.

    Raises InputError: no such body.
    """
    if body not in BODIES:
        raise InputError(f"'{body}' is no body of a coat", f"Write one of: {', '.join(BODIES)}")
    viscosity, yields = BODIES[body]

    def left(which: int, slope: float) -> float:
        ratio = THICKENS[1 - which]
        flowing_s = seconds * (1.0 - 1.0 / ratio) / log(ratio)  # the time at the first viscosity that does as much
        drained = draining_film_jeffreys_m(viscosity[which], slope, RUN_M, flowing_s)
        stays = max(drained, standing_film_m(yields[which], slope)) * DENSITY_KG_M3
        return min(stays, coat_kg_m2) / coat_kg_m2

    return Range(1.0 - left(1, SLOPES_DEG[0]), 1.0 - left(0, SLOPES_DEG[1]))


PULPY: Final = frozenset(
    {"ketchup", "tomato-paste", "tomato-sauce", "barbecue-sauce", "yellow-mustard", "jam", "jelly", "cornstarch"}
)


def body_of(batch: Batch) -> str:
    """What a coat is like: as the mix says; else pulp stands, water runs, the rest is a syrup (from memory)."""
    if batch.mix.body is not None:
        return batch.mix.body
    whole = batch.mass_kg
    pulp = sum(each.mass_kg for each in batch.portions if each.food.key in PULPY)
    if batch.contents.nutrients["water_g"].middle > 800.0 * whole:
        return "thin"
    return "thick" if pulp > 0.3 * whole else "syrup"
