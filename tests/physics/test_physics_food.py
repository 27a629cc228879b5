"""Heat properties of food against tables of the component polynomials and of whole cuts."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import food as oracle_food

from pitreckon.errors import RangeError
from pitreckon.physics import food

DATA = Path(__file__).parent / "data"

# Pitreckon's research notes, 1.2 (computed from Choi and Okos 1986):
# k, cp in kJ/(kg K), rho at 0, 20, 60, 100 degC
COMPONENTS = {
    "water": [
        (0.57109, 4.1762, 997.18),
        (0.60366, 4.1766, 995.74),
        (0.65271, 4.1905, 983.84),
        (0.68030, 4.2218, 959.92),
    ],
    "protein": [
        (0.17881, 2.0082, 1329.90),
        (0.20164, 2.0319, 1319.53),
        (0.24077, 2.0760, 1298.80),
        (0.27121, 2.1160, 1278.06),
    ],
    "fat": [
        (0.18071, 1.9842, 925.59),
        (0.17512, 2.0117, 917.24),
        (0.16351, 2.0553, 900.54),
        (0.15133, 2.0835, 883.83),
    ],
    "ash": [
        (0.32962, 1.0926, 2423.80),
        (0.35648, 1.1289, 2418.19),
        (0.40322, 1.1927, 2406.96),
        (0.44066, 1.2447, 2395.74),
    ],
}
CASES = [
    (name, temp_c, *values)
    for name, table in COMPONENTS.items()
    for temp_c, values in zip((0.0, 20.0, 60.0, 100.0), table, strict=True)
]


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize(("name", "temp_c", "k", "cp", "rho"), CASES)
def test_component_table(name: food.Component, temp_c: float, k: float, cp: float, rho: float) -> None:
    assert food.conductivity_choi_okos(name, temp_c) == pytest.approx(k, abs=6e-6)
    assert food.heat_capacity_choi_okos(name, temp_c) / 1e3 == pytest.approx(cp, abs=6e-5)
    assert food.density_choi_okos(name, temp_c) == pytest.approx(rho, abs=0.011)


@pytest.mark.parametrize(
    ("name", "rho"),
    # an independent public table of densities at 20 degC, quoted in Pitreckon's research notes, 1.2
    [("water", 995.74), ("protein", 1319.53), ("fat", 917.23), ("carbohydrate", 1592.89), ("ash", 2418.18)],
)
def test_density_table_at_20(name: food.Component, rho: float) -> None:
    assert food.density_choi_okos(name, 20.0) == pytest.approx(rho, abs=0.015)


@pytest.mark.parametrize("temp_c", [1.0, 20.0, 50.0, 80.0, 99.0])
def test_component_water_is_water(temp_c: float) -> None:
    # CoolProp 8, IAPWS-95. The other printing of the constant, 4.1289 kJ/(kg K), misses by 1.2 %.
    state = ("T", temp_c + 273.15, "P", 101325.0, "Water")
    assert food.heat_capacity_choi_okos("water", temp_c) == pytest.approx(PropsSI("C", *state), rel=0.01)
    assert food.conductivity_choi_okos("water", temp_c) == pytest.approx(PropsSI("L", *state), rel=0.03)
    assert food.density_choi_okos("water", temp_c) == pytest.approx(PropsSI("D", *state), rel=5e-3)
    if temp_c == 20.0:
        assert abs(4128.9 + 5.4731e-3 * 400 - PropsSI("C", *state)) > 0.01 * PropsSI("C", *state)


def test_supercooled_water_and_ice_have_their_own_constants() -> None:
    # ASHRAE table as in Pitreckon's research notes, 1.1
    assert food.heat_capacity_choi_okos("water", -10.0) == pytest.approx(4081.7 + 53.062 + 99.516, abs=0.01)
    assert food.conductivity_choi_okos("ice", -20.0) == pytest.approx(2.2196 + 0.124978 + 0.040616, abs=1e-5)


@pytest.mark.parametrize("row", rows("cut_properties.csv"), ids=lambda row: f"{row['ndb']}-{row['temp_c']}")
def test_whole_cuts(row: dict[str, str]) -> None:
    value = {name: float(text) for name, text in row.items() if name not in {"ndb", "cut"}}
    cut = food.Composition(value["water"], value["protein"], value["fat"], ash=value["ash"])
    temp_c = value["temp_c"]
    parallel, dens = oracle_food.conductivity_parallel(cut, temp_c), food.density(cut, temp_c)
    assert dens == pytest.approx(value["density"], abs=0.06)
    assert food.heat_capacity(cut, temp_c) / 1e3 == pytest.approx(value["heat_capacity"], abs=6e-4)
    assert parallel == pytest.approx(value["k_parallel"], abs=6e-5)
    assert oracle_food.conductivity_series(cut, temp_c) == pytest.approx(value["k_series"], abs=6e-5)
    assert food.conductivity(cut, temp_c) == pytest.approx(value["k_maxwell"], abs=6e-5)
    alpha = parallel / dens / food.heat_capacity(cut, temp_c)
    assert alpha * 1e7 == pytest.approx(value["alpha_parallel"], abs=6e-4)


@st.composite
def meats(draw: st.DrawFn) -> food.Composition:
    water = draw(st.floats(0.05, 0.8))
    fat = draw(st.floats(0.0, 0.9 - water)) if water < 0.9 else 0.0
    return food.Composition(water, 0.99 - water - fat, fat, ash=0.01)


@given(meats(), st.floats(0.0, 150.0))
def test_conductivity_lies_between_the_bounds(meat: food.Composition, temp_c: float) -> None:
    low, high = oracle_food.conductivity_series(meat, temp_c), oracle_food.conductivity_parallel(meat, temp_c)
    assert low - 1e-12 <= food.conductivity(meat, temp_c) <= high + 1e-12


@given(meats(), st.floats(-40.0, 150.0))
def test_volume_fractions_add_up(meat: food.Composition, temp_c: float) -> None:
    assert sum(food.volume_fractions(meat, temp_c).values()) == pytest.approx(1.0, abs=1e-12)


def test_pure_fat_and_no_fat() -> None:
    fat = food.Composition(0.0, 0.0, 1.0)
    assert food.conductivity(fat, 20.0) == food.conductivity_choi_okos("fat", 20.0)
    lean = food.Composition(0.75, 0.24, 0.0, ash=0.01)
    assert food.conductivity(lean, 20.0) == pytest.approx(oracle_food.conductivity_parallel(lean, 20.0))


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: food.Composition(0.6, 0.2, 0.1), "sum of mass fractions = 0.9"),
        (lambda: food.Composition(0.7, 0.3, 0.1), "sum of mass fractions = 1.1"),
        (lambda: food.Composition(1.1, 0.0, -0.1), "water = 1.1"),
        (lambda: food.Composition(0.9, 0.2, -0.1), "fat = -0.1"),
        (lambda: food.Composition(0.0, 0.0, 1.0).water_per_dry, "fat_free_dry = 0"),
        (lambda: food.conductivity_choi_okos("water", 151.0), "temp_c = 151 degC"),
        (lambda: food.density_choi_okos("bone", 20.0), "component = 'bone'"),  # type: ignore[arg-type]
        (lambda: food.conductivity_maxwell_eucken(0.5, 0.2, 1.5), "dispersed_share = 1.5"),
        (lambda: food.conductivity_maxwell_eucken(0.0, 0.2, 0.5), "continuous = 0"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
