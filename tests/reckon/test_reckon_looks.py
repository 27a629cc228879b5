"""Likelihoods of looks and of a probe's record: chances that add up, errors that hang together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import multivariate_t, norm
from supper import at

from pitreckon.cook.looks import BIAS_STEP, KINDS, RANDOM_STEP, SCALES
from pitreckon.ledger import Reading
from pitreckon.reckon.looks import (
    TAIL_DEGREES,
    measured_log_likelihood,
    spot_log_likelihood,
    word_chance,
    words_log_likelihood,
)
from pitreckon.reckon.measures import MEASURES
from pitreckon.reckon.prepare import NOT_YET
from pitreckon.reckon.proberecord import MOST, Stretch, probe_record

levels = st.floats(0.0, 1.5)


@pytest.mark.parametrize("scale", SCALES)
@given(level=levels)
def test_some_word_is_always_said(scale, level):
    total = sum(float(word_chance(scale, value, np.array([level]))[0]) for value in SCALES[scale].values())
    assert total == pytest.approx(1.0)


def test_every_look_has_its_measure_a_scale_or_a_quantity_and_an_error():
    assert len(KINDS) >= 6
    for kind in KINDS:
        if kind.of_instrument:  # of a thermometer, not of the meat
            assert not kind.measure, kind.name
            continue
        if kind.of_pit or kind.name == NOT_YET:  # of the pit, or of what the cook thinks
            assert not kind.measure, kind.name
            assert bool(kind.scale) != (kind.quantity is not None), kind.name
            continue
        assert kind.measure in MEASURES, kind.name
        assert bool(kind.scale) != (kind.quantity is not None), kind.name
        assert kind.errors.each > 0.0, kind.name
        if kind.scale:
            levels = list(kind.scale.values())
            assert levels == sorted(levels)
            assert min(levels) == 0.0
            assert 1.0 in levels
        else:
            assert kind.range[0] < kind.range[1]


def test_one_word_with_the_cooks_bias_against_quadrature():
    level = np.array([0.7])

    def at_bias(b):
        return norm.pdf(b) * float(word_chance("colour", 0.8, level + BIAS_STEP * b)[0])

    exact = quad(at_bias, -8, 8)[0]
    assert np.exp(words_log_likelihood("colour", [0.8], level[None])[0]) == pytest.approx(exact, rel=0.01)


def test_a_cook_who_saw_it_dark_once_sees_it_dark_again():
    """Two looks by one cook say less than two by different cooks."""
    level = np.linspace(0.2, 1.1, 200)
    one = words_log_likelihood("colour", [0.8], level[None])
    same_cook = words_log_likelihood("colour", [0.8, 0.8], np.stack([level, level]))

    def width(log_l):
        w = np.exp(log_l - log_l.max())
        w /= w.sum()
        return np.sqrt(w @ (level - w @ level) ** 2)

    assert width(2.0 * one) < width(same_cook) < width(one)


def test_measured_against_a_library():
    """SciPy's multivariate t, up to its constant."""
    covariance = np.array([[4.0, 1.0], [1.0, 2.0]])
    miss = np.random.default_rng(1).normal(0.0, 3.0, (2, 7))
    ours = measured_log_likelihood(miss, covariance)
    theirs = multivariate_t(np.zeros(2), covariance, df=TAIL_DEGREES).logpdf(miss.T)
    np.testing.assert_allclose(ours - ours[0], theirs - theirs[0], rtol=1e-9)


def test_a_tip_off_the_core_is_thought_of():
    """A spot reading a little above the core speaks for a tip further out; below the core it cannot be that."""
    core = 60.0 + np.zeros(3)
    places = np.stack([core, core + 2.0, core + 4.0, core + 8.0, core + 12.0])
    above, below = (spot_log_likelihood(places, value)[0] for value in (66.0, 54.0))
    assert above > below + 1.0


def record(values, first=0.0, every=60.0, what=None):
    return [
        (first + i * every, Reading(at(i * every / 60), "probe", "wings", what, float(v))) for i, v in enumerate(values)
    ]


def air(value_c, hours=6):
    return [(60.0 * i, value_c) for i in range(60 * hours)]


def test_many_readings_are_not_as_many_facts():
    """A reading every second says hardly more than one every ten minutes."""
    slow, fast = (np.interp(np.arange(0, 7200, step), [0, 7200], [20.0, 70.0]) for step in (600, 4))
    sparse, dense = (
        probe_record(record(values, every=step), air(120.0)).stretches[0]
        for values, step in ((slow, 600.0), (fast, 4.0))
    )
    assert dense.at_s.size <= MOST + 1

    def bump(stretch):  # what 3 K too warm throughout costs
        temperatures = np.repeat(stretch.value_c[:, None, None], 5, axis=1) + np.array([0.0, 3.0])
        return np.diff(stretch.log_likelihood(temperatures))[0]

    assert abs(bump(dense)) < 1.5 * abs(bump(sparse)) + 0.3


def test_a_whole_smooth_record_is_one_stretch():
    got = probe_record(record(np.linspace(5.0, 80.0, 200)), air(130.0))
    assert len(got.stretches) == 1
    assert got.notes == ()
    assert got.stretches[0].at_s[-1] == 199 * 60.0


def test_a_probe_that_fell_out_is_seen():
    values = [*np.linspace(5.0, 50.0, 60), 70.0, 95.0, *np.full(60, 118.0)]
    got = probe_record(record(values), air(120.0))
    assert len(got.stretches) == 1
    assert got.stretches[0].at_s[-1] <= 60 * 60.0
    assert any("fallen out" in words for _, words in got.notes)


def test_a_probe_that_was_moved_starts_a_new_stretch():
    values = [*np.linspace(5.0, 50.0, 60), *np.linspace(62.0, 70.0, 30)]
    got = probe_record(record(values), air(120.0))
    first, second = got.stretches
    assert first.value_c.max() <= 50.0
    assert second.value_c.min() >= 62.0
    (note,) = got.notes
    assert note[1] == "jumped: taken as moved to another place"


def test_a_stuck_sensor_is_not_believed():
    values = [*np.linspace(5.0, 40.0, 60), *np.full(90, 40.0)]
    got = probe_record(record(values), air(120.0))
    assert got.stretches[0].at_s[-1] < 62 * 60.0
    assert any("stuck" in words for _, words in got.notes)


def test_the_stall_is_no_stuck_sensor():
    wavy = 71.0 + 0.1 * (np.arange(90) % 3)
    got = probe_record(record([*np.linspace(5.0, 71.0, 90), *wavy]), air(120.0))
    assert got.notes == ()


def test_covariance_of_a_stretch_is_one():
    stretch = Stretch(np.linspace(0, 7200, 12), np.zeros(12))
    assert np.linalg.eigvalsh(stretch.covariance()).min() > 0.0


def test_errors_of_words_make_about_a_step():
    gaps = np.diff(list(SCALES["colour"].values()))
    assert 0.6 * gaps.mean() < np.hypot(RANDOM_STEP, BIAS_STEP) < 1.2 * gaps.mean()
