"""A pan of water that a cook sets in his pit: what it gives off to the pit's air, and the heat that takes."""

from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog import Pit
from pitreckon.physics.constants import VAPOUR_TO_AIR_MASS
from pitreckon.section.laws import (
    CELSIUS_ZERO_K,
    MOST_VAPOUR,
    SIGMA_W_M2K4,
    latent_heat,
    log_ratio,
    saturation_pressure,
)
from pitreckon.section.surroundings import convection, vapour_coefficient

__all__ = ["ABOVE", "has_pan", "pan_evaporation"]


WATER_EMISSIVITY: Final = 0.95
"""Long-wave emissivity of a water face, from memory [-]"""
USUAL_PAN_M2: Final = 0.06
"""Water face of a usual pan, 25 by 25 cm, from memory [m2]"""
ABOVE: Final = 90.0
"""Rise over the weather at which a pit's flow of air is given [K]"""
HALVINGS: Final = 40


def has_pan(pit: Pit, water_pan: bool | None) -> bool:
    """Is there water in the pit? ``water_pan``: what the cook says; None: as such a pit is usually run."""
    return pit.exchange.pan_evaporation_kg_s.value > 0.0 if water_pan is None else water_pan


def pan_evaporation(
    pit: Pit,
    speed_m_s: Floats,
    air_c: float,
    wall_offset_k: Floats,
    ratio: Floats,
    flow_kg_s: Floats,
    pressure_pa: float,
) -> Floats:
    """Vapour from a pan set in a pit [kg/s], shape (members,): ``physics.surface.wet_surface`` for an ensemble.

    Its water comes to the temperature at which the heat of air and walls just pays for what it gives off; that makes
    the pit's air moister, which is part of the balance. One bisection on the water's temperature finds both.

    pit: with its pan's area
    speed_m_s, wall_offset_k: of the pit's air [m/s], of its walls over it [K], (members,)
    air_c: of the pit [degC]
    ratio: humidity ratio of the pit's air without the pan [kg/kg], (members,)
    flow_kg_s: dry air through the pit [kg/s], (members,)
    pressure_pa: [Pa]
    """
    area = USUAL_PAN_M2 if pit.exchange.pan_m2 is None else pit.exchange.pan_m2.value
    film = convection(np.sqrt(area), speed_m_s, air_c, pressure_pa)
    coefficient = vapour_coefficient(film, air_c, pressure_pa)
    wall_k = air_c + wall_offset_k + CELSIUS_ZERO_K
    most = MOST_VAPOUR * pressure_pa
    low, high = np.zeros_like(flow_kg_s), np.full_like(flow_kg_s, min(air_c, 100.0))

    def given(water_c: Floats) -> Floats:
        radiant = WATER_EMISSIVITY * SIGMA_W_M2K4 * (wall_k**4 - (water_c + CELSIUS_ZERO_K) ** 4)
        heat = film * (air_c - water_c) + radiant
        return np.asarray(area * heat / latent_heat(water_c))

    for _ in range(HALVINGS):
        water_c = 0.5 * (low + high)
        pays_for = given(water_c)
        moist = np.maximum(ratio + pays_for / flow_kg_s, 0.0)
        air_pa = np.minimum(pressure_pa * moist / (VAPOUR_TO_AIR_MASS + moist), most)
        gives = area * coefficient * log_ratio(pressure_pa, air_pa, np.minimum(saturation_pressure(water_c), most))
        warmer = pays_for > gives
        low, high = np.where(warmer, water_c, low), np.where(warmer, high, water_c)
    return np.maximum(given(0.5 * (low + high)), 0.0)
