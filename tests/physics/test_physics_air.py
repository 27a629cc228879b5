"""Moist air against a table, psychrolib (where it is sound) and CoolProp."""

from __future__ import annotations

import csv
from pathlib import Path
from types import ModuleType

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.oracles import air as oracle_air

from pitreckon.errors import RangeError
from pitreckon.physics import air, vapour

ZERO_K = 273.15
SEA_LEVEL = 101325.0
DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", rows("wet_bulb.csv"), ids=lambda row: f"{row['air_c']}-{row['humidity_ratio']}")
def test_wet_bulb_table(row: dict[str, str]) -> None:
    found = oracle_air.wet_bulb_ashrae(float(row["air_c"]), float(row["humidity_ratio"]))
    assert found == pytest.approx(float(row["wet_bulb_c"]), abs=0.0101)


@pytest.mark.parametrize(
    ("humidity_ratio", "dew_c"),
    # Pitreckon's research notes, 7.4 (computed)
    [(0.0075, 9.7), (0.015, 20.3), (0.030, 31.6), (0.060, 43.6), (0.100, 52.6)],
)
def test_dew_point_table(humidity_ratio: float, dew_c: float) -> None:
    assert oracle_air.dew_point(humidity_ratio) == pytest.approx(dew_c, abs=0.051)


def test_frost_point(psychro: ModuleType) -> None:
    # psychrolib 2.5 gives the frost point below freezing
    expected = psychro.GetTDewPointFromHumRatio(20.0, 0.003, SEA_LEVEL)
    assert oracle_air.dew_point(0.003) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(
    ("air_c", "relative", "wet_c"),
    # Pitreckon's research notes, 7.4 (computed): air of a relative humidity, up to 140 degC
    [
        (25, 0.50, 17.89),
        (40, 0.20, 22.03),
        (50, 0.30, 32.33),
        (60, 0.10, 28.99),
        (80, 0.05, 34.01),
        (80, 0.30, 54.94),
        (120, 0.02, 43.29),
        (140, 0.02, 50.52),
        (120, 0.30, 86.20),
        # section 0.5 and V7 of 6.1: the turkey ovens at 100 and 110 degC
        (100, 0.05, 43.0),
        (100, 0.24, 66.0),
        (100, 0.43, 78.5),
        (100, 0.62, 87.3),
        (110, 0.05, 47.7),
        (110, 0.24, 73.4),
        (110, 0.43, 86.9),
        (110, 0.62, 96.4),
    ],
)
def test_wet_bulb_from_relative_humidity(air_c: float, relative: float, wet_c: float) -> None:
    humidity = air.humidity_ratio_from_relative_humidity(air_c, relative)
    assert oracle_air.wet_bulb_ashrae(air_c, humidity) == pytest.approx(wet_c, abs=0.051)


@pytest.mark.parametrize(
    ("altitude_m", "wet_c"),
    # Pitreckon's research notes, 7.5 (computed): 107 degC, 0.0075 kg/kg
    [
        (0, 35.5),
        (300, 35.0),
        (500, 34.6),
        (1000, 33.7),
        (1609, 32.5),
        (2000, 31.8),
        (2500, 30.8),
        (3000, 29.9),
    ],
)
def test_wet_bulb_at_altitude(altitude_m: float, wet_c: float) -> None:
    pascal = vapour.pressure_isa(altitude_m)
    assert oracle_air.wet_bulb_ashrae(107.0, 0.0075, pascal) == pytest.approx(wet_c, abs=0.06)


@pytest.mark.parametrize("pascal", [SEA_LEVEL, 83_400.0])
@pytest.mark.parametrize("humidity_ratio", [0.003, 0.0075, 0.015, 0.03, 0.06])
@pytest.mark.parametrize("air_c", [45.0, 60.0, 80.0, 95.0, 107.0, 121.0])
def test_wet_bulb_agrees_with_psychrolib_below_130(
    psychro: ModuleType, air_c: float, humidity_ratio: float, pascal: float
) -> None:
    expected = psychro.GetTWetBulbFromHumRatio(air_c, humidity_ratio, pascal)
    assert oracle_air.wet_bulb_ashrae(air_c, humidity_ratio, pascal) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(("air_c", "humidity_ratio"), [(163.0, 0.06), (177.0, 0.0188), (150.0, 0.1)])
def test_wet_bulb_holds_where_psychrolib_returns_the_dry_bulb(
    psychro: ModuleType, air_c: float, humidity_ratio: float
) -> None:
    assert psychro.GetTWetBulbFromHumRatio(air_c, humidity_ratio, SEA_LEVEL) > air_c - 1.0
    cooler = oracle_air.wet_bulb_ashrae(120.0, humidity_ratio)
    assert cooler < oracle_air.wet_bulb_ashrae(air_c, humidity_ratio) < vapour.boiling_point()


