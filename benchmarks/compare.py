"""The kernel and general methods on the same problem, at about the same error, in turns.

Every method is first checked against the tight solution: of a ladder of tolerances it gets the loosest at which its
errors on some members are no worse than the issue's accuracy or than the kernel's own, whichever is worse. Then all are
timed in turns, one thread each, and the ratio is taken round by round.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from tests.oracles.readable import kernel as readable

from benchmarks import cases, reference
from benchmarks.clock import Times, seconds
from benchmarks.peers import Peers
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import Trace

CHECKED, OURS_AT_ONCE, NUMPY_AT_ONCE = 6, 128, 64
"""Members that a method is checked on; members in one run of the kernel and of its NumPy twin."""

CORE_MEDIAN_K, CORE_WORST_K, LOSS_POINTS = 0.2, 0.5, 0.3
TOLERANCES = (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5)
STEPS_S = (2.0, 1.5, 1.0, 0.75, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1)
"""Divide a record's interval or nearly; the explicit method rounds them so that they do."""


@dataclass(frozen=True)
class Method:
    """A peer: its ladder, rounds and the members timed in each round."""

    name: str
    ladder: tuple[float, ...] = TOLERANCES
    rounds: int = 5
    timed: int = 3


METHODS = (
    Method("CVODE band", timed=6),
    Method("CVODE GMRES"),
    Method("CVODE sparse", timed=2),
    Method("SciPy BDF", timed=1),
    Method("explicit Euler", ladder=STEPS_S),
)


def compare(kind: str, peers: Peers, methods: tuple[Method, ...] = METHODS, rounds: int = 5) -> list[dict[str, Any]]:
    """Rows of one case: ours, the NumPy twin, the peers."""
    whole = cases.job(cases.KINDS[kind], OURS_AT_ONCE)
    some = cases.part(whole, np.arange(CHECKED))
    exact = reference.tight(some)
    ours = reference.errors(simulate_all([some])[0], exact, some)
    allowed = (
        max(CORE_MEDIAN_K, float(np.median(ours.core_k))),
        max(CORE_WORST_K, float(ours.core_k.max())),
        max(LOSS_POINTS, float(ours.loss_points.max())),
    )
    rows: list[dict[str, Any]] = [{"method": "Pitreckon, single", "case": kind, **ours.row()}]
    double = reference.errors(simulate_all([some], precision="double")[0], exact, some)
    rows.append({"method": "Pitreckon, double", "case": kind, **double.row()})
    chosen: list[tuple[Method, dict[str, Any]]] = []
    for method in methods:
        found = choose(kind, method, peers, exact, allowed)
        if found is None:
            rows.append({"method": method.name, "case": kind, "failed": "no tolerance of the ladder came near enough"})
        else:
            chosen.append((method, found))
    rows += [{"method": method.name, "case": kind, **found} for method, found in chosen]
    took = _timed(kind, whole, peers, chosen, rounds)
    mine = took["Pitreckon, single"]
    for row in rows:
        if row["method"] in took:
            row.update(_figures(took[row["method"]], mine))
    return rows


def choose(
    kind: str, method: Method, peers: Peers, exact: Trace, allowed: tuple[float, float, float]
) -> dict[str, Any] | None:
    """The loosest setting whose errors on the checked members are allowed, with them; None if there is none."""
    for tol in method.ladder:
        got: list[dict[str, Any]] = []
        for answer in _answers(kind, method.name, tol, peers):
            if "error" in answer:
                break
            got.append(answer)
            off, _, loss = _off(got, exact)
            if off.max() > allowed[1] or loss.max() > allowed[2]:
                break
        else:
            off, _, loss = _off(got, exact)
            if np.median(off) <= allowed[0]:
                return {
                    "setting": tol,
                    "core_median": float(np.median(off)),
                    "core_max": float(off.max()),
                    "loss_max": float(loss.max()),
                    "evaluations": statistics.median(g["evaluations"] for g in got),
                }
    return None


def _off(got: list[dict[str, Any]], exact: Trace) -> tuple[Any, Any, Any]:
    core, loss = (np.array([g[name] for g in got]).T for name in ("core", "loss"))
    return reference.core_and_loss(core, loss, exact.take(np.arange(len(got))))


def _answers(kind: str, method: str, tol: float, peers: Peers) -> Iterator[dict[str, Any]]:
    for i in range(CHECKED):
        yield peers.ask(kind=kind, members=OURS_AT_ONCE, member=i, method=method, tol=tol)


