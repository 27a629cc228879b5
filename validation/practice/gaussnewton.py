"""Least squares with a standard normal prior by Gauss-Newton steps with damping, and the posterior normal.

Minimises ``sum(rho(z(x))) + x.x / 2``, ``z`` being misfits in standard deviations and ``rho`` Huber's loss, by
reweighted normal equations (Huber 1964; Levenberg 1944, Marquardt 1963; from memory). The posterior is the normal
whose inverse covariance is the Gauss-Newton matrix at the end. Points are asked for in batches, so that whoever
reckons them can do so side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Misfits = Callable[[Sequence[Floats]], list[Floats]]
"""From points ``x`` to their misfits ``z``, all of one length."""

STEP = 0.15
"""Half width of the central differences, in prior standard deviations."""
DAMPINGS = (0.0, 0.3, 3.0, 30.0)
SMALL_STEP, SMALL_FALL = 0.05, 2e-4
"""Where the search ends: no step above this many posterior sd, or the objective falls by less than this share."""
LONGEST = 1.5
"""No single number moves further in one step than this [prior sd]: the model is not straight so far."""


@dataclass(frozen=True)
class Found:
    """Where a search ended: point, posterior covariance, objective by step, misfits there, whether it settled."""

    x: Floats
    covariance: Floats
    objectives: tuple[float, ...]
    z: Floats
    settled: bool


def huber(z: Floats, k: float) -> Floats:
    """Huber's loss, quadratic to ``k`` and straight beyond."""
    size = np.abs(z)
    return np.where(size <= k, 0.5 * z * z, k * (size - 0.5 * k))


def objective(x: Floats, z: Floats, k: float) -> float:
    """Misfit and prior."""
    return float(np.sum(huber(z, k)) + 0.5 * np.sum(x * x))


def search(
    misfits: Misfits,
    start: Floats,
    *,
    k: float = 1.345,
    most: int = 25,
    say: Callable[[str], None] = lambda text: None,
) -> Found:
    """Search from a point.

    Parameters
    ----------
    misfits: the model
    start: first point [prior sd]
    k: where Huber's loss turns straight [sd]; inf: plain least squares
    most: steps at the most
    say: told of each step
    """
    x = np.asarray(start, dtype=np.float64).copy()
    z = misfits([x])[0]
    course = [objective(x, z, k)]
    say(f"start: objective {course[0]:.3f}")
    settled = False
    for step in range(1, most + 1):
        slope = jacobian(misfits, x)
        matrix, gradient = _normal_equations(slope, z, x, k)
        tries = [_step(matrix, gradient, damping) for damping in DAMPINGS]
        points = [x + s for s in tries]
        results = misfits(points)
        reached = [objective(p, r, k) for p, r in zip(points, results, strict=True)]
        best = int(np.argmin(reached))
        fall = course[-1] - reached[best]
        if fall <= 0.0:
            settled = True
            say(f"step {step}: nothing lower")
            break
        longest = float(np.max(np.abs(tries[best]) / np.sqrt(np.diag(np.linalg.inv(matrix)))))
        x, z = points[best], results[best]
        course.append(reached[best])
        say(
            f"step {step}: objective {course[-1]:.3f}, longest move {longest:.2f} posterior sd, "
            f"damping {DAMPINGS[best]}"
        )
        if longest < SMALL_STEP or fall < SMALL_FALL * course[-1]:
            settled = True
            break
    slope = jacobian(misfits, x)
    matrix, _ = _normal_equations(slope, z, x, k)
    return Found(x, np.linalg.inv(matrix), tuple(course), z, settled)


def jacobian(misfits: Misfits, x: Floats) -> Floats:
    """Slopes of all misfits at a point, by central differences: shape (misfits, numbers)."""
    points = [x + sign * STEP * unit for unit in np.eye(x.size) for sign in (1.0, -1.0)]
    z = misfits(points)
    return np.stack([(z[2 * i] - z[2 * i + 1]) / (2.0 * STEP) for i in range(x.size)], axis=1)


def _normal_equations(jacobian: Floats, z: Floats, x: Floats, k: float) -> tuple[Floats, Floats]:
    size = np.maximum(np.abs(z), 1e-12)
    weight = np.minimum(1.0, k / size)
    matrix = jacobian.T @ (weight[:, None] * jacobian) + np.eye(x.size)
    return matrix, jacobian.T @ (weight * z) + x


def _step(matrix: Floats, gradient: Floats, damping: float) -> Floats:
    step = -np.linalg.solve(matrix + damping * np.diag(np.diag(matrix)), gradient)
    return step * min(1.0, LONGEST / max(float(np.max(np.abs(step))), 1e-12))


def distance(a: Found, b: Found) -> Floats:
    """How far two ends lie from each other, parameter by parameter, in posterior sd of the better one."""
    better = a if a.objectives[-1] <= b.objectives[-1] else b
    return np.abs(a.x - b.x) / np.sqrt(np.diag(better.covariance))


def correlations(covariance: Floats) -> Floats:
    """Correlation matrix of a covariance."""
    sd = np.sqrt(np.diag(covariance))
    return covariance / np.outer(sd, sd)
