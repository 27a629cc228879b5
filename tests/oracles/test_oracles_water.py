"""Water in meat against Pitreckon's research notes and CoolProp."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import water

from pitreckon.errors import RangeError


@pytest.mark.parametrize(
    ("temp_c", "capacity"),
    # Pitreckon's research notes, 2.1 (computed from the constants of Feyissa 2009)
    [
        (20, 0.7450),
        (45, 0.7430),
        (50, 0.7382),
        (55, 0.7223),
        (60, 0.6768),
        (65, 0.5855),
        (70, 0.4862),
        (80, 0.4092),
        (90, 0.4008),
    ],
)
def test_holding_capacity(temp_c: float, capacity: float) -> None:
    assert water.holding_capacity_van_der_sman(temp_c) == pytest.approx(capacity, abs=6e-5)


@pytest.mark.parametrize(
    ("temp_c", "kilopascal"),
    # Pitreckon's research notes, 2.1 (computed)
    [(20, 12.0), (50, 15.9), (55, 27.1), (60, 53.5), (65, 79.9), (70, 91.1)],
)
def test_elastic_modulus(temp_c: float, kilopascal: float) -> None:
    assert water.elastic_modulus_feyissa(temp_c) / 1e3 == pytest.approx(kilopascal, abs=0.051)


def test_elastic_modulus_brackets_measured_stiffness() -> None:
    # Ishiwatari, Fukuoka, Sakai 2013: under 14 kPa with myosin gone, 60 kPa with actin gone
    assert water.elastic_modulus_feyissa(40.0) < 14e3
    assert water.elastic_modulus_feyissa(62.0) > 60e3


@pytest.mark.parametrize("temp_c", [1.0, 10.0, 25.0, 40.0, 60.0, 80.0, 99.0])
def test_viscosity_agrees_with_iapws_in_coolprop(temp_c: float) -> None:
    expected = PropsSI("V", "T", temp_c + 273.15, "P", 101325.0, "Water")
    assert water.water_viscosity_kestin(temp_c) == pytest.approx(expected, rel=5e-3)


def test_darcy_coefficient_is_the_quotient() -> None:
    viscosity = PropsSI("V", "T", 343.15, "P", 101325.0, "Water")  # CoolProp 8
    found = water.darcy_transport_coefficient(70.0, 1e-18)
    assert found == pytest.approx(1e-18 * 91.1e3 / viscosity, rel=3e-3)


@given(st.floats(0.0, 149.0), st.floats(0.01, 1.0))
def test_hotter_meat_holds_no_more_and_is_no_softer(temp_c: float, step: float) -> None:
    hotter = temp_c + step
    assert water.holding_capacity_van_der_sman(hotter) <= water.holding_capacity_van_der_sman(temp_c)
    assert water.elastic_modulus_feyissa(hotter) >= water.elastic_modulus_feyissa(temp_c)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: water.holding_capacity_van_der_sman(-5.0), "temp_c = -5 degC"),
        (lambda: water.elastic_modulus_feyissa(200.0), "temp_c = 200 degC"),
        (lambda: water.water_viscosity_kestin(151.0), "-2 to 150 degC"),
        (lambda: water.darcy_transport_coefficient(60.0, 1.0), "permeability_m2 = 1 m2"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
