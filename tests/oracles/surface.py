"""What happens at a face, written out."""

from __future__ import annotations

from math import log
from typing import Final, NamedTuple

from tests.oracles.vapour import latent_heat_wagner_pruss

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics._roots import bracketed_root
from pitreckon.physics.air import (
    vapour_pressure_from_humidity_ratio,
)
from pitreckon.physics.constants import (
    SEA_LEVEL_PA,
    STEFAN_BOLTZMANN,
    ZERO_CELSIUS_K,
)
from pitreckon.physics.surface import MEAT_EMISSIVITY, OSWIN_HALF, mass_transfer_lewis, vapour_permeance
from pitreckon.physics.vapour import saturation_pressure_wagner_pruss, saturation_temperature

WETTEST_C: Final = 150.0


def radiation_flux_stefan_boltzmann(surface_c: float, wall_c: float, emissivity: float = MEAT_EMISSIVITY) -> float:
    """Oracle of physics.surface.radiation_coefficient.

    Net radiant heat from surrounding walls into a small grey surface [W/m2].

    Parameters
    ----------
    surface_c, wall_c: -40 to 400 [degC]
    emissivity: of the surface, 0 to 1 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, chapter 1; worked value in the manual of [bell_ht]_: 816.78 W/m2 out of a surface
    of emissivity 0.85 at 400 K to surroundings at 305 K.

    >>> round(radiation_flux_stefan_boltzmann(305.0 - 273.15, 400.0 - 273.15, 0.85), 1)
    816.8
    """
    within("surface_c", surface_c, -40.0, 400.0, "degC")
    within("wall_c", wall_c, -40.0, 400.0, "degC")
    within("emissivity", emissivity, 0.0, 1.0)
    wall_k, surface_k = wall_c + ZERO_CELSIUS_K, surface_c + ZERO_CELSIUS_K
    return emissivity * STEFAN_BOLTZMANN * (wall_k**4 - surface_k**4)


def evaporation_flux_stefan(
    mass_transfer_m_s: float,
    surface_vapour_pa: float,
    air_vapour_pa: float,
    film_c: float,
    pressure_pa: float = SEA_LEVEL_PA,
) -> float:
    """Oracle of section.laws.log_ratio.

    Water that leaves a surface through the air film, Stefan's logarithmic law [kg/(m2 s)].

    Negative when vapour condenses on the surface.

    Parameters
    ----------
    mass_transfer_m_s: 0 to 10 [m/s]
    surface_vapour_pa: water activity times saturation pressure at the surface, 0 to below the total [Pa]
    air_vapour_pa: vapour pressure of the air, 0 to below the total [Pa]
    film_c: -40 to 250 [degC]
    pressure_pa: total, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range; a surface at its boiling point has no finite flux

    Source: [stefan_1874]_ as in [bird_2002]_, chapter 18. For small vapour pressures it is the plain
    difference: 0.01 m/s over 100 Pa at 20 degC is 0.01 x 100 / (461.52 x 293.15) kg/(m2 s).

    >>> round(evaporation_flux_stefan(0.01, 150.0, 50.0, 20.0) * 1e6, 1)
    7.4
    """
    within("mass_transfer_m_s", mass_transfer_m_s, 0.0, 10.0, "m/s")
    within("film_c", film_c, -40.0, 250.0, "degC")
    within("pressure_pa", pressure_pa, 5e4, 1.2e5, "Pa")
    most = pressure_pa * (1.0 - 1e-12)
    within("surface_vapour_pa", surface_vapour_pa, 0.0, most, "Pa")
    within("air_vapour_pa", air_vapour_pa, 0.0, most, "Pa")
    drive = log((pressure_pa - air_vapour_pa) / (pressure_pa - surface_vapour_pa))
    return vapour_permeance(mass_transfer_m_s, film_c) * pressure_pa * drive


def water_activity_oswin(water_per_dry: float, half: float = OSWIN_HALF) -> float:
    """Oracle of section.laws.surface_activity.

    Water activity of a drying meat surface [0-1].

    Oswin's isotherm with the exponent 1/2, solved for the activity.

    Parameters
    ----------
    water_per_dry: water per fat-free dry matter, 0 to 20 [kg/kg]
    half: water content at activity 1/2, 0.01 to 1 [kg/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: ``half`` is from memory. The desorption anchors it was set by (0.8 at 0.22 kg/kg, 0.9 at 0.36,
    0.95 at 0.6, 0.99 at 2) are from memory too; with 0.15 the law lies 0.12, 0.05, 0.01 below the first three
    and meets the last; 0.11 would lie within 0.03 of them. Treat it as a wide prior.

    Source: [oswin_1946]_ for the form, whose constant is the content at activity 1/2.

    >>> water_activity_oswin(0.15)
    0.5
    """
    within("water_per_dry", water_per_dry, 0.0, 20.0, "kg/kg")
    within("half", half, 0.01, 1.0, "kg/kg")
    square = water_per_dry * water_per_dry
    return square / (square + half * half)


