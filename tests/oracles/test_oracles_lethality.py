"""The lethal rate by hand, and where it refuses. What a history kills is checked in tests/safety, by the tables."""

from __future__ import annotations

import pytest
from tests.oracles import lethality

from pitreckon.errors import RangeError


def test_a_tenth_each_z() -> None:
    # Bigelow 1920: ten times as fast with each z; 10 degF for the meat of FSIS-GD-2021-14
    assert lethality.lethal_rate_bigelow(65.6 - 50.0 / 9.0, 65.6, 50.0 / 9.0) == pytest.approx(0.1)
    assert lethality.lethal_rate_bigelow(80.0, 70.0, 5.0) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: lethality.lethal_rate_bigelow(60.0, 20.0, 7.5), "ref_c = 20 degC"),
        (lambda: lethality.lethal_rate_bigelow(60.0, 70.0, 0.0), "z_k = 0 K"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
