"""A hand's bias: told by a cook's lines, gathered over cooks, taken off later looks."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy import stats

from pitreckon.reckon.hands import OWN, Bias, HandTold, bias_of, hands_of, told, usual
from pitreckon.reckon.looks import words_log_likelihood

AT = datetime(2026, 9, 5, tzinfo=UTC)
FEEL = ("Ana", "probe feel")
SD = usual("probe feel").sd


def test_what_a_cook_tells_of_a_hand_is_the_exact_posterior_of_its_bias() -> None:
    """Against the joint normal's own conditioning (any textbook's, from memory), by draws: the bias is told unbiased
    and with the right error, and ranks of the truth are uniform.
    """
    rng = np.random.default_rng(7)
    slope = rng.normal(0.0, 0.3, (6, 4))
    mine = np.array([1.0, 1.0, 1.0, 0.0, 0.0, 0.0])
    covariance = 0.1**2 * np.eye(6) + SD**2 * np.outer(mine, mine)
    whose = [FEEL, FEEL, FEEL, None, None, None]
    ranks = []
    for _ in range(1500):
        z, bias = rng.standard_normal(4), rng.normal(0.0, SD)
        seen = slope @ z + bias * mine + rng.normal(0.0, 0.1, 6)
        (found,) = told(whose, slope, seen, covariance)
        precision = 1.0 / SD**2 + 1.0 / found.sd**2
        mean = found.value / found.sd**2 / precision
        ranks.append(stats.norm.cdf((bias - mean) * np.sqrt(precision)))
    # Where all of it is far off, the errors are taken for larger; so the tails are a little short, and never long.
    assert stats.kstest(ranks, "uniform").pvalue > 0.001
    assert 0.85 <= np.mean((np.array(ranks) > 0.05) & (np.array(ranks) < 0.95)) <= 0.95


def test_nobodys_words_and_no_words_tell_nothing() -> None:
    slope, seen = np.ones((2, 1)), np.array([0.3, 0.2])
    covariance = 0.01 * np.eye(2)
    assert told([None, None], slope, seen, covariance) == ()
    assert told([("", "colour"), None], slope, seen, covariance) == ()
    assert told([], np.zeros((0, 1)), np.zeros(0), np.zeros((0, 0))) == ()


def test_many_cooks_make_a_hand_known_as_far_as_it_comes_again() -> None:
    cooks = [(AT + timedelta(days=n), HandTold(*FEEL, 0.12, 0.05)) for n in range(12)]
    known = hands_of(cooks, AT + timedelta(days=12))[FEEL]
    assert 0.08 < known.mean < 0.12
    floor = SD * np.sqrt(1.0 - OWN)
    assert floor < known.sd < 1.15 * floor
    one = hands_of(cooks[:1], AT)[FEEL]
    assert known.sd < one.sd < SD
    assert hands_of([], AT) == {}
    assert bias_of({}, *FEEL) == Bias(0.0, SD)


def test_one_odd_cook_does_not_own_a_hand() -> None:
    good = [(AT + timedelta(days=n), HandTold(*FEEL, 0.0, 0.05)) for n in range(5)]
    odd = (AT + timedelta(days=5), HandTold(*FEEL, 1.5, 0.05))
    known, without = (hands_of(cooks, odd[0])[FEEL] for cooks in ([*good, odd], good))
    assert abs(known.mean - without.mean) < 0.05
    plain = 1.5 * OWN / (1.0 + 5.0 * OWN)  # what it would come to, were it believed like the rest
    assert known.mean < 0.2 * plain


def test_what_is_long_ago_counts_for_less() -> None:
    def sd_after(years: float) -> float:
        return hands_of([(AT, HandTold(*FEEL, 0.1, 0.05))], AT + timedelta(days=365 * years))[FEEL].sd

    assert sd_after(0.0) < sd_after(3.0) < sd_after(20.0) < SD * 1.0001


def test_a_known_hand_is_taken_off_its_words() -> None:
    """One who calls meat more tender than it is says "slides in" (1.0) of meat that is further away from it."""
    levels = np.linspace(0.5, 1.3, 81)[None]
    usual_one = words_log_likelihood("probe feel", [1.0], levels)
    early = words_log_likelihood("probe feel", [1.0], levels, Bias(0.2, 0.08))
    assert levels[0, np.argmax(early)] == pytest.approx(levels[0, np.argmax(usual_one)] - 0.2, abs=0.03)
    assert np.array_equal(usual_one, words_log_likelihood("probe feel", [1.0], levels, usual("probe feel")))
