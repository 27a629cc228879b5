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
from scipy.special import j0, j1, jn_zeros, y0, y1

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


class Annulus:
    """A hollow cylinder from ``a`` to ``b`` [m] with exchange ``h/k`` [1/m] at either face, both into the same air.

    Eigenfunctions J0(z r) + B Y0(z r) (Carslaw & Jaeger 1959, chapter VII, from memory).
    """

    def __init__(self, a: float, b: float, inner: float, outer: float) -> None:
        self.a, self.b, self.inner = a, b, inner

        def fault(z: float) -> float:
            num, den = self._parts(z)
            at_j = -z * j1(z * b) + outer * j0(z * b)
            at_y = -z * y1(z * b) + outer * y0(z * b)
            return float(at_j * den + at_y * num)

        step = 0.05 / (b - a)
        grid = np.arange(1, 20 * TERMS) * step
        values = [fault(z) for z in grid]
        signs = np.flatnonzero(np.sign(values[:-1]) != np.sign(values[1:]))
        self.z = np.array([brentq(fault, grid[i], grid[i + 1], xtol=1e-13) for i in signs])

    def _parts(self, z: float) -> tuple[float, float]:
        """B as a fraction: from the inner face, where heat goes out against r."""
        return -(z * j1(z * self.a) + self.inner * j0(z * self.a)), z * y1(z * self.a) + self.inner * y0(z * self.a)

    def theta(self, diffused_m2: float, r: float) -> float:
        """Dimensionless temperature at a radius [m] after ``diffused_m2`` = alpha t."""
        total = 0.0
        for z in self.z:
            num, den = self._parts(z)
            scale = np.hypot(num, den)
            form = [(den * j0(z * x) + num * y0(z * x)) / scale for x in (r, self.a, self.b)]
            steep = [-z * (den * j1(z * x) + num * y1(z * x)) / scale for x in (self.a, self.b)]
            mean = (self.a * steep[0] - self.b * steep[1]) / z**2
            norm = 0.5 * (
                self.b**2 * (form[2] ** 2 + (steep[1] / z) ** 2) - self.a**2 * (form[1] ** 2 + (steep[0] / z) ** 2)
            )
            total += mean / norm * float(np.exp(-z * z * diffused_m2)) * form[0]
        return float(total)
