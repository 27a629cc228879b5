"""Reaction rates against the papers and what Pitreckon's research notes, 5.1, work out from them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon.errors import RangeError
from pitreckon.physics import reaction


@pytest.mark.parametrize(("temp_c", "per_min"), [(60, 0.0270), (63, 0.0687), (65, 0.127), (70, 0.571)])
def test_myoglobin(temp_c: float, per_min: float) -> None:
    # computed from Geileskey 1998
    assert reaction.myoglobin_denaturation_rate_geileskey(temp_c) * 60.0 == pytest.approx(per_min, rel=6e-3)


@pytest.mark.parametrize(("temp_c", "minutes"), [(60, 98.0), (70, 4.7)])
def test_myoglobin_93_percent(temp_c: float, minutes: float) -> None:
    rate = reaction.myoglobin_denaturation_rate_geileskey(temp_c)
    assert reaction.remaining_first_order(rate, minutes * 60.0) == pytest.approx(0.07, abs=0.003)


@pytest.mark.parametrize(("temp_c", "per_min"), [(60, 0.0072), (65, 0.027), (70, 0.10), (75, 0.35), (80, 1.2)])
def test_actin_unsalted(temp_c: float, per_min: float) -> None:
    # 0.10 at 70 degC seen in Kajitani 2011, the others computed with its 250 kJ/mol
    assert reaction.actin_denaturation_rate_kajitani(temp_c) * 60.0 == pytest.approx(per_min, rel=0.03)


def test_actin_salted() -> None:
    # Kajitani 2011: 1.75 per minute at 40 mg/g and 70 degC
    assert reaction.actin_denaturation_rate_kajitani(70.0, 40.0) * 60.0 == pytest.approx(1.75)
    between = reaction.actin_denaturation_rate_kajitani(70.0, 21.0) * 60.0
    assert between == pytest.approx((0.10 * 1.75) ** 0.5)


@pytest.mark.parametrize(("temp_c", "minutes"), [(54, 161), (56, 42), (58, 11), (60, 2.9), (62, 0.8)])
def test_collagen_shrink(temp_c: float, minutes: float) -> None:
    # 11 min at 58 degC seen in Machlik and Draudt 1963, the others computed with Bertola's 604.6 kJ/mol
    rate = reaction.collagen_shrink_rate_bertola(temp_c)
    assert reaction.half_life(rate) / 60.0 == pytest.approx(minutes, rel=0.04)


def test_collagen_shrink_fits_the_shear_minimum() -> None:
    # Machlik and Draudt 1963: shear is least after 30 to 40 min at 60 to 64 degC
    assert reaction.remaining_first_order(reaction.collagen_shrink_rate_bertola(60.0), 1800.0) < 0.01


@pytest.mark.parametrize(("temp_c", "per_s"), [(55, 6.4e-3), (60, 5.9e-2), (65, 0.51)])
def test_coagulation(temp_c: float, per_s: float) -> None:
    # computed from Jacques 2006 for an enthalpy of 400 kJ/mol
    assert reaction.coagulation_rate_jacques(temp_c) == pytest.approx(per_s, rel=0.02)


@pytest.mark.parametrize(
    ("kilojoule", "z_k"), [(100, 22.6), (150, 15.0), (200, 11.3), (290, 7.8), (362, 6.2), (605, 3.7)]
)
def test_z_values(kilojoule: float, z_k: float) -> None:
    # computed at 70 degC
    assert reaction.z_value(kilojoule * 1e3, 70.0) == pytest.approx(z_k, abs=0.061)


def test_kerth_tie() -> None:
    # Pitreckon's research notes, 10: a climb of 1.5 h makes about 300 kJ/mol, one of 2.5 h about 80
    assert reaction.activation_from_rates(2.0, 85.0, 87.5) == pytest.approx(300e3, rel=0.02)
    assert reaction.activation_from_rates(1.2, 85.0, 87.5) == pytest.approx(80e3, rel=0.03)


@given(st.floats(20.0, 200.0), st.floats(20.0, 200.0), st.floats(1e4, 5e5))
def test_arrhenius_forth_and_back(temp_c: float, ref_c: float, activation: float) -> None:
    there = reaction.rate_arrhenius(temp_c, 1e-3, ref_c, activation)
    if there <= reaction.MOST_RATE:
        assert reaction.rate_arrhenius(ref_c, there, temp_c, activation) == pytest.approx(1e-3)


def test_rates_to_be_fitted_keep_their_reference() -> None:
    assert reaction.collagen_to_gelatin_rate(85.0, 2e-4) == pytest.approx(2e-4)


def test_sugar_browns_by_its_onset_and_not_when_wet() -> None:
    assert reaction.browning_speed(160.0, 160.0, 120e3) == pytest.approx(1.0)
    assert reaction.browning_speed(160.0, 160.0, 120e3, dryness=0.0) == 0.0
    hotter = reaction.browning_speed(98.0, 88.0, 125e3)
    # ten kelvins and 125 kJ/mol, about 3.1 (z 20 K)
    assert hotter == pytest.approx(10 ** (10 / reaction.z_value(125e3, 93.0)), rel=0.01)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: reaction.rate_arrhenius(300.0, 1.0, 60.0, 1e5), "temp_c = 300 degC"),
        (lambda: reaction.rate_arrhenius(60.0, -1.0, 60.0, 1e5), "rate_ref_per_s = -1"),
        (lambda: reaction.rate_arrhenius(60.0, 1.0, 60.0, 2e6), "activation_j_mol = 2e+06"),
        (lambda: reaction.half_life(0.0), "rate_per_s = 0"),
        (lambda: reaction.z_value(0.0, 70.0), "activation_j_mol = 0"),
        (lambda: reaction.activation_from_rates(2.0, 85.0, 85.0), "hot_c - cold_c = 0"),
        (lambda: reaction.collagen_shrink_rate_bertola(66.0), "temp_c = 66 degC"),
        (lambda: reaction.collagen_to_gelatin_rate(130.0, 1e-4), "temp_c = 130 degC"),
        (lambda: reaction.actin_denaturation_rate_kajitani(70.0, 1.0), "salt_mg_g = 1 mg/g"),
        (lambda: reaction.myoglobin_denaturation_rate_geileskey(101.0), "temp_c = 101 degC"),
        (lambda: reaction.coagulation_rate_jacques(20.0), "temp_c = 20 degC"),
        (lambda: reaction.remaining_first_order(1.0, -1.0), "seconds = -1 s"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
