"""Is the plate right: by the marks of the recipe card, against the cut's usual course done as it should be."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools, Floats
from pitreckon.lessons.diagnosis.practice import usual_practice
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.lessons.diagnosis.run import Built, run_all, sugar_dose
from pitreckon.lessons.marks import Marks, Usual
from pitreckon.reckon.measures import at_each, level_of_colour
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.summary import ItemRun

MEMBERS: Final = 256
SEED: Final = 1
"""Of what is usual: the same for every study."""


@dataclass(frozen=True)
class Plates:
    """As ``lessons.marks.Served`` has them, shape (members,) each."""

    level: Floats
    tender: Floats
    loss: Floats
    peak_c: Floats
    dose: Floats


@cache
def usual_marks(cut: str) -> Marks:
    """Past what a plate of a cut is not right. cut: catalog key"""
    kind = catalog.cut(cut)
    report = Report(cut=cut, faults=("dry",))  # a report names a fault; nothing here hangs on which
    built = Built.of(report, MEMBERS, SEED)
    (plates,) = run_all(built, [(usual_practice(kind, report, MEMBERS), built.z)], threads=1)
    return Marks.of(kind, Usual.of(plates))


def right(run: ItemRun, ready: Floats) -> Bools:
    """Which members' plates have no fault when they are ready; what never is has one. ready: [s], (members,)"""
    wrong = np.isnan(ready)
    for which in usual_marks(run.cut.key).faults(plates_of(run, np.nan_to_num(ready))).values():
        wrong = wrong | which
    return ~wrong


def plates_of(run: ItemRun, when_s: Floats) -> Plates:
    """The plates of a run's members at a time of each [s since put-on]."""
    trace, members = run.trace, run.draw.members
    stage = np.nan_to_num(np.round(trace["stage"]), nan=-1.0)
    sauced = [n for n, each in enumerate(run.stages) if each.plan.kind == "sauced"]
    last = max(n for n, each in enumerate(run.stages) if each.plan.kind in PIT_KINDS)
    off_s = np.where(np.isnan(run.ends_s[last]), when_s, run.ends_s[last])
    surface_c = np.where(trace.time_s[:, None] <= off_s, trace["surface_c"], np.nan)
    sugar = np.full(when_s.size, run.item.sugar)
    served = np.where(trace.time_s[:, None] <= when_s + 1.0, trace["core_c"], -np.inf)
    return Plates(
        level=level_of_colour(at_each(trace, "colour", when_s), members["dark_at"]),
        tender=at_each(trace, "gelatin_core", when_s) / members["tender_at"],
        loss=at_each(trace, "evaporated", when_s) + at_each(trace, "dripped", when_s),
        peak_c=np.max(np.where(np.isnan(served), -np.inf, served), axis=0),
        dose=sugar_dose(trace.time_s, surface_c, trace["activity"], np.isin(stage, sauced), sugar, run.main.track.seed),
    )
