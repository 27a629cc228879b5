"""Nusselt laws against the library ht 1.2, coefficients against Pitreckon's research notes."""

from __future__ import annotations

import pytest
from ht.conv_external import Nu_cylinder_Churchill_Bernstein
from ht.conv_free_immersed import (
    Nu_horizontal_cylinder_Churchill_Chu,
)

from pitreckon.errors import RangeError
from pitreckon.physics import convection


@pytest.mark.parametrize("prandtl", [0.68, 0.70, 0.72, 5.0])
@pytest.mark.parametrize("rayleigh", [1e-3, 1.0, 1e3, 1e5, 1e6, 1e8, 1e10])
def test_still_air_agrees_with_ht(rayleigh: float, prandtl: float) -> None:
    grashof = rayleigh / prandtl
    assert convection.nusselt_free_cylinder_churchill_chu(rayleigh, prandtl) == pytest.approx(
        Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof), rel=1e-12
    )


@pytest.mark.parametrize("reynolds", [1.0, 100.0, 6071.0, 1e5, 1e6])
def test_moving_air_agrees_with_ht(reynolds: float) -> None:
    assert convection.nusselt_forced_cylinder_churchill_bernstein(reynolds, 0.7) == pytest.approx(
        Nu_cylinder_Churchill_Bernstein(reynolds, 0.7), rel=1e-12
    )


@pytest.mark.parametrize(
    ("diameter_m", "expected"),
    # Pitreckon's research notes, 3.1 (computed): 107 degC air, 57 degC surface
    [(0.03, 6.8), (0.05, 6.1), (0.10, 5.4), (0.15, 5.2)],
)
def test_still_pit(diameter_m: float, expected: float) -> None:
    found = convection.convection_free_cylinder(diameter_m, 107.0, 57.0)
    assert found == pytest.approx(expected, abs=0.1)
    # the law knows only the size of the difference, the film only the mean
    assert found == convection.convection_free_cylinder(diameter_m, 57.0, 107.0)


@pytest.mark.parametrize(
    ("diameter_m", "speed", "expected"),
    # Pitreckon's research notes, 3.1 (computed)
    [
        (0.10, 0.2, 4.7),
        (0.10, 0.5, 7.4),
        (0.10, 1.0, 10.7),
        (0.10, 2.0, 15.6),
        (0.03, 0.2, 8.6),
        (0.03, 0.5, 13.5),
        (0.03, 1.0, 19.1),
        (0.03, 2.0, 27.3),
    ],
)
def test_draughty_pit(diameter_m: float, speed: float, expected: float) -> None:
    found = convection.convection_forced_cylinder(diameter_m, speed, 107.0, 57.0)
    assert found == pytest.approx(expected, rel=0.015)


def test_prandtl_number_of_air() -> None:
    # CoolProp 8, dry air at 80 degC: 0.70
    from CoolProp.CoolProp import PropsSI

    expected = PropsSI("PRANDTL", "T", 353.15, "P", 101325.0, "Air")
    assert convection.air_film(107.0, 53.0).prandtl == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: convection.nusselt_free_cylinder_churchill_chu(1e13, 0.7), "rayleigh = 1e+13"),
        (lambda: convection.nusselt_forced_cylinder_churchill_bernstein(0.1, 0.7), "reynolds = 0.1"),
        (lambda: convection.convection_free_cylinder(0.0, 107.0, 57.0), "diameter_m = 0 m"),
        (lambda: convection.convection_free_cylinder(0.1, 57.0, 57.0), "rayleigh = 0"),
        (lambda: convection.convection_forced_cylinder(0.1, -1.0, 107.0, 57.0), "speed_m_s = -1 m/s"),
        (lambda: convection.air_film(300.0, 50.0), "air_c = 300 degC"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
