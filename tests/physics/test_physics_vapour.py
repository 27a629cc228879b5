"""Saturation, boiling and latent heat against IAPWS check values and CoolProp (IAPWS-95)."""

from __future__ import annotations

from types import ModuleType

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import vapour as oracle_vapour

from pitreckon.errors import RangeError
from pitreckon.physics import vapour

ZERO_K = 273.15


@pytest.mark.parametrize(
    ("temp_k", "pascal", "slope", "latent_kj"),
    [
        # IAPWS SR1-86 (1992), table 1: p, dp/dT, h'' - h'
        (273.16, 611.657, 44.436693, 2500.5 - 0.000611786),
        (373.1243, 101325.0, 3616.0, 2675.7 - 419.05),
    ],
)
def test_iapws_check_values(temp_k: float, pascal: float, slope: float, latent_kj: float) -> None:
    temp_c = temp_k - ZERO_K
    assert vapour.saturation_pressure_wagner_pruss(temp_c) == pytest.approx(pascal, rel=2e-6)
    assert oracle_vapour.saturation_pressure_slope_wagner_pruss(temp_c) == pytest.approx(slope, rel=2e-4)
    assert oracle_vapour.latent_heat_wagner_pruss(temp_c) / 1e3 == pytest.approx(latent_kj, abs=0.15)


@pytest.mark.parametrize("temp_c", [0.5, 5.0, 20.0, 37.0, 60.0, 80.0, 100.0, 130.0, 180.0, 250.0])
def test_saturation_and_latent_heat_agree_with_iapws_95_in_coolprop(temp_c: float) -> None:
    temp_k = temp_c + ZERO_K
    pascal = PropsSI("P", "T", temp_k, "Q", 0, "Water")
    latent = PropsSI("H", "T", temp_k, "Q", 1, "Water") - PropsSI("H", "T", temp_k, "Q", 0, "Water")
    assert vapour.saturation_pressure(temp_c) == pytest.approx(pascal, rel=1e-4)
    assert oracle_vapour.latent_heat_wagner_pruss(temp_c) == pytest.approx(latent, rel=5e-4)
    assert vapour.saturation_temperature(pascal) == pytest.approx(temp_c, abs=3e-3)


@pytest.mark.parametrize(
    ("temp_c", "pascal"),
    # computed for Pitreckon's research notes, 7.4, from Wagner and Pruss with another program
    [(0.01, 611.66), (20, 2339.2), (25, 3169.8), (50, 12352), (60, 19947), (80, 47416), (100, 101418)],
)
def test_saturation_table(temp_c: float, pascal: float) -> None:
    assert vapour.saturation_pressure(temp_c) == pytest.approx(pascal, rel=5e-5)


@pytest.mark.parametrize(("temp_c", "tolerance"), [(0.0, 3e-4), (60.0, 1e-3), (100.0, 4e-3), (150.0, 1.6e-2)])
def test_straight_line_of_latent_heat_is_as_good_as_it_says(temp_c: float, tolerance: float) -> None:
    exact = oracle_vapour.latent_heat_wagner_pruss(max(temp_c, 0.01))
    assert vapour.latent_heat_linear(temp_c) == pytest.approx(exact, rel=tolerance)


def test_ice_agrees_with_psychrolib(psychro: ModuleType) -> None:
    # ASHRAE's equation 5 (Hyland and Wexler 1983) in psychrolib 2.5
    for temp_c in (-40.0, -20.0, -5.0, -1.0):
        assert vapour.saturation_pressure(temp_c) == pytest.approx(psychro.GetSatVapPres(temp_c), rel=1.5e-3)


@pytest.mark.parametrize(
    ("altitude_m", "kilopascal", "boil_c"),
    # Pitreckon's research notes, 7.5 (computed): standard atmosphere and boiling point
    [
        (0, 101.3, 99.97),
        (300, 97.8, 98.98),
        (500, 95.5, 98.31),
        (1000, 89.9, 96.65),
        (1609, 83.4, 94.62),
        (2000, 79.5, 93.32),
        (2500, 74.7, 91.64),
        (3000, 70.1, 89.97),
    ],
)
def test_altitude(altitude_m: float, kilopascal: float, boil_c: float) -> None:
    assert vapour.pressure_isa(altitude_m) / 1e3 == pytest.approx(kilopascal, abs=0.051)
    pascal = vapour.pressure_isa(altitude_m)
    assert vapour.boiling_point(pascal) == pytest.approx(boil_c, abs=0.0101)
    assert vapour.boiling_point(pascal) == pytest.approx(PropsSI("T", "P", pascal, "Q", 0, "Water") - ZERO_K, abs=3e-3)


@given(st.floats(-59.9, 349.0), st.floats(0.01, 1.0))
def test_saturation_pressure_only_rises(temp_c: float, step: float) -> None:
    assert vapour.saturation_pressure(temp_c + step) > vapour.saturation_pressure(temp_c)


@given(st.floats(-59.0, 349.0))
def test_saturation_temperature_undoes_saturation_pressure(temp_c: float) -> None:
    there = vapour.saturation_pressure(temp_c)
    assert vapour.saturation_temperature(there) == pytest.approx(temp_c, abs=2e-6)


@pytest.mark.parametrize(
    ("law", "value", "named"),
    [
        (vapour.saturation_pressure_wagner_pruss, 0.0, "temp_c = 0 degC"),
        (vapour.saturation_pressure_wagner_pruss, 400.0, "0.01 to 350 degC"),
        (vapour.saturation_pressure_ice_wagner, 0.5, "temp_c = 0.5 degC"),
        (vapour.saturation_pressure, -80.0, "temp_c = -80 degC"),
        (vapour.saturation_pressure, float("nan"), "temp_c = nan degC"),
        (vapour.saturation_temperature, 0.0, "pressure_pa = 0 Pa"),
        (vapour.boiling_point, 5e5, "pressure_pa = 500000 Pa"),
        (vapour.pressure_isa, 9000.0, "altitude_m = 9000 m"),
        (vapour.latent_heat_linear, 151.0, "temp_c = 151 degC"),
    ],
)
def test_out_of_range_names_argument_value_and_range(law, value: float, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        law(value)
    assert named in str(caught.value)
