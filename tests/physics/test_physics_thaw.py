"""Thawing against a textbook's worked example, a table value, exact shapes, and a numerical solution of our own."""

from __future__ import annotations

import numpy as np
import pytest

from pitreckon.errors import RangeError
from pitreckon.physics import thaw

WATER, PROTEIN, DENSITY = 0.61, 0.18, 1050.0  # brisket, USDA SR28 NDB 13803


def test_enthalpy_of_lean_beef() -> None:
    # Riedel's table for lean beef of 74.5 % water, from memory: 304 kJ/kg at 0 degC above -40 degC
    assert thaw.enthalpy_chen(0.0, 0.745, 0.21) == pytest.approx(304e3, rel=0.06)
    # continuous where freezing begins
    below, above = (thaw.enthalpy_chen(-1.7 + step, 0.745, 0.21) for step in (-1e-9, 1e-9))
    assert above == pytest.approx(below, rel=1e-6)


@pytest.mark.parametrize(
    ("section", "volume", "dimension"), [(1e6, 1e6, 1.0), (1.0, 1e6, 2.0), (1.0, 1.0, 3.0)], ids=["slab", "rod", "ball"]
)
def test_heat_dimension_of_simple_shapes(section: float, volume: float, dimension: float) -> None:
    # a slab, an endless rod and a ball have 1, 2 and 3 by definition, whatever the Biot number
    for biot in (0.5, 5.0, 50.0):
        assert thaw.heat_dimension_hossain(biot, section, volume) == pytest.approx(dimension, rel=2e-5)


def numerical_s(thickness_m: float, heat_w_m2k: float, around_c: float, conductivity: float) -> float:
    """Time until the middle of a slab is at 0 degC: explicit enthalpy method, 16 cells over half of it."""
    temps = np.linspace(-40.0, 40.0, 4001)
    heats = np.array([thaw.enthalpy_chen(float(t), WATER, PROTEIN) for t in temps])
    cells, frozen_conductivity = 16, 1.4
    width = thickness_m / 2 / cells
    held = np.full(cells, np.interp(-18.0, temps, heats))
    step = 0.4 * width**2 * DENSITY * 1900.0 / frozen_conductivity
    seconds = 0.0
    while True:
        now = np.interp(held, heats, temps)
        if now[-1] >= 0.0:
            return seconds
        ice = np.clip(1.0 - thaw.MEAT_FREEZING_C / np.minimum(now, thaw.MEAT_FREEZING_C), 0.0, 1.0)
        k = conductivity + (frozen_conductivity - conductivity) * ice
        between = 2.0 * k[1:] * k[:-1] / (k[1:] + k[:-1]) * (now[:-1] - now[1:]) / width
        into = (around_c - now[0]) / (1.0 / heat_w_m2k + width / 2 / k[0])
        flow = np.concatenate(([into], between, [0.0]))
        held = held + step * (flow[:-1] - flow[1:]) / width / DENSITY
        seconds += step


@pytest.mark.slow
@pytest.mark.parametrize(
    ("thickness_m", "heat_w_m2k", "around_c"),
    [(0.03, 8.0, 4.0), (0.06, 8.0, 4.0), (0.12, 8.0, 4.0), (0.06, 150.0, 12.0), (0.12, 150.0, 12.0)],
)
def test_cleland_against_a_numerical_solution(thickness_m: float, heat_w_m2k: float, around_c: float) -> None:
    # independent of the equation but for the enthalpy; -10 to +12 % found
    solids = 1.0 - WATER
    melt = thaw.enthalpy_chen(0.0, WATER, PROTEIN) - thaw.enthalpy_chen(-10.0, WATER, PROTEIN)
    thawed, frozen = 4.19 - 2.30 * solids - 0.628 * solids**3, 1.55 + 1.26 * solids
    drive = around_c - thaw.MEAT_FREEZING_C
    found = thaw.thaw_time_cleland(
        *(thickness_m, heat_w_m2k, 0.46, drive, melt * DENSITY),
        *(thawed * 1e3 * DENSITY, frozen * 1e3 * DENSITY, thaw.MEAT_FREEZING_C + 18.0),
    )
    assert found == pytest.approx(numerical_s(thickness_m, heat_w_m2k, around_c, 0.46), rel=0.15)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: thaw.enthalpy_chen(-50.0, 0.7, 0.2), "temp_c = -50"),
        (lambda: thaw.enthalpy_chen(0.0, 0.7, 0.2, 0.0), "freezing_c = 0"),
        (lambda: thaw.thaw_time_cleland(0.1, 8.0, 0.5, 5.0, 2e8, 3e6, 2e6, 0.0), "below_k = 0"),
        (lambda: thaw.heat_dimension_hossain(1.0, 0.5, 1.0), "section_ratio = 0.5"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
