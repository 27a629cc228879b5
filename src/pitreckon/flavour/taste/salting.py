"""Salt: from sodium, as a share of the meat, by type of salt, and in a brine."""

from collections.abc import Mapping
from typing import Final

from pitreckon.catalog.foods import Range, foods

NACL_PER_NA: Final = 58.443 / 22.990
"""Molar masses of NaCl and Na, IUPAC: 2.542."""
SALT_TYPES: Final = ("salt", "rolled-salt", "flake-salt")
"""Foods of the catalog that are salt, the heaviest spoonful first."""


def salt_from_sodium_mg(sodium_mg: float) -> float:
    """Salt that holds so much sodium [g].

    >>> round(salt_from_sodium_mg(2300.0), 2)
    5.85
    """
    return sodium_mg * NACL_PER_NA / 1000.0


def salt_volumes_m3(salt_kg: float) -> Mapping[str, float]:
    """The same weight of salt by the spoon, for each type of salt [m3]: a teaspoon of one is not one of another."""
    return {key: salt_kg / (foods()[key].density_kg_m3 or 1.0) for key in SALT_TYPES}


def equilibrium_salt_g_per_kg(salt_kg: float, water_kg: float, meat_kg: float, meat_water: Range) -> Range:
    """Salt in meat that has lain in a brine until both have the same strength [g per kg of raw meat].

    salt_kg, water_kg: of the brine, its other ingredients' included [kg]
    meat_kg: meat in it, without its bones [kg], above 0
    meat_water: share of water in the meat, smallest and largest [-]

    The salt spreads over all the water; the meat has it in its own. Common practice divides by the whole of the meat
    instead, which gives a little less.
    """

    def strength(share: float) -> float:
        inside = share * meat_kg
        all_of_it = inside + water_kg
        return 1000.0 * salt_kg * inside / (all_of_it * meat_kg) if all_of_it > 0.0 else 0.0

    return Range(strength(meat_water.low), strength(meat_water.high))
