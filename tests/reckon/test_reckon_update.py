"""The update against closed forms: a linear world, where the answer is known, and what others say of a piece."""

from __future__ import annotations

import numpy as np
import pytest

from pitreckon.reckon.draws import hypercube
from pitreckon.reckon.evidence import Predicted, stacked
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.update import LEAST_ESS, MOST_OFF, Information, LinearObs, Proposal, ess, from_others, weigh

D, N = 6, 4096
NONE = Information.none(D)


def prior(n=N, seed=1):
    rows = hypercube(np.random.default_rng(seed), tuple("abcdef"), n)
    return np.stack(list(rows.values()))


def world(z, slope, value, sd):
    """Numbers seen that are linear in the unknowns."""
    slope = np.atleast_2d(slope)
    value = np.atleast_1d(np.asarray(value, dtype=float))
    names = tuple(("number", float(i)) for i in range(value.size))
    return Predicted(names, value, slope @ z, np.diag(np.broadcast_to(np.square(sd), value.shape).astype(float)))


def gauss(predicted):
    miss = predicted.of_members - predicted.value[:, None]
    return -0.5 * np.einsum("km,kl,lm->m", miss, np.linalg.inv(predicted.covariance), miss)


def exact(slope, value, sd):
    """Posterior mean and covariance of a linear normal world (Bishop 2006, eq. 2.116, from memory)."""
    slope = np.atleast_2d(slope)
    r = np.diag(np.broadcast_to(np.square(sd), (slope.shape[0],)).astype(float))
    gain = slope.T @ np.linalg.inv(slope @ slope.T + r)
    return gain @ np.atleast_1d(value), np.eye(slope.shape[1]) - gain @ slope


def updated(slope, value, sd, n=N):
    z = prior(256)
    first = world(z, slope, value, sd)
    lines = LinearObs.through(z, first, np.full(256, 1 / 256))
    proposal = Proposal.at(Information.of(lines.slope, lines.innovation, lines.covariance))
    moved, ratio = proposal.sample(prior(n, 2), np.random.default_rng(3))
    seen = world(moved, slope, value, sd)
    return moved, weigh(ratio, gauss(seen), seen)


@pytest.mark.parametrize(
    ("slope", "value", "sd"),
    [
        ([1.0, 0, 0, 0, 0, 0], 1.0, 0.3),
        ([1.0, -2.0, 0.5, 0, 0, 0], 3.0, 0.5),
        ([[1.0, 1, 0, 0, 0, 0], [0, 1, -1.0, 0, 0, 2.0]], [1.0, -2.0], 0.2),
    ],
    ids=["one", "several", "two numbers"],
)
def test_a_linear_world_comes_out_exactly(slope, value, sd):
    z, evidence = updated(slope, value, sd)
    mean, covariance = exact(slope, value, sd)
    w = evidence.weights
    got = z @ w
    off = z - got[:, None]
    np.testing.assert_allclose(got, mean, atol=0.08)
    np.testing.assert_allclose((off * w) @ off.T, covariance, atol=0.1)
    assert evidence.tempering_exponent == 1.0
    assert evidence.outliers == ()


def test_aiming_keeps_far_more_members_than_weighing_the_prior():
    slope, value, sd = [2.0, -2.0, 1.0, 0, 0, 0], 6.0, 0.3
    z = prior()
    of_prior = weigh(np.zeros(N), gauss(world(z, slope, value, sd)), world(z, slope, value, sd))
    _, aimed = updated(slope, value, sd)
    assert of_prior.ess_untempered < 0.05 * N
    assert aimed.ess_untempered > 0.4 * N


def test_nothing_seen_leaves_the_prior_alone():
    z = prior(64)
    moved, ratio = Proposal.at(NONE).sample(z, np.random.default_rng(1))
    np.testing.assert_array_equal(moved, z)
    np.testing.assert_array_equal(ratio, 0.0)
    evidence = weigh(ratio, np.zeros(64), stacked([], 64))
    np.testing.assert_allclose(evidence.weights, 1.0 / 64)


def test_weights_are_right_even_when_the_aim_is_bad():
    """The lines only decide how many members count, not what comes out."""
    slope, value, sd = [1.0, 0, 0, 0, 0, 0], 1.0, 0.4
    wrong = Information.of(np.array([[1.0, 0.5, 0, 0, 0, 0]]), np.array([0.2]), np.array([[0.5]]))
    moved, ratio = Proposal.at(wrong).sample(prior(4 * N, 2), np.random.default_rng(3))
    seen = world(moved, slope, value, sd)
    w = weigh(ratio, gauss(seen), seen).weights
    mean, covariance = exact(slope, value, sd)
    np.testing.assert_allclose(moved @ w, mean, atol=0.1)
    assert (moved[0] - mean[0]) ** 2 @ w == pytest.approx(covariance[0, 0], rel=0.2)


