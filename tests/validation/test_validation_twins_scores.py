"""Scores of the twins against closed forms, scipy and plain sums."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats
from validation.twins import baselines, scores

NORMAL = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
EVEN = np.ones(NORMAL.size)


@pytest.mark.parametrize("truth", [-2.0, 0.0, 0.7, 3.0])
def test_crps_of_a_normal_forecast_is_the_closed_form(truth):
    """Gneiting and others' form: y (2 Phi(y) - 1) + 2 phi(y) - 1/sqrt(pi)."""
    exact = truth * (2 * stats.norm.cdf(truth) - 1) + 2 * stats.norm.pdf(truth) - 1 / np.sqrt(np.pi)
    assert scores.crps(NORMAL, EVEN, truth) == pytest.approx(exact, abs=2e-3)


@pytest.mark.parametrize("truth", [0.1, 1.0, 4.0])
def test_crps_of_an_exponential_forecast_is_the_integral_of_its_square(truth):
    values = stats.expon.ppf((np.arange(4000) + 0.5) / 4000)
    below = integrate.quad(lambda x: stats.expon.cdf(x) ** 2, 0.0, truth)[0]
    above = integrate.quad(lambda x: stats.expon.sf(x) ** 2, truth, np.inf)[0]
    assert scores.crps(values, np.ones(4000), truth) == pytest.approx(below + above, rel=3e-3)


some = st.lists(st.tuples(st.floats(-100.0, 100.0), st.floats(0.01, 1.0)), min_size=1, max_size=12)


@given(some, st.floats(-100.0, 100.0))
def test_crps_is_the_double_sum(pairs, truth):
    x, w = (np.array(column) for column in zip(*pairs, strict=True))
    w = w / w.sum()
    plain = np.sum(w * np.abs(x - truth)) - 0.5 * np.sum(np.outer(w, w) * np.abs(x[:, None] - x[None, :]))
    assert scores.crps(x, w, truth) == pytest.approx(plain, abs=1e-9)


@given(some, st.floats(-100.0, 100.0))
def test_a_weight_is_as_good_as_copies(pairs, truth):
    x = np.array([value for value, _ in pairs])
    copies = np.arange(x.size) % 3 + 1
    once = scores.crps(x, copies.astype(float), truth)
    assert once == pytest.approx(scores.crps(np.repeat(x, copies), np.ones(copies.sum()), truth), abs=1e-9)


def test_never_counts_as_the_cap_and_costs_more_the_likelier_it_is():
    given_up = [scores.crps(np.array([1.0, never]), np.array([0.7, 0.3]), 1.0, cap=11.0) for never in (np.nan, 50.0)]
    assert given_up == pytest.approx([0.3 * 0.3 * 10.0] * 2)
    assert scores.crps(np.array([1.0, np.nan]), np.array([0.3, 0.7]), 1.0, cap=11.0) > given_up[0]
    assert scores.crps(np.array([1.0, np.nan]), np.array([1.0, 0.0]), 1.0, cap=11.0) == 0.0


def test_quantiles_are_scipys_middle_ones():
    rng = np.random.default_rng(1)
    x = rng.gamma(2.0, size=301)
    levels = [0.05, 0.25, 0.5, 0.95]
    ours = [scores.quantile(x, np.ones(x.size), level) for level in levels]
    assert ours == pytest.approx(np.quantile(x, levels, method="hazen"))


def test_a_quantile_in_the_share_that_never_gets_there_has_no_end():
    x, w = np.array([2.0, np.nan, 1.0]), np.array([0.4, 0.2, 0.4])
    assert scores.quantile(x, w, 0.95) == np.inf
    assert 1.0 < scores.quantile(x, w, 0.5) < 2.0
    assert scores.quantile(np.full(3, np.nan), np.ones(3), 0.05) == np.inf


def test_places_of_an_honest_forecast_are_even_and_of_a_late_one_are_not():
    rng = np.random.default_rng(2)
    forecasts = rng.normal(0.0, 1.0, (2000, 50))
    truths = rng.normal(0.0, 1.0, 2000)
    honest = np.array([scores.place(f, np.ones(50), t) for f, t in zip(forecasts, truths, strict=True)])
    late = np.array([scores.place(f + 0.5, np.ones(50), t) for f, t in zip(forecasts, truths, strict=True)])
    assert stats.chisquare(scores.histogram(honest)).pvalue > 1e-3
    assert stats.chisquare(scores.histogram(late)).pvalue < 1e-9
    assert scores.histogram(honest).sum() == 2000
    assert scores.place(np.array([1.0, np.nan]), np.ones(2), 3.0) == 0.5


def test_a_baseline_gets_the_errors_of_the_others_and_never_its_own():
    guess = np.full(8, 10.0)
    truth = np.array([11.0, 12.0, 13.0, 14.0, 15.0, 16.0, 17.0, np.nan])
    samples = baselines.of_others(guess, truth, ["a"] * 8, ["b"] * 8)
    for i in range(7):
        assert sorted(samples[i]) == pytest.approx([t for j, t in enumerate(truth[:7]) if j != i])
    assert samples[7].size == 0


def test_a_small_group_takes_the_errors_of_its_wider_one():
    guess, truth = np.full(9, 10.0), np.arange(11.0, 20.0)
    samples = baselines.of_others(guess, truth, ["few"] * 2 + ["many"] * 7, ["all"] * 9)
    assert samples[0].size == 8
    assert samples[8].size == 6


def test_a_baseline_is_not_held_to_what_is_past():
    early = np.linspace(10.0, 30.0, 21)
    assert baselines.score_after(early, 25.0, 27.0, 100.0) < baselines.score_after(early, 0.0, 27.0, 100.0)
    assert np.isfinite(baselines.score_after(early, 40.0, 45.0, 100.0))
    assert np.isnan(baselines.score_after(np.zeros(0), 40.0, 45.0, 100.0))
