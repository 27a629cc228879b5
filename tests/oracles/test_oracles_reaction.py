"""Reaction rates against the papers and what Pitreckon's research notes, 5.1, work out from them."""

from __future__ import annotations

from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.oracles import reaction

from pitreckon.errors import RangeError


@pytest.mark.parametrize(("temp_c", "minutes"), [(54, 161), (56, 42), (58, 11), (60, 2.9), (62, 0.8)])
def test_collagen_shrink(temp_c: float, minutes: float) -> None:
    # 11 min at 58 degC seen in Machlik and Draudt 1963, the others computed with Bertola's 604.6 kJ/mol
    rate = reaction.collagen_shrink_rate_bertola(temp_c)
    assert log(2.0) / rate / 60.0 == pytest.approx(minutes, rel=0.04)


def test_collagen_shrink_fits_the_shear_minimum() -> None:
    # Machlik and Draudt 1963: shear is least after 30 to 40 min at 60 to 64 degC
    assert exp(-reaction.collagen_shrink_rate_bertola(60.0) * 1800.0) < 0.01


@given(st.floats(20.0, 200.0), st.floats(20.0, 200.0), st.floats(1e4, 5e5))
def test_arrhenius_forth_and_back(temp_c: float, ref_c: float, activation: float) -> None:
    there = reaction.rate_arrhenius(temp_c, 1e-3, ref_c, activation)
    if there <= reaction.MOST_RATE:
        assert reaction.rate_arrhenius(ref_c, there, temp_c, activation) == pytest.approx(1e-3)


def test_sugar_browns_by_its_onset_and_not_when_wet() -> None:
    assert reaction.browning_speed(160.0, 160.0, 120e3) == pytest.approx(1.0)
    assert reaction.browning_speed(160.0, 160.0, 120e3, dryness=0.0) == 0.0
    hotter = reaction.browning_speed(98.0, 88.0, 125e3)
    # ten kelvins and 125 kJ/mol, about 3.1 (z 20 K)
    z_k = log(10.0) * 8.314 * (93.0 + 273.15) ** 2 / 125e3
    assert hotter == pytest.approx(10 ** (10 / z_k), rel=0.01)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: reaction.rate_arrhenius(300.0, 1.0, 60.0, 1e5), "temp_c = 300 degC"),
        (lambda: reaction.rate_arrhenius(60.0, -1.0, 60.0, 1e5), "rate_ref_per_s = -1"),
        (lambda: reaction.rate_arrhenius(60.0, 1.0, 60.0, 2e6), "activation_j_mol = 2e+06"),
        (lambda: reaction.collagen_shrink_rate_bertola(66.0), "temp_c = 66 degC"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
