"""The time scheme's own promises, on the test equation y' = z y."""

from __future__ import annotations

import numpy as np
import pytest

from pitreckon.section import chebyshev

STAGES = (2, 3, 4, 7, 12, 25, 50, 80)


def amplification(stages, z):
    """One step from 1 by the recurrence that the kernels use."""
    mu, nu, mu_tilde, gamma_tilde, _ = chebyshev.coefficients(stages)
    last, now = np.ones_like(z), 1.0 + mu_tilde[1] * z
    for j in range(2, stages + 1):
        following = (1.0 - mu[j] - nu[j]) + mu[j] * now + nu[j] * last
        following = following + mu_tilde[j] * z * now + gamma_tilde[j] * z
        last, now = now, following
    return now


@pytest.mark.parametrize("stages", STAGES)
def test_stable_over_its_extent(stages):
    z = -np.linspace(0.0, chebyshev.stable_extent(stages), 20001)
    assert np.max(np.abs(amplification(stages, z))) <= 1.0 + 1e-10


@pytest.mark.parametrize("stages", STAGES)
def test_extent_is_not_far_too_careful(stages):
    """Beyond 1.1 times the extent, which the kernels' margin stands for, growth sets in by 1.3 times."""
    z = -np.linspace(1.0, 1.3, 2001) * chebyshev.stable_extent(stages)
    assert np.max(np.abs(amplification(stages, z))) > 1.0


@pytest.mark.parametrize("stages", STAGES)
def test_second_order(stages):
    """P(z) = 1 + z + z2/2 + O(z3)."""
    z = np.array([-1e-2, -5e-3, 5e-3, 1e-2])
    rest = amplification(stages, z) - (1.0 + z + 0.5 * z * z)
    assert np.max(np.abs(rest)) < np.max(np.abs(z)) ** 3 / 6.0


@pytest.mark.parametrize("stages", STAGES)
def test_stage_times_rise_from_nought_to_one(stages):
    c = chebyshev.coefficients(stages)[4, 1:]
    assert np.all(np.diff(c) > 0.0)
    assert c[0] > 0.0
    assert c[-1] == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("stages", STAGES)
def test_exact_for_a_drive_linear_in_time(stages):
    """y' = t from 0 must give t2/2: the stage times belong to the stages."""
    mu, nu, mu_tilde, gamma_tilde, c = chebyshev.coefficients(stages)
    last, now = 0.0, 0.0
    for j in range(2, stages + 1):
        last, now = now, mu[j] * now + nu[j] * last + mu_tilde[j] * c[j - 1] + gamma_tilde[j] * 0.0
    assert now == pytest.approx(0.5, rel=1e-9)


def test_table_holds_every_set():
    coef, extent = chebyshev.table(12)
    assert np.all(np.diff(extent[2:]) > 0.0)
    np.testing.assert_array_equal(coef[9, :, :10], chebyshev.coefficients(9))
    assert not coef[9, :, 10:].any()
