"""Evenly spread points, against SciPy's."""

import numpy as np
import pytest
from scipy.stats import qmc

from pitreckon.reckon.sobol import MOST, sobol


@pytest.mark.parametrize("dimensions", range(1, MOST + 1))
def test_the_points_are_scipys_to_the_bit(dimensions: int) -> None:
    for seed, doublings in ((0, 0), (1, 1), ([7, 3], 5), (2026, 10), (5, 13)):
        mine = sobol(np.random.default_rng(seed), dimensions, doublings)
        its = qmc.Sobol(dimensions, rng=np.random.default_rng(seed)).random_base2(doublings)
        assert mine.tobytes() == its.tobytes()


def test_the_generator_goes_on_as_if_nothing_had_been_drawn() -> None:
    rng = np.random.default_rng(3)
    first = sobol(rng, 2, 3)
    assert not np.array_equal(first, sobol(rng, 2, 3)), "each set is of a child of its own"
    assert rng.random() == np.random.default_rng(3).random()


@pytest.mark.parametrize("dimensions", [0, MOST + 1])
def test_dimensions_that_are_not_in_the_table_are_refused(dimensions: int) -> None:
    with pytest.raises(ValueError, match=f"of {dimensions} dimensions"):
        sobol(np.random.default_rng(1), dimensions, 2)
