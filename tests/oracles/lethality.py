"""How fast heat kills, in the form of its paper."""

from __future__ import annotations

from typing import Final

from pitreckon.physics._ranges import within

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 250.0


def _check(ref_c: float, z_k: float) -> None:
    within("ref_c", ref_c, 40.0, 150.0, "degC")
    within("z_k", z_k, 1.0, 50.0, "K")


def lethal_rate_bigelow(temp_c: float, ref_c: float, z_k: float) -> float:
    """Oracle of section.laws.kill_rate.

    How many times faster than at the reference temperature microbes die [-].

    Parameters
    ----------
    temp_c: -40 to 250 [degC]
    ref_c: reference temperature, the one that belongs to the D value, 40 to 150 [degC]
    z_k: rise that makes killing ten times as fast, 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_; one z below the reference it is a tenth.

    >>> lethal_rate_bigelow(60.0, 70.0, 10.0)
    0.1
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    _check(ref_c, z_k)
    return float(10.0 ** ((temp_c - ref_c) / z_k))