def _timed(
    kind: str, whole: Job, peers: Peers, chosen: list[tuple[Method, dict[str, Any]]], rounds: int
) -> dict[str, list[float]]:
    """Milliseconds a member of every method, by round."""
    took: dict[str, list[float]] = {"Pitreckon, single": [], "Pitreckon, double": []}
    simulate_all([whole], precision="double", threads=1)
    for number in range(rounds):
        for precision in ("single", "double"):
            s = seconds(lambda precision=precision: simulate_all([whole], precision=precision, threads=1))
            took[f"Pitreckon, {precision}"].append(s / whole.members.size * 1e3)
        for method, found in chosen:
            if number >= method.rounds:
                continue
            asked = [
                peers.ask(
                    kind=kind,
                    members=OURS_AT_ONCE,
                    member=(number * method.timed + i) % CHECKED,
                    method=method.name,
                    tol=found["setting"],
                )["s"]
                for i in range(method.timed)
            ]
            took.setdefault(method.name, []).append(statistics.fmean(asked) * 1e3)
    return took


def _figures(its: list[float], ours: list[float]) -> dict[str, Any]:
    times = Times(tuple(its))
    return {
        "ms_best": times.best,
        "ms_median": times.median,
        "rounds": len(its),
        "ratio_median": times.over(Times(tuple(ours[: len(its)]))),
        "ratio_best": times.best / min(ours),
    }


def numpy_twin(kind: str, ms_ours: float, members: int = NUMPY_AT_ONCE, hours: float | None = None) -> dict[str, Any]:
    """The readable kernel on a whole ensemble at once, once: it takes minutes."""
    some = cases.job(cases.KINDS[kind], members, hours=hours)
    begin = time.perf_counter()
    trace = simulate_all([some], engine=readable.run_members)[0]
    ms = (time.perf_counter() - begin) / members * 1e3
    few = cases.part(some, np.arange(CHECKED))
    off = reference.errors(trace.take(np.arange(CHECKED)), reference.tight(few), few)
    figures = {"ms_best": ms, "ms_median": ms, "rounds": 1, "ratio_median": ms / ms_ours, "ratio_best": ms / ms_ours}
    return {"method": f"NumPy over {members} members", "case": kind, **off.row(), **figures}


def finite_elements(peers: Peers, ms_ours: float, dt: float = 60.0, rounds: int = 2) -> dict[str, Any]:
    """scikit-fem on the block's heat part alone, which is less than what the kernel solves."""
    some = cases.part(cases.job(cases.BLOCK, OURS_AT_ONCE), np.arange(2))
    exact = reference.tight(cases.heat_only(some))
    asked = [
        peers.ask(kind="block", members=OURS_AT_ONCE, member=i % 2, method="scikit-fem", tol=dt) for i in range(rounds)
    ]
    off = [float(np.max(np.abs(np.array(a["core"]) - exact["core_c"][:, i % 2]))) for i, a in enumerate(asked)]
    ms = [a["s"] * 1e3 for a in asked]
    return {
        "method": "scikit-fem, heat alone",
        "case": "block",
        "setting": dt,
        "core_median": statistics.median(off),
        "core_max": max(off),
        "ms_best": min(ms),
        "ms_median": statistics.median(ms),
        "rounds": rounds,
        "ratio_median": statistics.median(ms) / ms_ours,
        "ratio_best": min(ms) / ms_ours,
    }


INDEPENDENT = (("CVODE band", 1e-8), ("SciPy BDF", 1e-6))


def agreement(
    peers: Peers, kinds: tuple[str, ...] = ("rack", "drum", "block"), members: int = 4
) -> list[dict[str, Any]]:
    """How far general solvers at fine tolerances, on a right side of their own, are from our tight solution."""
    rows = []
    for kind in kinds:
        some = cases.part(cases.job(cases.KINDS[kind], OURS_AT_ONCE), np.arange(members))
        exact = reference.tight(some)
        for method, tol in INDEPENDENT:
            got = [peers.ask(kind=kind, members=OURS_AT_ONCE, member=i, method=method, tol=tol) for i in range(members)]
            row: dict[str, Any] = {"case": kind, "method": method, "setting": tol, "members": members}
            faults = [answer["error"] for answer in got if "error" in answer]
            if faults:
                rows.append(row | {"failed": faults[0]})
                continue
            off, _, loss = _off(got, exact)
            rows.append(row | {"core_max": float(off.max()), "loss_max": float(loss.max())})
    return rows
