"""One member's cook through general methods: SciPy BDF and Radau, SUNDIALS CVODE, explicit steps.

Each is started anew where a stage begins (the lid drops the air, a wrap closes) and nowhere else: between, the air is
continuous and piecewise linear, and the solvers find their own steps through it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.cases import record_s
from benchmarks.one_member import COMPILED, Member, rates

Floats = NDArray[np.float64]
Seen = tuple[Floats, Floats]
"""Core temperature [degC] and loss [share of the raw piece] at every record."""


def staged(member: Member, across: Callable[[Floats, Floats], Floats]) -> Seen:
    """Go through the stages; ``across(times, y)`` solves one and gives the states at ``times`` after the first."""
    y = member.fresh()
    seen = []
    for stage, (begins, ends) in enumerate(member.spans()):
        member.enter(stage, begins, y)
        if stage == 0:
            seen.append(y.copy()[None])
        times = np.arange(begins, ends + 1e-6, record_s(member.job))
        states = across(times, y)
        seen.append(states)
        y = states[-1].copy()
    return member.seen(np.concatenate(seen))


def scipy_ivp(member: Member, tol: float, method: str, max_step: float = np.inf) -> Seen:
    """SciPy's implicit methods with the pattern of the Jacobian, by differences."""
    atol, pattern = member.tolerances(tol), member.pattern()

    def across(times: Floats, y: Floats) -> Floats:
        done = solve_ivp(
            member.derivative,
            (times[0], times[-1]),
            y,
            method=method,
            t_eval=times[1:],
            rtol=tol,
            atol=atol,
            jac_sparsity=pattern,
            max_step=max_step,
        )
        if not done.success:
            raise ArithmeticError(done.message)
        states: Floats = done.y.T
        return states

    return staged(member, across)


def cvode(member: Member, tol: float, linsolver: str, **more: Any) -> Seen:
    """SUNDIALS CVODE, BDF; ``linsolver`` is gmres, sparse or band."""
    from sksundae.cvode import CVODE  # noqa: PLC0415  (only in the peers' environment)

    options: dict[str, Any] = {"rtol": tol, "atol": member.tolerances(tol), "max_num_steps": 200_000} | more
    if linsolver == "sparse":
        options["sparsity"] = member.pattern()
    if linsolver == "band":
        wide = 2 * min(member.job.section.nx, member.job.section.ny) + 1
        options |= {"lband": wide, "uband": wide}

    def across(times: Floats, y: Floats) -> Floats:
        done = CVODE(member.slope, linsolver=linsolver, **options).solve(times, y)
        if not done.success:
            raise ArithmeticError(str(done.message))
        states: Floats = done.y[1:]
        return states

    return staged(member, across)


@njit(**COMPILED)
def euler(y, first_s, count, dt, opened, p, s, air, knot_s, cells, faces, where, room):
    """``count`` explicit steps in place."""
    dy = np.zeros_like(y)
    for k in range(count):
        rates(first_s + k * dt, y, dy, opened, p, s, air, knot_s, cells, faces, where, room)
        for c in range(y.shape[0]):
            y[c] += dt * dy[c]


def explicit(member: Member, dt: float) -> Seen:
    """Explicit Euler, all of it compiled."""
    job = member.job
    count = round(record_s(job) / dt)

    def across(times: Floats, y: Floats) -> Floats:
        states = np.zeros((times.size - 1, y.size))
        for k, t in enumerate(times[:-1]):
            euler(
                y, t, count, record_s(job) / count, member.opened, member.p, member.table[member.stage], member.air,
                job.drive.knot_s, member.cells, job.section.outer_area, member.where, member.room,
            )  # fmt: skip
            states[k] = y
        member.evaluations += count * (times.size - 1)
        if not np.isfinite(y).all():
            raise ArithmeticError("unstable")
        return states

    return staged(member, across)


METHODS: dict[str, Callable[[Member, float], Seen]] = {
    "SciPy BDF": lambda member, tol: scipy_ivp(member, tol, "BDF"),
    "SciPy Radau": lambda member, tol: scipy_ivp(member, tol, "Radau"),
    "CVODE GMRES": lambda member, tol: cvode(member, tol, "gmres"),
    "CVODE sparse": lambda member, tol: cvode(member, tol, "sparse"),
    "CVODE band": lambda member, tol: cvode(member, tol, "band"),
    "explicit Euler": explicit,
}
"""Name to method; the number is the tolerance, or the step [s] of the explicit one."""
