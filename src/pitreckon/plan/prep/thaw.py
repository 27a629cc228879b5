"""How long frozen meat takes to thaw: by physics and by the official rule, the longer of the two.

The official rules go by weight alone; the physics knows that a flat rack thaws sooner than a ball of its weight.
"""

import math
from dataclasses import dataclass

from pitreckon.catalog import Cut
from pitreckon.catalog.buying import BeforeFire, before_fire
from pitreckon.catalog.shapes import DENSITY_KG_M3, Bird
from pitreckon.errors import InputError, Place
from pitreckon.physics import food, thaw
from pitreckon.plan.buying.shopping import lengths_m

WAYS = ("refrigerator", "cold water")


@dataclass(frozen=True, slots=True)
class Thawing:
    """How long one frozen block takes.

    way: refrigerator | cold water; mass_kg: [kg] of the block
    physics_s: [s] until its middle is at 0 °C, by Cleland's equation; official_s: [s] by the rule for its weight
    changes: how often the water is changed
    """

    way: str
    mass_kg: float
    physics_s: float
    official_s: float
    changes: int

    @property
    def plan_s(self) -> float:
        """The longer of the two [s]: what is planned with."""
        return max(self.physics_s, self.official_s)


def thawing(cut: Cut, mass_kg: float, way: str = "refrigerator", kitchen: BeforeFire | None = None) -> Thawing:
    """How long a frozen block of a cut takes to thaw.

    cut: its shape and composition; mass_kg: of the block, above 0 to 150; way: refrigerator | cold water

    Raises InputError: another way, or a mass out of range.
    """
    if way not in WAYS:
        raise InputError(
            f"'{way}' is no way to thaw meat",
            f"Thaw it in one of: {', '.join(WAYS)}; never on the counter, where its surface warms for hours",
            Place(field="thaw"),
        )
    if not 0.0 < mass_kg <= 150.0:
        raise InputError(f"a frozen block of {mass_kg:g} kg", "It weighs more than nothing and at most 150 kg")
    room = kitchen or before_fire()
    cold = way == "refrigerator"
    around_c = room.fridge_c.value if cold else room.water_c.value
    heat_w_m2k = room.fridge_w_m2k.value if cold else room.water_w_m2k.value
    rule = room.fridge_s_per_kg.value if cold else room.water_s_per_kg.value
    physics_s = thaw_s(cut, mass_kg, around_c, heat_w_m2k, room.freezer_c.value)
    official_s = rule * mass_kg
    changes = 0 if cold else max(math.ceil(max(physics_s, official_s) / room.change_s.value) - 1, 0)
    return Thawing(way, mass_kg, physics_s, official_s, changes)


def thaw_s(cut: Cut, mass_kg: float, around_c: float, heat_w_m2k: float, start_c: float) -> float:
    """Time until the middle of a frozen piece is at 0 °C [s]: Cleland's slab over Hossain's heat dimension.

    around_c: of refrigerator or water [C]; heat_w_m2k: from it to the wrapped meat [W/m2K]; start_c: frozen [C]
    """
    parts = cut.composition
    water, protein = parts.water.value, parts.protein.value
    made_of = food.Composition(water, protein, parts.fat.value, ash=parts.ash.value)
    freezing_c = thaw.MEAT_FREEZING_C
    thick, wide, _ = lengths_m(cut.shape, cut.scale(mass_kg))
    if isinstance(cut.shape, Bird):  # its cavity is empty: what thaws is two walls
        thick -= cut.shape.cavity_m.value * cut.scale(mass_kg)
    conductivity = food.conductivity(made_of, 0.0)
    melt = thaw.enthalpy_chen(0.0, water, protein) - thaw.enthalpy_chen(-10.0, water, protein)
    thawed = thaw.enthalpy_chen(1.0, water, protein) - thaw.enthalpy_chen(0.0, water, protein)
    frozen = (thaw.enthalpy_chen(-35.0, water, protein) - thaw.enthalpy_chen(-40.0, water, protein)) / 5.0
    slab_s = thaw.thaw_time_cleland(
        *(thick, heat_w_m2k, conductivity, around_c - freezing_c, melt * DENSITY_KG_M3),
        *(thawed * DENSITY_KG_M3, frozen * DENSITY_KG_M3, freezing_c - start_c),
    )
    half = thick / 2.0
    section = max(thick * wide / (math.pi * half**2), 1.0)
    volume_m3 = cut.shape.volume_m3 * cut.scale(mass_kg) ** 3
    volume = max(3.0 * volume_m3 / (4.0 * math.pi * half**3) / section, 1.0)
    return slab_s / thaw.heat_dimension_hossain(heat_w_m2k * half / conductivity, section, volume)
