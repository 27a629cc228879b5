"""Fuel, air and chamber against Pitreckon's research notes, 8."""

from __future__ import annotations

import pytest
from tests.oracles import air as oracle_air

from pitreckon.errors import RangeError
from pitreckon.physics import fuel

PELLETS = 17.2e6  # J/kg as fired, middle of the 17.0 to 17.3 of ENplus pellet suppliers
WATER = fuel.combustion_water(0.06, 0.07)  # hydrogen 6 %, moisture 7 %


def test_stoichiometry_of_wood() -> None:
    # computed for 6 % hydrogen: 0.54 kg water
    assert fuel.combustion_water(0.06, 0.0) == pytest.approx(0.54, abs=1e-9)


@pytest.mark.parametrize(
    ("chamber_c", "air_kg", "rise", "wet_bulb_c"),
    # computed: air of pellets of 17.2 MJ/kg at 0, 50 and 70 % lost through the walls, from 20 degC and 0.0075 kg/kg
    [
        (107, 196, 0.0029, 36.6),
        (107, 98, 0.0058, 37.7),
        (107, 59, 0.0097, 39.1),
        (135, 148, None, 40.9),
        (135, 74, None, 42.1),
        (135, 44, None, 43.6),
    ],
)
def test_chamber_air(chamber_c: float, air_kg: float, rise: float | None, wet_bulb_c: float) -> None:
    ratio = fuel.chamber_humidity_ratio(0.0075, air_kg * 1e-4, fuel_kg_s=1e-4, water_per_fuel=WATER)
    if rise is not None:
        assert ratio - 0.0075 == pytest.approx(rise, abs=6e-5)
    assert oracle_air.wet_bulb_ashrae(chamber_c, ratio) == pytest.approx(wet_bulb_c, abs=0.11)


def test_heat_budget_of_a_small_pit() -> None:
    # computed: 650 W walls + 490 W exhaust + 190 W evaporation = 1.3 kW, 0.28 kg/h of pellets
    assert fuel.fuel_rate(650.0 + 490.0 + 190.0, PELLETS) * 3600.0 == pytest.approx(0.28, abs=0.006)


def test_meat_moisture_lifts_the_wet_bulb() -> None:
    # computed: 0.3 kg/h into 20 kg/h of air adds 0.015 kg/kg, wet bulb about +5 degC
    ratio = fuel.chamber_humidity_ratio(0.0075, 20.0 / 3600.0, evaporation_kg_s=0.3 / 3600.0)
    assert ratio == pytest.approx(0.0225)
    lift = oracle_air.wet_bulb_ashrae(107.0, ratio) - oracle_air.wet_bulb_ashrae(107.0, 0.0075)
    assert lift == pytest.approx(5.0, abs=0.6)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: fuel.combustion_water(0.5, 0.1), "hydrogen = 0.5"),
        (lambda: fuel.chamber_humidity_ratio(0.0075, 0.0), "air_kg_s = 0 kg/s"),
        (lambda: fuel.fuel_rate(-1.0, 17e6), "heat_w = -1 W"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)


def test_wind_on_a_bare_steel_wall() -> None:
    # Notes 8: single steel, inside 10 and outside 8 makes 4.4; windy, 15 and 12: 6.7. The outer film alone from 8 to
    # 12 makes 1 / (1/10 + 1/12) = 5.45 by hand.
    assert fuel.wind_conductance(1 / (1 / 10 + 1 / 8), 8.0, 12.0) == pytest.approx(1 / (1 / 10 + 1 / 12))
    assert fuel.wind_conductance(5.0, 10.0, 10.0) == pytest.approx(5.0)
    with pytest.raises(RangeError, match="calm_w_m2k"):
        fuel.wind_conductance(11.0, 10.0, 20.0)


def test_outer_film_in_calm_and_in_wind() -> None:
    # From memory: building handbooks give about 8 to 11 W/(m2 K) for still air with radiation (ASHRAE 8.3 for a
    # vertical surface, 9.3 upward) and 22.7 and 34 for winds of 3.4 and 6.7 m/s on flat rough walls; a smooth
    # round body of half a metre has less.
    assert 8.0 < fuel.outer_film(0.55, 0.0, 60.0, 20.0) < 12.0
    assert 14.0 < fuel.outer_film(0.55, 3.4, 60.0, 20.0) < 22.7
    assert 20.0 < fuel.outer_film(0.55, 6.7, 60.0, 20.0) < 34.0
    films = [fuel.outer_film(0.55, wind, 60.0, 20.0) for wind in (0.0, 0.01, 0.02, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)]
    assert films == sorted(films)


def test_mixed_convection_is_near_the_stronger() -> None:
    assert fuel.convection_mixed(5.0, 0.0) == pytest.approx(5.0)
    assert fuel.convection_mixed(5.0, 5.0) == pytest.approx(5.0 * 2 ** (1 / 3))
    assert 20.0 < fuel.convection_mixed(5.0, 20.0) < 20.2
