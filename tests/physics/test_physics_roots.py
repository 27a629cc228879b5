"""The own root finder against roots known in closed form."""

from __future__ import annotations

from math import cos, exp, nan, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon.errors import RangeError
from pitreckon.physics._roots import bracketed_root


@given(st.floats(-50.0, 50.0), st.floats(0.01, 60.0), st.floats(0.01, 60.0))
def test_cubic_with_a_flat_root(root: float, below: float, above: float) -> None:
    found = bracketed_root(lambda x: (x - root) + (x - root) ** 3, root - below, root + above)
    assert found == pytest.approx(root, abs=1e-9)


def test_known_roots() -> None:
    assert bracketed_root(cos, 0.0, 3.0) == pytest.approx(pi / 2, abs=1e-10)
    # the omega constant, root of x exp(x) = 1
    assert bracketed_root(lambda x: x * exp(x) - 1.0, 0.0, 1.0) == pytest.approx(0.5671432904, abs=1e-10)


def test_ends_that_are_roots_and_rising_or_falling_laws() -> None:
    assert bracketed_root(lambda x: x, 0.0, 1.0) == 0.0
    assert bracketed_root(lambda x: x - 1.0, 0.0, 1.0) == 1.0
    assert bracketed_root(lambda x: 0.25 - x, 0.0, 1.0) == pytest.approx(0.25, abs=1e-12)


def test_needs_few_steps_even_where_false_position_would_creep() -> None:
    calls = []

    def steep(x: float) -> float:
        calls.append(x)
        return x**19 - 1e-3

    assert bracketed_root(steep, 0.0, 3.0) == pytest.approx(1e-3 ** (1 / 19), abs=1e-9)
    assert len(calls) < 90


@pytest.mark.parametrize("law", [lambda x: x * x + 1.0, lambda x: nan, lambda x: x - 0.1 if x in (0, 1) else nan])
def test_no_root(law) -> None:
    with pytest.raises(RangeError):
        bracketed_root(law, 0.0, 1.0)
