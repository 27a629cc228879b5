"""Air at the grate, kept once, read as the array that it was."""

import numpy as np
import pytest

from pitreckon.reckon.minutes import Air


@pytest.mark.parametrize("thinned", [False, True])
@pytest.mark.parametrize("minutes", [1, 2, 7, 8])
def test_it_is_read_as_the_array_that_it_was(minutes: int, thinned: bool) -> None:
    whole = np.random.default_rng(minutes).normal(size=(minutes, 3))
    air = Air.of(whole, thinned=thinned)
    assert air.shape == whole.shape
    np.testing.assert_array_equal(air.on_knots, whole[:: 2 if thinned else 1])
    for at in range(-minutes, minutes):
        np.testing.assert_array_equal(air[at], whole[at])
    several = np.array([0, minutes - 1, minutes // 2])
    np.testing.assert_array_equal(air[several], whole[several])
    assert air.on_knots.size + air.between.size == whole.size