@pytest.mark.parametrize(("air_c", "relative"), [(25, 0.5), (40, 0.2), (60, 0.1), (80, 0.05), (80, 0.3), (95, 0.1)])
def test_wet_bulb_and_humidity_agree_with_coolprop(air_c: float, relative: float) -> None:
    # humid air of CoolProp 8 (real gas, enhancement factor), after Herrmann, Kretzschmar and Gatley
    state = ("T", air_c + ZERO_K, "R", relative, "P", SEA_LEVEL)
    humidity = air.humidity_ratio_from_relative_humidity(air_c, relative)
    assert humidity == pytest.approx(HAPropsSI("W", *state), rel=0.008)
    assert oracle_air.dew_point(humidity) == pytest.approx(HAPropsSI("D", *state) - ZERO_K, abs=0.1)
    assert oracle_air.wet_bulb_ashrae(air_c, humidity) == pytest.approx(HAPropsSI("B", *state) - ZERO_K, abs=0.15)
    volume = HAPropsSI("V", *state)
    assert air.humid_air_density_ashrae(air_c, humidity) == pytest.approx((1 + humidity) / volume, rel=2e-3)


@pytest.mark.parametrize("air_c", [-20.0, 15.0, 60.0, 107.0, 163.0, 250.0])
def test_air_film_properties_agree_with_coolprop(air_c: float) -> None:
    # dry air of CoolProp 8, after Lemmon and Jacobsen 2004
    state = ("T", air_c + ZERO_K, "P", SEA_LEVEL, "Air")
    assert air.air_viscosity_coesa(air_c) == pytest.approx(PropsSI("V", *state), rel=0.02)
    assert air.air_conductivity_coesa(air_c) == pytest.approx(PropsSI("L", *state), rel=0.02)
    assert air.humid_air_density_ashrae(air_c, 0.0) == pytest.approx(PropsSI("D", *state), rel=1e-3)
    assert oracle_air.heat_capacity_ashrae(0.0) == pytest.approx(PropsSI("C", *state), rel=0.03)


def test_vapour_diffusivity_of_two_sources() -> None:
    for air_c in (0.0, 25.0, 60.0, 100.0):
        reviewed = oracle_air.vapour_diffusivity_massman(air_c, 90e3)
        assert air.vapour_diffusivity_power_law(air_c, 90e3) == pytest.approx(reviewed, rel=0.04)


hot_air = st.floats(15.0, 250.0)
humidity = st.floats(0.002, 0.5)
pressure = st.floats(7e4, 1.05e5)


@given(hot_air, humidity, pressure)
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(air_c: float, ratio: float, pascal: float) -> None:
    dew_c = oracle_air.dew_point(ratio, pascal)
    assume(dew_c < air_c)
    assume(air_c > 20.0 or dew_c > 0.5)
    wet_c = oracle_air.wet_bulb_ashrae(air_c, ratio, pascal)
    assert dew_c - 1e-6 <= wet_c <= air_c
    assert wet_c <= vapour.boiling_point(pascal)


@given(st.floats(5.0, 95.0), pressure)
def test_saturated_air_has_its_own_temperature_as_wet_bulb_and_dew_point(air_c: float, pascal: float) -> None:
    assume(air_c < vapour.boiling_point(pascal) - 5.0)
    ratio = air.humidity_ratio_from_relative_humidity(air_c, 1.0, pascal)
    assert oracle_air.wet_bulb_ashrae(air_c, ratio, pascal) == pytest.approx(air_c, abs=1e-6)
    assert oracle_air.dew_point(ratio, pascal) == pytest.approx(air_c, abs=1e-6)


@given(humidity, pressure)
def test_humidity_ratio_and_vapour_pressure_undo_each_other(ratio: float, pascal: float) -> None:
    there = air.vapour_pressure_from_humidity_ratio(ratio, pascal)
    assert air.humidity_ratio_from_vapour_pressure(there, pascal) == pytest.approx(ratio, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: oracle_air.wet_bulb_ashrae(260.0, 0.01), "air_c = 260 degC is outside the range 0.01 to 250 degC"),
        (lambda: oracle_air.wet_bulb_ashrae(25.0, 0.03), "humidity_ratio = 0.03"),
        (lambda: oracle_air.wet_bulb_ashrae(5.0, 0.0), "below 0.01 degC"),
        (lambda: oracle_air.wet_bulb_ashrae(107.0, -0.01), "humidity_ratio = -0.01"),
        (lambda: oracle_air.wet_bulb_ashrae(107.0, 0.01, 1e3), "pressure_pa = 1000 Pa"),
        (lambda: air.humidity_ratio_from_vapour_pressure(2e5), "vapour_pa = 200000 Pa"),
        (lambda: air.humidity_ratio_from_relative_humidity(20.0, 1.2), "relative_humidity = 1.2"),
        (lambda: oracle_air.dew_point(0.0), "pressure_pa = 0 Pa"),
        (lambda: oracle_air.vapour_diffusivity_massman(120.0), "air_c = 120 degC"),
        (lambda: air.vapour_diffusivity_power_law(300.0), "air_c = 300 degC"),
        (lambda: air.air_viscosity_coesa(-50.0), "air_c = -50 degC"),
        (lambda: air.air_conductivity_coesa(float("nan")), "air_c = nan degC"),
        (lambda: oracle_air.heat_capacity_ashrae(-1.0), "humidity_ratio = -1"),
        (lambda: air.humid_air_density_ashrae(20.0, 0.01, 2e5), "pressure_pa = 200000 Pa"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