class WetSurface(NamedTuple):
    """What a wet surface settles at."""

    temp_c: float
    """[degC]"""
    flux_kg_m2_s: float
    """Evaporation, negative for condensation [kg/(m2 s)]"""
    convected_w_m2: float
    """Heat from the air [W/m2]"""
    radiated_w_m2: float
    """Heat from the walls [W/m2]"""


def wet_surface(
    air_c: float,
    humidity_ratio: float,
    convection_w_m2k: float,
    *,
    emissivity: float = MEAT_EMISSIVITY,
    wall_c: float | None = None,
    wetness: float = 1.0,
    water_activity: float = 1.0,
    pressure_pa: float = SEA_LEVEL_PA,
) -> WetSurface:
    """Oracle of the faces of section, solved for a wet one.

    Where convection and radiation just pay for evaporation, nothing going into the meat [degC, kg/(m2 s)].

    Parameters
    ----------
    air_c: 10 to 250 [degC]
    humidity_ratio: 0 to 10 [kg/kg dry air]
    convection_w_m2k: above 0 to 500 [W/(m2 K)]
    emissivity: 0 to 1 [-]
    wall_c: temperature of the walls it sees, 0 to 400, the air's when left out [degC]
    wetness: share of the surface that evaporates, 0.001 to 1 [-]
    water_activity: of the wet part, 0.01 to 1 [-]
    pressure_pa: 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range, or a balance that lies outside 0.01 to 150 degC

    Source: [lewis_1922]_, [stefan_1874]_ and [bergman_2011]_ for the three flows, [wagner_pruss_2002]_ for
    saturation and latent heat; the value is computed here (psychrometric wet bulb 35.5 degC).

    >>> round(wet_surface(107.0, 0.0075, 10.0).temp_c)
    42
    """
    wall_c = air_c if wall_c is None else wall_c
    within("air_c", air_c, 10.0, 250.0, "degC")
    within("wall_c", wall_c, 0.0, 400.0, "degC")
    within("convection_w_m2k", convection_w_m2k, 1e-3, 500.0, "W/(m2 K)")
    within("wetness", wetness, 1e-3, 1.0)
    within("water_activity", water_activity, 0.01, 1.0)
    air_vapour_pa = vapour_pressure_from_humidity_ratio(humidity_ratio, pressure_pa)

    def flows(surface_c: float) -> WetSurface:
        film_c = 0.5 * (air_c + surface_c)
        transfer = wetness * mass_transfer_lewis(convection_w_m2k, film_c, pressure_pa)
        surface_pa = water_activity * saturation_pressure_wagner_pruss(surface_c)
        flux = evaporation_flux_stefan(transfer, surface_pa, air_vapour_pa, film_c, pressure_pa)
        convected = convection_w_m2k * (air_c - surface_c)
        return WetSurface(surface_c, flux, convected, radiation_flux_stefan_boltzmann(surface_c, wall_c, emissivity))

    def balance(surface_c: float) -> float:
        at = flows(surface_c)
        return at.convected_w_m2 + at.radiated_w_m2 - at.flux_kg_m2_s * latent_heat_wagner_pruss(surface_c)

    # where water activity times saturation reaches the total pressure the flux has no bound
    boil_c = saturation_temperature(pressure_pa / water_activity)
    top = min(WETTEST_C, boil_c - 1e-6)
    if balance(0.01) < 0.0 or balance(top) > 0.0:
        raise RangeError(
            f"surface_c has no balance between 0.01 and {top:.6g} degC for air_c = {air_c:.6g} degC "
            f"and humidity_ratio = {humidity_ratio:.6g} kg/kg"
        )
    return flows(bracketed_root(balance, 0.01, top))


