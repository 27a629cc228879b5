"""The face of the meat: radiation, evaporation, and where a wet face settles."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from ht.radiation import q_rad
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import air as oracle_air
from tests.oracles import surface as oracle_surface
from tests.oracles import vapour as oracle_vapour

from pitreckon.errors import RangeError
from pitreckon.physics import surface, vapour

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize(("surface_c", "wall_c"), [(57.0, 107.0), (200.0, 25.0), (20.0, 20.0)])
def test_radiation_agrees_with_ht(surface_c: float, wall_c: float) -> None:
    expected = -q_rad(0.9, surface_c + 273.15, wall_c + 273.15)
    found = oracle_surface.radiation_flux_stefan_boltzmann(surface_c, wall_c)
    assert found == pytest.approx(expected, rel=2e-6, abs=1e-9)  # the constant of ht is that of 2010
    per_kelvin = surface.radiation_coefficient(surface_c, wall_c) * (wall_c - surface_c)
    assert per_kelvin == pytest.approx(found, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("wall_c", "surface_c", "expected"),
    # Pitreckon's research notes, 3.2 (computed)
    [(107, 57, 9.2), (107, 70, 9.7), (135, 60, 10.5), (163, 70, 12.3)],
)
def test_linear_radiation(wall_c: float, surface_c: float, expected: float) -> None:
    assert surface.radiation_coefficient(surface_c, wall_c) == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(
    "row",
    rows("wet_surface.csv"),
    ids=lambda row: f"{row['air_c']}-{row['humidity_ratio']}-{row['convection_w_m2k']}",
)
def test_wet_surface_table(row: dict[str, str]) -> None:
    at = oracle_surface.wet_surface(float(row["air_c"]), float(row["humidity_ratio"]), float(row["convection_w_m2k"]))
    assert at.temp_c == pytest.approx(float(row["surface_c"]), abs=0.3)
    assert at.flux_kg_m2_s * 3600.0 == pytest.approx(float(row["flux_kg_m2_h"]), abs=0.0151)


@pytest.mark.parametrize(
    ("air_c", "plateau_c", "convection", "wetness", "flux_kg_m2_h"),
    # Pitreckon's research notes, 3.5 (computed): the skin wetness that holds a plateau in air of 0.015 kg/kg
    [
        (107, 60, 6, 0.37, 1.10),
        (107, 60, 10, 0.28, 1.38),
        (107, 67, 6, 0.22, 0.96),
        (107, 67, 10, 0.16, 1.20),
        (107, 72, 6, 0.15, 0.85),
        (107, 72, 10, 0.11, 1.07),
        (121, 67, 6, 0.30, 1.34),
        (121, 67, 10, 0.23, 1.67),
        (121, 72, 6, 0.21, 1.24),
        (121, 72, 10, 0.16, 1.54),
        (135, 67, 6, 0.40, 1.75),
        (135, 67, 10, 0.30, 2.17),
        (135, 72, 6, 0.28, 1.65),
        (135, 72, 10, 0.21, 2.04),
    ],
)
def test_partly_wet_plateau(
    air_c: float, plateau_c: float, convection: float, wetness: float, flux_kg_m2_h: float
) -> None:
    at = oracle_surface.wet_surface(air_c, 0.015, convection, wetness=wetness)
    assert at.temp_c == pytest.approx(plateau_c, abs=1.0)  # wetness is printed to 0.01
    assert at.flux_kg_m2_s * 3600.0 == pytest.approx(flux_kg_m2_h, rel=0.03)


@pytest.mark.parametrize(
    ("air_c", "plateau_c", "convection", "humidity_ratio"),
    # Pitreckon's research notes, 3.5 (computed): the humidity that holds the same plateau on a fully wet skin
    [
        (107, 60, 6, 0.098),
        (107, 67, 10, 0.191),
        (107, 72, 6, 0.263),
        (121, 67, 6, 0.158),
        (121, 72, 10, 0.259),
    ],
)
def test_humid_plateau(air_c: float, plateau_c: float, convection: float, humidity_ratio: float) -> None:
    assert oracle_surface.wet_surface(air_c, humidity_ratio, convection).temp_c == pytest.approx(plateau_c, abs=0.2)


def test_without_radiation_it_is_the_psychrometric_wet_bulb() -> None:
    # Pitreckon's research notes, 3.4 (computed): 34.3 degC at 107 and 0.0075, 1 K under the thermodynamic one
    at = oracle_surface.wet_surface(107.0, 0.0075, 10.0, emissivity=0.0)
    assert at.temp_c == pytest.approx(34.3, abs=0.3)
    assert at.radiated_w_m2 == 0.0
    assert oracle_air.wet_bulb_ashrae(107.0, 0.0075) - at.temp_c == pytest.approx(1.2, abs=0.4)


def test_film_of_the_notes() -> None:
    # Pitreckon's research notes, 3.3 (computed): 80 degC, h 8: 0.0090 m/s, permeance 5.5e-8 kg/m2 s Pa
    transfer = surface.mass_transfer_lewis(8.0, 80.0)
    assert transfer == pytest.approx(0.0090, abs=6e-5)
    assert surface.vapour_permeance(transfer, 80.0) == pytest.approx(5.5e-8, abs=6e-10)
    reviewed = surface.mass_transfer_lewis(8.0, 80.0, diffusivity_m2_s=oracle_air.vapour_diffusivity_massman(80.0))
    assert reviewed == pytest.approx(transfer, rel=0.03)


def test_stefan_flow_is_more_than_the_plain_difference_and_changes_sign() -> None:
    hot = vapour.saturation_pressure(80.0)
    plain = surface.vapour_permeance(0.01, 90.0) * (hot - 2000.0)
    stefan = oracle_surface.evaporation_flux_stefan(0.01, hot, 2000.0, 90.0)
    assert stefan > 1.2 * plain
    assert oracle_surface.evaporation_flux_stefan(0.01, 2000.0, hot, 90.0) == pytest.approx(-stefan)
    weak = oracle_surface.evaporation_flux_stefan(0.01, 60.0, 40.0, 20.0)
    assert weak == pytest.approx(surface.vapour_permeance(0.01, 20.0) * 20.0, rel=1e-3)


@given(
    st.floats(90.0, 250.0),
    st.floats(0.003, 1.0),
    st.floats(3.0, 40.0),
    st.floats(0.1, 1.0),
    st.floats(0.3, 1.0),
    st.floats(7e4, 1.03e5),
)
def test_wet_surface_balances(
    air_c: float, humidity_ratio: float, convection: float, wetness: float, activity: float, pascal: float
) -> None:
    at = oracle_surface.wet_surface(
        air_c, humidity_ratio, convection, wetness=wetness, water_activity=activity, pressure_pa=pascal
    )
    latent = at.flux_kg_m2_s * oracle_vapour.latent_heat_wagner_pruss(at.temp_c)
    gain = at.convected_w_m2 + at.radiated_w_m2
    assert gain == pytest.approx(latent, rel=1e-4, abs=0.5)
    assert at.temp_c < vapour.saturation_temperature(pascal / activity)


def test_wet_surface_moves_the_right_way() -> None:
    base = oracle_surface.wet_surface(121.0, 0.015, 8.0).temp_c
    assert oracle_surface.wet_surface(135.0, 0.015, 8.0).temp_c > base
    assert oracle_surface.wet_surface(121.0, 0.030, 8.0).temp_c > base
    assert oracle_surface.wet_surface(121.0, 0.015, 20.0).temp_c < base
    assert oracle_surface.wet_surface(121.0, 0.015, 8.0, wall_c=150.0).temp_c > base
    assert oracle_surface.wet_surface(121.0, 0.015, 8.0, water_activity=0.8).temp_c > base
    assert oracle_surface.wet_surface(121.0, 0.015, 8.0, pressure_pa=8e4).temp_c < base


def test_water_activity_of_a_drying_surface() -> None:
    # Oswin's own form: X = b (a/(1-a))^(1/2), turned back
    for activity in (0.1, 0.5, 0.9, 0.99):
        content = 0.15 * (activity / (1.0 - activity)) ** 0.5
        assert oracle_surface.water_activity_oswin(content) == pytest.approx(activity, rel=1e-12)
    assert oracle_surface.water_activity_oswin(0.0) == 0.0
    # raw meat, some 3.4 kg/kg: water activity 0.99 and more
    assert 0.99 < oracle_surface.water_activity_oswin(3.4) < 1.0


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: oracle_surface.radiation_flux_stefan_boltzmann(50.0, 500.0), "wall_c = 500 degC"),
        (lambda: surface.radiation_coefficient(50.0, 100.0, 1.2), "emissivity = 1.2"),
        (lambda: surface.mass_transfer_lewis(-1.0, 80.0), "convection_w_m2k = -1"),
        (lambda: surface.mass_transfer_lewis(8.0, 80.0, diffusivity_m2_s=1.0), "diffusivity_m2_s = 1"),
        (lambda: oracle_surface.evaporation_flux_stefan(0.01, 101325.0, 0.0, 90.0), "surface_vapour_pa = 101325 Pa"),
        (lambda: oracle_surface.evaporation_flux_stefan(0.01, 10.0, -1.0, 90.0), "air_vapour_pa = -1 Pa"),
        (lambda: oracle_surface.water_activity_oswin(-0.1), "water_per_dry = -0.1"),
        (lambda: oracle_surface.wet_surface(260.0, 0.01, 8.0), "air_c = 260 degC"),
        (lambda: oracle_surface.wet_surface(107.0, 0.01, 8.0, wetness=0.0), "wetness = 0"),
        (lambda: oracle_surface.wet_surface(250.0, 0.01, 100.0, wetness=0.001), "no balance"),
        (lambda: surface.vapour_permeance(0.01, 300.0), "film_c = 300 degC"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
