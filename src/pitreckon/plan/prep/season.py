"""When to salt: how deep salt gets, and how long it keeps the surface wet.

What is known: salt wanders into meat by diffusion (physics.salt), and a brine stronger than about 200 kg/m3 draws
water out of meat, a weaker one goes in. What is not known here: the flow of the water itself. So the time that a
salted face stays wet is that until the salt just under it has fallen to that strength, and no more is claimed.
"""

import math
from dataclasses import dataclass

from pitreckon.catalog import Cut
from pitreckon.catalog.buying import BeforeFire, before_fire
from pitreckon.catalog.shapes import Ball, Bird, Drum
from pitreckon.physics import salt
from pitreckon.plan.buying.shopping import lengths_m
from pitreckon.plan.wishes import ItemWish
from pitreckon.units import format_duration, format_percent

LEAST_LEAD_S = 1800.0
"""A salted face is left alone for half an hour at least, so that the rub sticks: common practice, no source."""

READY = "ground meat is seasoned when it is mixed: nothing goes on it"


@dataclass(frozen=True, slots=True)
class Seasoning:
    """When an item is salted, and why.

    salt_g_per_kg: [g/kg]; dose_kg_m2: [kg/m2] of that on its surface; half_m: [m] half its thickness
    wet_s: [s] while salt draws water to the face; hour_reach_m, night_reach_m: [m] how deep salt gets in the usual
        hour and overnight
    thin: salt would reach deep into it overnight; lead_s: [s] before put-on; why: both, in plain words
    """

    salt_g_per_kg: float
    dose_kg_m2: float
    half_m: float
    wet_s: float
    hour_reach_m: float
    night_reach_m: float
    thin: bool
    lead_s: float
    why: str


def seasoned_already(item: ItemWish, cut: Cut) -> bool:
    """Whether nothing goes on it: ground meat in its casing has its salt inside, unless the cook says how much."""
    return cut.kind == "ground" and item.salt_g_per_kg is None


def seasoning(item: ItemWish, cut: Cut, mass_kg: float, kitchen: BeforeFire | None = None) -> Seasoning:
    """When to salt one piece of an item.

    item: its salt and thickness; cut: its shape; mass_kg: [kg] of the piece as it goes on
    """
    room = kitchen or before_fire()
    thick, wide, long = lengths_m(cut.shape, cut.scale(mass_kg))
    thick = (thick if item.thickness_m is None else item.thickness_m) * item.thickness_factor
    ready = seasoned_already(item, cut)
    usual_g = 0.0 if ready else room.salt_g_per_kg.value
    dose_g = usual_g if item.salt_g_per_kg is None else item.salt_g_per_kg
    dose_kg_m2 = dose_g / 1000.0 * mass_kg / _surface_m2(cut, thick, wide, long)
    diffusivity = salt.diffusivity_nacl(room.fridge_c.value)
    hour_m = salt.penetration_depth(diffusivity, room.hour_s.value)
    night_m = salt.penetration_depth(diffusivity, room.overnight_s.value)
    wet_s = (dose_kg_m2 / room.brine_kg_m3.value) ** 2 / (math.pi * diffusivity)
    half = thick / 2.0
    thin = night_m / half >= room.thin_ratio.value
    if dose_g == 0.0:
        lead_s = LEAST_LEAD_S
    elif thin:
        lead_s = min(max(wet_s, LEAST_LEAD_S), room.hour_s.value)
    else:
        lead_s = max(wet_s, room.overnight_s.value)
    why = READY if ready else _why(thin, dose_g, wet_s, half, hour_m, night_m)
    return Seasoning(dose_g, dose_kg_m2, half, wet_s, hour_m, night_m, thin, lead_s, why)


def _surface_m2(cut: Cut, thick: float, wide: float, long: float) -> float:
    if isinstance(cut.shape, Ball):
        return math.pi * wide**2
    if isinstance(cut.shape, Drum):
        height = long if long > wide else thick
        return math.pi * wide * (wide / 2.0 + height)
    if isinstance(cut.shape, Bird):
        return math.pi * thick * (thick / 2.0 + long)
    return 2.0 * (wide * long + thick * (wide + long))


def _why(thin: bool, dose_g: float, wet_s: float, half: float, hour_m: float, night_m: float) -> str:
    hour = f"{hour_m * 1000:.1f} mm deep in an hour"
    night = f"{night_m * 1000:.1f} mm overnight"
    share = f"{format_percent(night_m / half)} of the way to the middle"
    if dose_g == 0.0:
        return f"a rub without salt stays on the surface; put it on within the hour ({night} is what salt would reach)"
    wet = f"salt draws water out for about {format_duration(max(wet_s, 60.0))}, then it goes back in"
    if thin:
        return f"thin: salt gets {hour}, and {night}, {share}, which begins to cure it; {wet}"
    return f"thick: salt gets only {hour}; {night} it is {share}, so the rim is seasoned and nothing cures; {wet}"
