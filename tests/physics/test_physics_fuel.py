"""Fuel, air and chamber against Pitreckon's research notes, 8."""

from __future__ import annotations

import pytest

from pitreckon.errors import RangeError
from pitreckon.physics import air, fuel

PELLETS = 17.2e6  # J/kg as fired, middle of the 17.0 to 17.3 of ENplus pellet suppliers
WATER = fuel.combustion_water(0.06, 0.07)  # hydrogen 6 %, moisture 7 %


@pytest.mark.parametrize(("moisture", "megajoule"), [(0.06, 17.4), (0.10, 16.6), (0.20, 14.5)])
def test_heating_value_as_fired(moisture: float, megajoule: float) -> None:
    # computed from 20 MJ/kg gross and 6 % hydrogen
    assert fuel.lower_heating_value(20e6, 0.06, moisture) / 1e6 == pytest.approx(megajoule, abs=0.051)


def test_oven_dry_hardwood() -> None:
    # firewood tables: 8600 Btu/lb gross, about 8050 net
    net = fuel.lower_heating_value(8600 * 2326.0, 0.06, 0.0)
    assert net / 2326.0 == pytest.approx(8050, rel=0.01)


def test_stoichiometry_of_wood() -> None:
    # computed for C 50, H 6, O 43 %: 5.98 kg air, 0.54 kg water
    assert fuel.stoichiometric_air(0.50, 0.06, 0.43) == pytest.approx(5.98, abs=6e-3)
    assert fuel.combustion_water(0.06, 0.0) == pytest.approx(0.54, abs=1e-9)
    # pure carbon takes 32/12 of oxygen, pure hydrogen 8
    assert fuel.stoichiometric_air(1.0, 0.0, 0.0) * 0.2314 == pytest.approx(32 / 12)


@pytest.mark.parametrize(
    ("chamber_c", "loss", "air_kg", "rise", "wet_bulb_c"),
    # computed: pellets of 17.2 MJ/kg, from 20 degC and 0.0075 kg/kg
    [
        (107, 0.0, 196, 0.0029, 36.6),
        (107, 0.5, 98, 0.0058, 37.7),
        (107, 0.7, 59, 0.0097, 39.1),
        (135, 0.0, 148, None, 40.9),
        (135, 0.5, 74, None, 42.1),
        (135, 0.7, 44, None, 43.6),
    ],
)
def test_chamber_air(chamber_c: float, loss: float, air_kg: float, rise: float | None, wet_bulb_c: float) -> None:
    found = fuel.air_per_fuel(PELLETS, chamber_c, 20.0, loss)
    assert found == pytest.approx(air_kg, abs=0.9)
    ratio = fuel.chamber_humidity_ratio(0.0075, found * 1e-4, fuel_kg_s=1e-4, water_per_fuel=WATER)
    if rise is not None:
        assert ratio - 0.0075 == pytest.approx(rise, abs=6e-5)
    assert air.wet_bulb_ashrae(chamber_c, ratio) == pytest.approx(wet_bulb_c, abs=0.11)


@pytest.mark.parametrize(
    ("inside", "outside", "bare", "insulated"), [(10, 8, 4.4, 1.6), (15, 12, 6.7, 1.8), (20, 20, 10.0, 1.9)]
)
def test_wall_conductance(inside: float, outside: float, bare: float, insulated: float) -> None:
    # computed: single steel; with 25 mm of ceramic wool of 0.06 W/(m K), 1.6 to 1.9
    assert fuel.wall_conductance(inside, outside) == pytest.approx(bare, abs=0.051)
    assert fuel.wall_conductance(inside, outside, 0.025, 0.06) == pytest.approx(insulated, abs=0.051)


def test_heat_budget_of_a_small_pit() -> None:
    # computed: 650 W walls + 490 W exhaust + 190 W evaporation = 1.3 kW, 0.28 kg/h of pellets
    walls = fuel.wall_heat_loss(5.0, 1.5, 107.0, 20.0)
    exhaust = fuel.exhaust_heat(20.0 / 3600.0, 107.0, 20.0)
    assert walls == pytest.approx(650, abs=5)
    assert exhaust == pytest.approx(490, abs=5)
    assert fuel.fuel_rate(walls + exhaust + 190.0, PELLETS) * 3600.0 == pytest.approx(0.28, abs=0.006)


def test_meat_moisture_lifts_the_wet_bulb() -> None:
    # computed: 0.3 kg/h into 20 kg/h of air adds 0.015 kg/kg, wet bulb about +5 degC
    ratio = fuel.chamber_humidity_ratio(0.0075, 20.0 / 3600.0, evaporation_kg_s=0.3 / 3600.0)
    assert ratio == pytest.approx(0.0225)
    lift = air.wet_bulb_ashrae(107.0, ratio) - air.wet_bulb_ashrae(107.0, 0.0075)
    assert lift == pytest.approx(5.0, abs=0.6)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: fuel.lower_heating_value(1e9, 0.06, 0.1), "higher_dry_j_kg = 1e+09"),
        (lambda: fuel.lower_heating_value(20e6, 0.06, 0.9), "moisture = 0.9"),
        (lambda: fuel.combustion_water(0.5, 0.1), "hydrogen = 0.5"),
        (lambda: fuel.stoichiometric_air(1.2, 0.06, 0.43), "carbon = 1.2"),
        (lambda: fuel.air_per_fuel(17e6, 107.0, 20.0, 1.0), "loss_share = 1"),
        (lambda: fuel.air_per_fuel(17e6, 31.0, 30.0, 0.5), "chamber_c - ambient_c = 1 K"),
        (lambda: fuel.chamber_humidity_ratio(0.0075, 0.0), "air_kg_s = 0 kg/s"),
        (lambda: fuel.wall_conductance(0.0, 8.0), "inside_w_m2k = 0"),
        (lambda: fuel.wall_heat_loss(5.0, 1.5, 107.0, 99.0), "ambient_c = 99 degC"),
        (lambda: fuel.exhaust_heat(-1.0, 107.0, 20.0), "air_kg_s = -1"),
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
