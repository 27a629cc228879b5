"""Lessons of many houses, pooled: the arithmetic on messages whose answer is known; the page is of the kept rows."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from validation.twins import neighbours, pooled, pooledworth, pooling
from validation.twins.store import Store
from validation.twins.tellings import tellings
from validation.twins.worlds import NAMED, House, truth_of

from pitreckon import catalog
from pitreckon.reckon.levels import ROW, UNKNOWNS, levels_of

FLAT = 1e4
"""A prior so wide that it says nothing."""


def messages(values, sds, *, flat=FLAT):
    """One level, one number in common."""
    n, precision = len(values), np.asarray(sds, float) ** -2
    return pooling.Messages(
        precision[:, None, None],
        (precision * np.asarray(values, float))[:, None],
        np.full((n, 1, 1), flat),
        np.ones((n, 1)),
        np.zeros(1, np.int64),
    )


def test_eight_schools():
    # Gelman and others, Bayesian Data Analysis, 5.5, from memory: all alike 7.7 with a variance of 16.6; with a flat
    # prior of the spread the mean of all is about 8, give or take 5, and the first school's median is about 10.
    values, sds = [28, 8, -3, 7, -1, 1, 18, 12], [15, 10, 16, 11, 9, 11, 10, 18]
    told, one_each = messages(values, sds), np.ones(8)
    mean, covariance, _ = pooling.common_given(told, one_each, np.array([1e-9]))
    assert mean[0] * FLAT == pytest.approx(7.7, abs=0.05)
    assert covariance[0, 0] * FLAT**2 == pytest.approx(16.6, abs=0.1)
    spreads = np.linspace(0.05, 60.0, 800)
    found = [pooling.common_given(told, one_each, np.array([tau**2])) for tau in spreads]
    log = np.array([each[2] for each in found])
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    assert np.argmax(log) == 0  # the likelihood of the spread is highest at none
    means, variances = (
        np.array([field(each) for each in found]) for field in (lambda e: e[0][0], lambda e: e[1][0, 0])
    )
    of_all = weight @ means * FLAT
    assert of_all == pytest.approx(8.0, abs=0.5)
    assert np.sqrt(weight @ (variances + means**2) * FLAT**2 - of_all**2) == pytest.approx(5.0, abs=0.5)
    first = weight @ ((28.0 / 15**2 + means * FLAT / spreads**2) / (15.0**-2 + spreads**-2))
    assert first == pytest.approx(11.0, abs=1.0)


def test_spread_of_equal_messages_is_that_of_the_analysis_of_variance():
    values = np.array([1.0, 4.0, -2.0, 7.0, 3.0, -1.0, 9.0, 2.0])
    found = pooling.pool(messages(values, np.full(8, 1.5)), np.ones(8), factor_sd=1e3)
    assert found.factors[0] == pytest.approx(values.var(ddof=1) - 1.5**2, rel=1e-3)
    assert found.mean[0] * FLAT == pytest.approx(values.mean(), abs=1e-4)
    assert np.sqrt(found.covariance[0, 0]) * FLAT == pytest.approx(values.std(ddof=1) / np.sqrt(8), rel=1e-3)


def test_a_count_is_as_good_as_saying_it_again():
    few, counts = messages([1.0, 5.0, 2.0], [1.0, 2.0, 1.0], flat=3.0), np.array([2.0, 1.0, 3.0])
    again = few.at(np.repeat(np.arange(3), counts.astype(int)))
    one, other = pooling.pool(few, counts, 1.0), pooling.pool(again, np.ones(6), 1.0)
    assert one.mean == pytest.approx(other.mean, abs=1e-5)
    assert one.factors == pytest.approx(other.factors, rel=1e-3)


def test_a_house_far_off_is_doubted_and_bends_the_rest_less():
    values = np.append(np.tile([-1.0, 0.0, 1.0], 10), 60.0)
    told, one_each = messages(values, np.ones(31)), np.ones(31)
    plain, robust = pooling.pool(told, one_each, 0.5), pooling.pool_robustly(told, one_each, 0.5)
    doubt = pooling.doubts(told, plain)
    assert doubt[30] > 10.0
    assert np.all(doubt[:30] == 1.0)
    assert abs(robust.mean[0]) < 0.2 * abs(plain.mean[0])


def test_noise_that_hides_one():
    # Dwork and Roth 2014, theorem A.1, from memory: sqrt(2 ln(1.25 / delta)) bounds over epsilon.
    assert pooling.noise_sd(1.0, 1e-5, 2.0) == pytest.approx(2.0 * 4.8448, rel=1e-4)
    assert pooling.noise_sd(0.1, 1e-5, 2.0) == pytest.approx(20.0 * 4.8448, rel=1e-4)
    with pytest.raises(ValueError, match="epsilon 2"):
        pooling.noise_sd(2.0, 1e-5, 1.0)


@pytest.mark.parametrize("world", ["calibrated", "other"])
def test_houses_of_a_universe_have_their_middle_in_common_and_lie_about_it(world):
    cut, pit = catalog.cut("back-ribs"), catalog.pit("kettle")
    own = levels_of(cut, pit, None, measured=False).own

    def off(house, rng):
        true = truth_of(world, cut, pit, None, rng, house)
        return np.array([true.off(name) for name in UNKNOWNS])

    def middle(universe, number=0):
        return off(neighbours.Neighbour(5, number, "kettle", universe=universe, middle=True), neighbours.Still())

    assert np.array_equal(middle(3, 12), middle(3, 13))
    assert not np.allclose(middle(3), middle(4))
    houses = [neighbours.Neighbour(5, n, "kettle", universe=3) for n in range(12)]
    its_own = [ROW[name] for name in UNKNOWNS if own[ROW[name]] > 1e-6 and name != "scale"]  # that is drawn as geometry
    off_middle = [off(house, np.random.default_rng(n)) - middle(3) for n, house in enumerate(houses)]
    far = (np.array(off_middle) / own)[:, its_own]
    wide = NAMED * (1.0 if world == "calibrated" else 1.5)
    assert abs(far.mean()) < 4.0 * wide / np.sqrt(far.size)
    assert far.std() == pytest.approx(wide, rel=4.0 / np.sqrt(2.0 * far.size))


def test_other_houses_draw_the_sides_of_their_laws_as_they_did():
    drawn = House(1, 2, "kettle").sides(np.random.default_rng(8))
    assert np.array_equal(drawn, np.random.default_rng(8).choice([-1.0, 1.0], 6))


@pytest.fixture(scope="module")
def kept():
    """The rows that the page was made of, by world."""
    name = "pooled-{}-seed-" + f"{pooled.SEED}-members-{pooled.MEMBERS}"
    stores = {world: Store(pooled.FOLDER, name.format(world), neighbours.COLUMNS) for world in pooled.WORLDS}
    rows = {world: store.rows() for world, store in stores.items()}
    assert {world: sorted(of) for world, of in rows.items()} == {key: list(range(pooled.COOKS)) for key in rows}
    return {world: tellings([row for i in sorted(of) for row in of[i]]) for world, of in rows.items()}


def test_the_page_is_of_the_kept_rows(kept):
    page = re.split(f"{re.escape(pooled.BEGIN)}|{re.escape(pooled.END)}", pooled.README.read_text("utf-8"))[1]
    for houses in kept.values():
        for cells in (*pooled.of_one_cook(houses), pooled.of_window(houses), pooled.of_times(houses)):
            assert f"| {' | '.join(cells)} |" in page


def test_a_message_with_the_prior_of_its_levels_is_the_posterior(kept):
    house = next(each for each in kept["calibrated"] if each.value.size > 4)
    at = pooledworth.AT
    precision, weight = house.message(pooledworth.LEVELS)
    covariance = np.linalg.inv(np.linalg.inv(house.prior[np.ix_(at, at)]) + precision)
    mean, whole = house.posterior
    assert covariance == pytest.approx(whole[np.ix_(at, at)], rel=1e-6, abs=1e-9)
    assert covariance @ weight @ house.value == pytest.approx(mean[at], rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("form", ["all lines", "how long it took"])
def test_what_houses_have_in_common_comes_back_where_nothing_else_is_said(kept, form):
    told, _ = pooledworth.sides(kept["calibrated"][:40], form)
    crowd = pooledworth.Crowd.of(told, np.ones(2))
    assert crowd.by_common == pytest.approx(crowd.precision @ told.messages.loads, abs=1e-6)
    silent, common = replace(crowd, by_self=0.0 * crowd.by_self), np.linspace(-1.0, 1.0, told.loads.shape[2])
    counts = np.full(len(told.houses), 1e9)
    nothing = np.zeros(len(UNKNOWNS)), np.zeros(told.messages.own.shape[1])
    got = crowd.pooled(silent.told(common, *nothing, counts, np.random.default_rng(0)), counts)
    told_of = np.einsum("nki,nic->nkc", crowd.precision, told.messages.loads)
    assert told_of @ got.mean == pytest.approx(told_of @ common, rel=1e-3, abs=1e-3)


def test_noise_hides_few_and_leaves_many_as_they_are(kept):
    told, _ = pooledworth.sides(kept["calibrated"][:40], "how long it took")
    alike = np.tile(told.messages.loads.mean(axis=0), (len(told.houses), 1, 1))  # what a kind and cut have in common
    told = replace(told, messages=replace(told.messages, loads=alike))
    crowd = pooledworth.Crowd.of(told, np.ones(1))
    crowd = replace(crowd, by_common=crowd.precision @ alike, by_self=0.0 * crowd.by_self)
    common = np.linspace(-1.0, 1.0, alike.shape[2])
    for count, part in ((1.0, 0.0), (1e7, 1.0)):
        counts, rng = np.full(len(told.houses), count), np.random.default_rng(4)
        vectors = crowd.told(common, np.zeros(len(UNKNOWNS)), np.zeros(1), counts, rng)
        got = crowd.hidden(vectors, counts, 1.0, rng)
        assert alike[0, 0] @ got.mean == pytest.approx(part * alike[0, 0] @ common, rel=1e-2, abs=1e-3)
    assert np.trace(got.covariance) < alike.shape[2] - 0.9
