"""How hot: a mass balance of capsaicinoids, and Scoville heat units by dry mass."""

from typing import Final

SHU_PER_PPM: Final = 16.0
"""Scoville heat units per part per million of capsaicin by dry mass: pure capsaicin has 16 million."""


def capsaicinoids_ppm(shu: float) -> float:
    """Capsaicin that is as pungent, by dry mass [mg/kg], from Scoville heat units by dry mass.

    Source: the conversion of the published tables, 16 units to a part per million.

    >>> capsaicinoids_ppm(40_000.0)
    2500.0
    """
    return shu / SHU_PER_PPM
