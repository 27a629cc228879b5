"""Looks and probes: they pull the right way, by an honest amount, and never into a false certainty."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from supper import N, air, at, cook, look, put_on

from pitreckon.ledger import Ledger, Reading
from pitreckon.reckon import reckon
from pitreckon.reckon.forecast import reckon_runs
from pitreckon.reckon.measures import colour_of_level, level_of_colour
from pitreckon.reckon.quantiles import quantiles_of, weighted_quantile
from pitreckon.reckon.update import LEAST_ESS

MANY = 96


def outlook_with(*events, now=40, members=MANY):
    ledger = Ledger.of([put_on(), *air(150.0, 0, 40), *events])
    return reckon(cook(), ledger, now=at(now), members=members).item("wings")


@pytest.fixture(scope="module")
def without():
    return outlook_with()


@pytest.mark.kernel
def test_a_hot_core_means_sooner_and_a_cold_one_later(without):
    core = without.core_c
    hot = outlook_with(look(40, "spot temperature", core.p95))
    cold = outlook_with(look(40, "spot temperature", core.p05))
    assert hot.marks["ready"].p50 < without.marks["ready"].p50 < cold.marks["ready"].p50
    assert hot.core_c.p50 > without.core_c.p50 > cold.core_c.p50


@pytest.mark.kernel
def test_a_spot_temperature_narrows(without):
    seen = outlook_with(look(40, "spot temperature", without.core_c.p50))
    width = without.marks["ready"].p95 - without.marks["ready"].p05
    assert seen.marks["ready"].p95 - seen.marks["ready"].p05 < width
    assert seen.ess < without.ess


@pytest.mark.kernel
def test_darker_than_thought(without):
    pale = outlook_with(look(40, "colour", 0.3))
    dark = outlook_with(look(40, "colour", 1.0))
    assert dark.colour.p50 > pale.colour.p50


@pytest.mark.kernel
@pytest.mark.parametrize("value_c", [-5.0, 109.0])
def test_an_impossible_look_leaves_a_wide_answer(without, value_c):
    odd = outlook_with(look(40, "spot temperature", value_c))
    assert odd.ess >= LEAST_ESS * MANY * 0.99
    assert odd.core_c.p95 - odd.core_c.p05 > 1.0
    assert np.isfinite(odd.marks["ready"].p50)


@pytest.mark.kernel
def test_contradicting_looks_are_tempered():
    fight = [look(40, "spot temperature", v) for v in (30.0, 85.0)] + [look(40, "weight", 0.03)] * 3
    item = outlook_with(*fight)
    assert np.isfinite(item.marks["ready"].p50)
    assert item.ess >= LEAST_ESS * MANY * 0.99


@pytest.mark.kernel
def test_two_thousand_probe_readings_are_not_two_thousand_facts(without):
    core = without.core_c.p50
    few = [Reading(at(m), "probe", "wings", None, core * m / 40) for m in (10, 40)]
    many = [
        Reading(at(10 + i * 30 / 2000), "probe", "wings", None, core * (10 + i * 30 / 2000) / 40) for i in range(2000)
    ]
    crowd, pair = outlook_with(*many), outlook_with(*few)
    assert crowd.ess > 0.5 * pair.ess


@pytest.mark.kernel
def test_weights_sum_to_one_and_count():
    ledger = Ledger.of([put_on(), *air(150.0, 0, 40), look(40, "spot temperature", 60.0)])
    _, runs = reckon_runs(cook(), ledger, now=at(40), members=N)
    w = runs[0].evidence.weights
    assert w.sum() == pytest.approx(1.0)
    assert (w >= 0).all()
    assert runs[0].evidence.ess == pytest.approx(1.0 / np.sum(w**2))


@given(level=st.floats(0.0, 1.3), dark=st.floats(2.0, 40.0))
def test_colour_scale_goes_both_ways(level, dark):
    colour = np.array([colour_of_level(level, dark)])
    assert level_of_colour(colour, np.array([dark]))[0] == pytest.approx(level, abs=1e-6)


@given(st.lists(st.floats(-1e6, 1e6), min_size=3, max_size=40))
def test_equal_weights_give_plain_quantiles(values):
    """Against NumPy's Hazen quantile, which is the same definition for equal weights."""
    v = np.array(values)
    w = np.full(v.size, 1.0 / v.size)
    for level in (0.05, 0.3, 0.5, 0.95):
        assert weighted_quantile(v, w, level) == pytest.approx(np.quantile(v, level, method="hazen"), abs=1e-6)


def test_not_reached_sorts_last():
    spread = quantiles_of(np.array([1.0, 2.0, np.nan, np.nan]), np.full(4, 0.25))
    assert spread.reached == pytest.approx(0.5)
    assert spread.p05 == 1.0
    assert np.isinf(spread.p95)
