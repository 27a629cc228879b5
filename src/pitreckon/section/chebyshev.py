"""Coefficients of the second-order Runge-Kutta-Chebyshev method, an explicit scheme whose stable step grows
with the square of its stages [sommeijer1998]_."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

DAMPING = 2.0 / 13.0
MAX_STAGES = 80

SAFETY = 1.25
"""Margin on the spectral radius that the power method finds, which comes up to it from below."""
FRESH_TURNS, TURNS, AGAIN_TURNS = 16, 1, 4
"""Turns of the power method: after a change of stage, at each knot, after a step that was refused."""
NUDGE_K, NUDGE_WATER = 0.01, 5e-4
"""Size of the power method's disturbance [K, kg/kg]."""
NUDGE_HEAT = 3.5e6 * NUDGE_K
"""The same as enthalpy of wet meat [J/m3]."""
FRESH_PARTS, MOST_PARTS = 4, 64
"""Steps a knot after a change of stage, and at most."""
TEMPERATURE_FAULT_K, WATER_FAULT = 6.0, 0.6
"""Estimated error of one step in any cell that makes it shorter [K, kg/kg]. The estimate is far above the
true error where a thin surface cell merely follows the air; ``tests/section`` holds what comes of it."""


def stable_extent(stages: int) -> float:
    """Length of the stable stretch of the negative real axis for ``stages`` stages (at least 2)."""
    return 2.0 / 3.0 * (stages**2 - 1) * (1.0 - 2.0 / 15.0 * DAMPING)


def coefficients(stages: int) -> NDArray[np.float64]:
    """Rows mu, nu, mu_tilde, gamma_tilde, c for stages 1..s in columns 1..s; shape (5, stages + 1).

    Sommeijer, Shampine & Verwer 1998, J. Comput. Appl. Math. 88:315, eqs 2.1-2.4 (from memory).
    """
    s = stages
    w0 = 1.0 + DAMPING / s**2
    t, d, dd = np.zeros(s + 1), np.zeros(s + 1), np.zeros(s + 1)
    t[0], t[1], d[1] = 1.0, w0, 1.0
    for j in range(2, s + 1):
        t[j] = 2 * w0 * t[j - 1] - t[j - 2]
        d[j] = 2 * t[j - 1] + 2 * w0 * d[j - 1] - d[j - 2]
        dd[j] = 4 * d[j - 1] + 2 * w0 * dd[j - 1] - dd[j - 2]
    w1 = d[s] / dd[s]
    b = np.zeros(s + 1)
    b[2:] = dd[2:] / d[2:] ** 2
    b[0] = b[1] = b[2]
    a = 1.0 - b * t
    out = np.zeros((5, s + 1))
    out[2, 1] = b[1] * w1
    for j in range(2, s + 1):
        mu = 2 * b[j] * w0 / b[j - 1]
        out[0, j] = mu
        out[1, j] = -b[j] / b[j - 2]
        out[2, j] = 2 * b[j] * w1 / b[j - 1]
        out[3, j] = -a[j - 1] * out[2, j]
        out[4, j] = w1 * dd[j] / d[j]
    out[4, 1] = out[4, 2] / d[2]
    return out


def table(max_stages: int = MAX_STAGES) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """All coefficient sets up to ``max_stages`` as one array [stages, 5, stage], and their stable extents."""
    coef = np.zeros((max_stages + 1, 5, max_stages + 1))
    extent = np.zeros(max_stages + 1)
    for s in range(2, max_stages + 1):
        coef[s, :, : s + 1] = coefficients(s)
        extent[s] = stable_extent(s)
    return coef, extent
