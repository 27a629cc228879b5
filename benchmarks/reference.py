"""The tight solution on the same cells, and how far a method is from it.

``tight`` is the kernel in double precision with ``SUBSTEPS`` steps a knot at least; ``compare.agreement`` shows that
general solvers at fine tolerances, on a right side of their own, agree. Errors are those of the core's temperature, of
the loss, and of the clear marks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import MARKS, Trace

Floats = NDArray[np.float64]
SUBSTEPS = 64
NEAR = {
    "colour_set": ("colour", None, 0.02),
    "tender": ("gelatin_core", "tender_at", 0.004),
    "core_done": ("core_c", "core_done_c", 0.2),
    "glaze_set": ("glaze_ratio", "glaze_set_at", -0.004),
    "too_dark": ("colour", "dark_at", 0.02),
    "too_soft": ("gelatin_core", "soft_at", 0.004),
}
"""Mark: its channel, the parameter that it has to pass (1 where none), and what counts as near (below 0: it falls)."""

CLEAR_MIN = 5.0
"""A mark is clear if its quantity goes from near before its goal to near past it within twice this [min]: one that
creeps along its goal, or touches it long before it passes, has no time."""


@dataclass(frozen=True)
class Errors:
    """Of one method on one ensemble against its reference."""

    core_k: Floats  # by member: the worst over time
    core_all_k: Floats  # by member and time
    loss_points: Floats
    marks_min: dict[str, Floats]  # of the clear ones
    unclear: dict[str, int]  # marks left out
    missed: dict[str, int]  # clear ones that only one of the two has

    def row(self) -> dict[str, object]:
        """For a table."""
        marks = np.concatenate([m for m in self.marks_min.values() if m.size] or [np.zeros(0)])
        return {
            "core_median": float(np.median(self.core_k)),
            "core_p95": float(np.percentile(self.core_k, 95)),
            "core_max": float(self.core_k.max()),
            "core_all_median": float(np.nanmedian(self.core_all_k)),
            "core_all_p95": float(np.nanpercentile(self.core_all_k, 95)),
            "loss_median": float(np.median(self.loss_points)),
            "loss_max": float(self.loss_points.max()),
            "marks": int(marks.size),
            "marks_median": float(np.median(marks)) if marks.size else None,
            "marks_p95": float(np.percentile(marks, 95)) if marks.size else None,
            "marks_max": float(marks.max()) if marks.size else None,
            "marks_unclear": sum(self.unclear.values()),
            "marks_missed": sum(self.missed.values()),
            "by_mark": {name: float(off.max()) for name, off in self.marks_min.items() if off.size},
        }


def tight(job: Job, substeps: int = SUBSTEPS) -> Trace:
    """The kernel in double precision with many steps a knot."""
    return simulate_all([replace(job, substeps=substeps)], precision="double")[0]


def core_and_loss(core_c: Floats, loss: Floats, exact: Trace) -> tuple[Floats, Floats, Floats]:
    """Errors [K] by member and by member and time, and of the loss [points] by member."""
    off = np.abs(core_c - exact["core_c"])
    return np.nanmax(off, axis=0), off, 100.0 * np.nanmax(np.abs(loss - exact.loss), axis=0)


def first_passage(time_s: Floats, values: Floats, goal: Floats, rising: bool) -> Floats:
    """When each member's quantity, (records, members), first passes its goal [s], by straight lines; nan: never."""
    ahead = (values - goal) if rising else (goal - values)
    there = ahead >= 0.0  # nan is not
    k = np.argmax(there, axis=0)
    members = np.arange(values.shape[1])
    now, before = ahead[k, members], ahead[np.maximum(k - 1, 0), members]
    share = np.where(np.isfinite(before) & (now > before), now / np.where(now > before, now - before, 1.0), 0.0)
    at = time_s[k] - np.where(k > 0, np.clip(share, 0.0, 1.0), 0.0) * (time_s[1] - time_s[0])
    passed: Floats = np.where(there.any(axis=0), at, np.nan)
    return passed


def clear(trace: Trace, name: str, job: Job) -> NDArray[np.bool_]:
    """Which members pass a mark's goal at once."""
    channel, parameter, near = NEAR[name]
    goal = np.ones(job.members.size) if parameter is None else job.members[parameter]
    early, late = (first_passage(trace.time_s, trace[channel], goal + side * near, near > 0.0) for side in (-1.0, 1.0))
    return (late - early) <= 2.0 * CLEAR_MIN * 60.0


def errors(trace: Trace, exact: Trace, job: Job) -> Errors:
    """Of a trace against the tight one of the same members."""
    core_k, core_all_k, loss = core_and_loss(trace["core_c"], trace.loss, exact)
    marks: dict[str, Floats] = {}
    unclear, missed = {}, {}
    for name in MARKS:
        reached, ours = np.isfinite(exact.mark(name)), np.isfinite(trace.mark(name))
        sharp = clear(exact, name, job) & reached
        both = sharp & ours
        marks[name] = np.abs(trace.mark(name) - exact.mark(name))[both] / 60.0
        unclear[name] = int((reached & ~sharp).sum())
        missed[name] = int((sharp & ~ours).sum())
    return Errors(core_k, core_all_k, loss, marks, unclear, missed)
