"""Heat that meat takes from a pit: warming up, and water that it gives off."""

from dataclasses import dataclass
from typing import Final

from pitreckon.catalog import Cut
from pitreckon.errors import InputError
from pitreckon.physics.food import Composition, heat_capacity
from pitreckon.physics.vapour import latent_heat_linear

DRYING_C: Final = 60.0
"""About where meat's surface stays while it dries, for the heat of evaporation [degC]: computed, the wet bulb of a pit
is 37 to 45 and the drying skin is warmer."""
USUAL_EVAPORATED: Final = 0.20
"""Water that a piece gives off as vapour in the whole of an open cook, of its raw mass [-]: from memory, most of a
cooking loss of 25 to 40 %."""
BONE_J_KG_K: Final = 1700.0
"""Heat capacity of fresh bone [J/(kg K)]: from memory."""


@dataclass(frozen=True, slots=True)
class MeatLoad:
    """Heat that the pieces of one item take in a segment.

    warming_j: sensible heat [J], negative where they cool; evaporated_kg: water that leaves as vapour [kg]
    """

    label: str
    warming_j: float
    evaporated_kg: float

    @property
    def heat_j(self) -> float:
        """All of it [J]."""
        return self.warming_j + self.evaporated_kg * latent_heat_linear(DRYING_C)


def raw_heat_capacity(cut: Cut) -> float:
    """Heat capacity of a raw piece, bone included, at 40 degC [J/(kg K)]."""
    parts = cut.composition
    edible = heat_capacity(
        Composition(water=parts.water.value, protein=parts.protein.value, fat=parts.fat.value, ash=parts.ash.value),
        40.0,
    )
    bone = parts.bone_fraction.value
    return (1.0 - bone) * edible + bone * BONE_J_KG_K


def load_of(
    label: str, cut: Cut, mass_kg: float, *, from_c: float, to_c: float, evaporated: float = USUAL_EVAPORATED
) -> MeatLoad:
    """Load from simple totals.

    mass_kg: raw mass of all pieces [kg], above 0
    from_c, to_c: mean temperature of the meat at the ends of the segment [degC]
    evaporated: water gone as vapour in the segment, of the raw mass, 0 to 0.6 [-]

    Raises InputError: a mass or a share that cannot be
    """
    if not mass_kg > 0:
        raise InputError(f"'{label}' weighs {mass_kg:g} kg", "Give its raw weight")
    if not 0.0 <= evaporated <= 0.6:
        raise InputError(f"'{label}' loses {evaporated:g} of its weight as vapour", "Give a share from 0 to 0.6")
    return MeatLoad(label, mass_kg * raw_heat_capacity(cut) * (to_c - from_c), mass_kg * evaporated)
