"""Exact solutions of conduction with a convective boundary, as full series (own roots, bracketed).

theta = (T - T_air) / (T_start - T_air). Forms: Carslaw & Jaeger 1959, chapters III, VII and IX (from memory);
``test_section_exact`` holds them against independent figures.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import pi

import numpy as np
from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

TERMS = 60
ROUND = ("cylinder", "sphere")


def _characteristic(shape: str, bi: float) -> tuple[Callable[[float], float], list[tuple[float, float]]]:
    """The equation whose roots are the eigenvalues, free of poles, and a bracket for each root."""
    if shape == "slab":
        return (
            lambda z: z * np.sin(z) - bi * np.cos(z),
            [(n * pi, n * pi + pi / 2) for n in range(TERMS)],
        )
    if shape == "cylinder":
        lows = [0.0, *jn_zeros(1, TERMS - 1)]
        return lambda z: z * j1(z) - bi * j0(z), list(zip(lows, jn_zeros(0, TERMS), strict=True))
    return (
        lambda z: (1.0 - bi) * np.sin(z) - z * np.cos(z),
        [(n * pi + 1e-9, (n + 1) * pi - 1e-9) for n in range(TERMS)],
    )


@cache
def roots(shape: str, bi: float) -> np.ndarray:
    """First ``TERMS`` eigenvalues of "slab", "cylinder" or "sphere" for a Biot number."""
    equation, brackets = _characteristic(shape, bi)
    return np.array([brentq(equation, low, high, xtol=1e-14) for low, high in brackets])


def amplitudes(shape: str, bi: float) -> np.ndarray:
    """Weights of the terms."""
    z = roots(shape, bi)
    if shape == "slab":
        return 4.0 * np.sin(z) / (2.0 * z + np.sin(2.0 * z))
    if shape == "cylinder":
        return 2.0 * j1(z) / (z * (j0(z) ** 2 + j1(z) ** 2))
    return 4.0 * (np.sin(z) - z * np.cos(z)) / (2.0 * z - np.sin(2.0 * z))


def theta(shape: str, bi: float, fo: float, place: float) -> float:
    """Dimensionless temperature at ``place`` (0 centre, 1 surface)."""
    z = roots(shape, bi)
    if shape == "slab":
        form = np.cos(z * place)
    elif shape == "cylinder":
        form = j0(z * place)
    else:
        form = np.sinc(z * place / pi)
    return float(np.sum(amplitudes(shape, bi) * np.exp(-z * z * fo) * form))


def product(
    first: str,
    second: str,
    *,
    half_m: tuple[float, float],
    h_over_k: float,
    diffused_m2: float,
    place_m: tuple[float, float] = (0.0, 0.0),
) -> float:
    """Theta of a bar (slab x slab) or a finite cylinder (cylinder x slab); ``diffused_m2`` is alpha t."""
    value = 1.0
    for shape, half, place in zip((first, second), half_m, place_m, strict=True):
        value *= theta(shape, h_over_k * half, diffused_m2 / half**2, place / half)
    return value
