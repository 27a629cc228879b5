"""A fast cut of the update's calibration: the truth's rank is as likely to be one as another."""

from __future__ import annotations

import numpy as np
import pytest
from validation.calibration import Calibration, calibrate, page, rank, uniform_p


@pytest.fixture(scope="module")
def found() -> Calibration:
    return calibrate(24, 96, 5)


@pytest.mark.kernel
def test_ranks_are_uniform(found: Calibration) -> None:
    """All unknowns together; the chance that one of so many falls below this by itself is one in a hundred."""
    p = found.p_values()
    assert min(p.values()) > 0.01 / len(p)
    assert p["tender"] > 0.01


@pytest.mark.kernel
def test_no_truth_falls_off_the_ends(found: Calibration) -> None:
    """An update too sure of itself puts the truths of what is seen at the ends."""
    ends = np.mean((found.ranks["tender"] < 0.05) | (found.ranks["tender"] > 0.95))
    assert ends < 0.25


def test_uneven_ranks_are_found_out() -> None:
    rng = np.random.default_rng(1)
    assert uniform_p(rng.random(400)) > 0.01
    assert uniform_p(rng.beta(0.5, 0.5, 400)) < 1e-4  # too sure
    assert uniform_p(rng.beta(2.0, 2.0, 400)) < 1e-4  # too wide
    assert uniform_p(rng.beta(1.0, 1.5, 400)) < 1e-2  # off to one side


def test_rank_is_the_weight_below() -> None:
    rng = np.random.default_rng(1)
    weights = np.array([0.1, 0.2, 0.3, 0.4])
    values = np.array([1.0, 2.0, 3.0, 4.0])
    assert rank(values, weights, 3.5, rng) == pytest.approx(0.6)
    assert 0.3 <= rank(values, weights, 3.0, rng) <= 0.6


def test_the_page_tells_the_worst_first() -> None:
    even = np.linspace(0.0, 0.999, 64)
    made = page(Calibration({"good": even, "bad": even**3}, np.ones(64)), truths=64, members=8, seed=1, classes="looks")
    assert made.index("| bad |") < made.index("| good |")