def evaporation_flux_wrapped_stefan(
    film_kg_m2_s_pa: float,
    wrap_kg_m2_s_pa: float,
    surface_vapour_pa: float,
    air_vapour_pa: float,
    pressure_pa: float = SEA_LEVEL_PA,
) -> float:
    """Oracle of section.surroundings.surround.

    Water that leaves meat through a wrap and the air film outside it, in series [kg/(m2 s)].

    Stefan's law through both: vapour that diffuses through seams and pores drags air along, so that the flow has no
    bound where the meat boils. So a tight wrap gives off next to nothing at 90 degC and still bursts at no pressure.

    Parameters
    ----------
    film_kg_m2_s_pa: of the air film, above 0 to 1e-5 [kg/(m2 s Pa)]
    wrap_kg_m2_s_pa: of sheet, seams and folds together, above 0 to 1e-5 [kg/(m2 s Pa)]
    surface_vapour_pa: at the meat, 0 to below the total [Pa]
    air_vapour_pa: outside, 0 to below the total [Pa]
    pressure_pa: total, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [stefan_1874]_ as in [bird_2002]_, chapter 18; two equal permeances let half of one's flow through, which
    for small pressures is half of permeance times difference.

    >>> round(evaporation_flux_wrapped_stefan(2e-9, 2e-9, 150.0, 50.0) * 1e9, 1)
    100.1
    """
    within("pressure_pa", pressure_pa, 5e4, 1.2e5, "Pa")
    above_zero("film_kg_m2_s_pa", film_kg_m2_s_pa, 1e-5, "kg/(m2 s Pa)")
    above_zero("wrap_kg_m2_s_pa", wrap_kg_m2_s_pa, 1e-5, "kg/(m2 s Pa)")
    most = pressure_pa * (1.0 - 1e-12)
    within("surface_vapour_pa", surface_vapour_pa, 0.0, most, "Pa")
    within("air_vapour_pa", air_vapour_pa, 0.0, most, "Pa")
    drive = log((pressure_pa - air_vapour_pa) / (pressure_pa - surface_vapour_pa))
    return pressure_pa / (1.0 / film_kg_m2_s_pa + 1.0 / wrap_kg_m2_s_pa) * drive


def skin_resistance_hill(given_kg_m2: float, whole_m2s_kg: float, middle_kg_m2: float, steepness: float) -> float:
    """Oracle of section.laws.skin_resistance.

    Resistance to vapour of the skin that drying leaves behind [m2 s/kg].

    What evaporates leaves its solids at the face: a film that grows with the vapour given off, until it is whole.

    Parameters
    ----------
    given_kg_m2: vapour that the face has given off bare, 0 to 1000 [kg/m2]
    whole_m2s_kg: of a whole skin, 0 to 1e6 [m2 s/kg]
    middle_kg_m2: given off when it is half of that, above 0 to 1000 [kg/m2]
    steepness: exponent, 0.5 to 8 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: the size is argued from memory. Juice has some 6 % of solids, 3 kg/m2 of it leave 0.15 mm, and films of
    protein pass 1e-12 to 1e-11 kg/(m s Pa), which makes 150 to 1500 m2 s/kg on the basis of
    ``stefan_coefficient_behind_skin``.

    Source: [skin_film]_ for the size; the form is Hill's, the constants are fitted. At the middle it is half.

    >>> skin_resistance_hill(2.0, 1200.0, 2.0, 4.0)
    600.0
    """
    within("given_kg_m2", given_kg_m2, 0.0, 1000.0, "kg/m2")
    within("whole_m2s_kg", whole_m2s_kg, 0.0, 1e6, "m2 s/kg")
    above_zero("middle_kg_m2", middle_kg_m2, 1000.0, "kg/m2")
    within("steepness", steepness, 0.5, 8.0)
    part = float((given_kg_m2 / middle_kg_m2) ** steepness)
    return whole_m2s_kg * part / (1.0 + part)


def stefan_coefficient_behind_skin(coefficient_kg_m2_s: float, resistance_m2s_kg: float) -> float:
    """Oracle of section.compiled.rates.skin_share.

    Stefan coefficient of a face under a skin: S / (1 + R S), film and skin in series [kg/(m2 s)].

    Parameters
    ----------
    coefficient_kg_m2_s: of the air film alone, 0 to 10 [kg/(m2 s)]
    resistance_m2s_kg: of the skin, 0 to 1e6 [m2 s/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bird_2002]_, chapter 18, two layers in series; a resistance of 1/S leaves half.

    >>> stefan_coefficient_behind_skin(0.01, 100.0)
    0.005
    """
    within("coefficient_kg_m2_s", coefficient_kg_m2_s, 0.0, 10.0, "kg/(m2 s)")
    within("resistance_m2s_kg", resistance_m2s_kg, 0.0, 1e6, "m2 s/kg")
    return coefficient_kg_m2_s / (1.0 + resistance_m2s_kg * coefficient_kg_m2_s)