def test_contradicting_numbers_lose_force_and_widen():
    slope = [[1.0, 0, 0, 0, 0, 0], [1.0, 0, 0, 0, 0, 0]]
    _, together = updated(slope, [1.0, 1.1], 0.2)
    z, apart = updated(slope, [3.0, -3.0], 0.2)
    assert together.tempering_exponent == 1.0
    assert apart.tempering_exponent < 0.5
    mean = z[0] @ apart.weights
    assert np.sqrt((z[0] - mean) ** 2 @ apart.weights) > 2 * 0.2 / np.sqrt(2)
    assert abs(mean) < 1.0


def test_an_impossible_number_is_named_and_bearable():
    z, evidence = updated([1.0, 0, 0, 0, 0, 0], 40.0, 0.5)
    assert evidence.outliers == (("number", 0.0),)
    assert ess(evidence.weights) >= 0.5 * LEAST_ESS * N
    assert np.isfinite(z @ evidence.weights).all()


def test_members_that_failed_do_not_count():
    log_l = np.zeros(16)
    log_l[3] = -np.inf
    assert weigh(np.zeros(16), log_l, stacked([], 16)).weights[3] == 0.0
    nothing = weigh(np.zeros(16), np.full(16, -np.inf), stacked([], 16))
    assert nothing.ess == 0.0
    assert nothing.weights.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 1.0])
def test_what_others_say_is_as_strong_as_they_are_alike(correlation):
    """One number seen of another piece: exact by the joint normal of both pieces' unknowns."""
    sd = 0.5
    lines = [
        LinearObs(np.zeros((0, 1)), np.zeros(0), np.zeros((0, 0))),
        LinearObs(*map(np.array, ([[1.0]], [2.0], [[sd**2]]))),
    ]
    rho = np.array([[1.0, correlation], [correlation, 1.0]])[:, :, None, None]
    other = from_others(0, lines, rho)
    variance = 1.0 / (1.0 + other.precision[0, 0])
    assert variance == pytest.approx(1.0 - correlation**2 / (1.0 + sd**2))
    assert variance * other.vector[0] == pytest.approx(correlation * 2.0 / (1.0 + sd**2))


def test_two_others_that_share_what_they_saw_are_not_counted_twice():
    """Two pieces wholly alike, seen with errors of their own: as two numbers of one piece."""
    sd = 0.4
    one = LinearObs(np.array([[1.0]]), np.array([1.0]), np.array([[sd**2]]))
    none = LinearObs(np.zeros((0, 1)), np.zeros(0), np.zeros((0, 0)))
    correlation = np.full((3, 3, 1, 1), 0.6)
    correlation[[0, 1, 2], [0, 1, 2]] = 1.0
    correlation[1, 2] = correlation[2, 1] = 1.0
    both, single = from_others(0, [none, one, one], correlation), from_others(0, [none, one, none], correlation)
    half = LinearObs(np.array([[1.0]]), np.array([1.0]), np.array([[sd**2 / 2]]))
    np.testing.assert_allclose(both.precision, from_others(0, [none, half, none], correlation).precision)
    assert both.precision[0, 0] < 2.0 * single.precision[0, 0]


def test_unknowns_have_names_once():
    assert len(set(UNKNOWNS)) == len(UNKNOWNS)


def test_lines_tell_their_own_misses():
    """A bent world: what the lines miss is in their errors."""
    z = prior(2048)
    bent = Predicted((("number", 0.0),), np.array([0.0]), (z[0] + z[1] ** 2)[None], np.array([[0.01]]))
    lines = LinearObs.through(z, bent, np.full(2048, 1 / 2048))
    assert lines.slope[0, 0] == pytest.approx(1.0, abs=0.1)
    assert lines.covariance[0, 0] == pytest.approx(0.01 + 2.0, rel=0.15)  # Var z**2 = 2


def test_a_look_beyond_belief_moves_less_than_its_size():
    """Far misses are taken for larger errors before they aim."""
    z = prior(512)
    far = world(z, [1.0, 0, 0, 0, 0, 0], 9.0, 0.1)
    lines = LinearObs.through(z, far, np.full(512, 1 / 512))
    assert lines.robust().covariance[0, 0] > 10 * lines.covariance[0, 0]
    near = LinearObs.through(z, world(z, [1.0, 0, 0, 0, 0, 0], 1.0, 0.1), np.full(512, 1 / 512))
    np.testing.assert_array_equal(near.robust().covariance, near.covariance)
    proposal = Proposal.at(Information.of(lines.slope, lines.innovation, lines.covariance))
    assert np.abs(proposal.mean).max() <= MOST_OFF
