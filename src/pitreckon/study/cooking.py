"""One setting of a study cooked by all its members: as the plan has it, or as somebody with habits goes about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Cook, ItemPlan, StagePlan
from pitreckon.ledger import Ledger
from pitreckon.lessons.card.finished import StageRecord
from pitreckon.lessons.card.following import Step, as_followed, steps_of
from pitreckon.lessons.card.readers import Audience, audience, habits_of
from pitreckon.lessons.card.script import Line, Script
from pitreckon.reckon.evidence import Evidence
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Ensemble, ensemble, tracks_of
from pitreckon.reckon.stages import PIT_KINDS, planned_stages
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.update import Information
from pitreckon.section.course import COLUMN, Course
from pitreckon.section.simulate import simulate_all
from pitreckon.study.plan import Habit
from pitreckon.study.settings import item_of

LOOKED_FOR: Final = ("colour", "tender", "core", "glaze")
NO_CLOCK: Final = 60.0


def cooked(cook: Cook, label: str, members: int, seed: int, habit: Habit | None = None) -> ItemRun:
    """An item with ``members`` of the prior, the same as ``reckon`` has them before anything is seen.

    habit: how the cook goes about it; None: looks all the time, is never wrong and never late

    One thread of the kernel: whoever spreads the work has the cores. Raises InputError: the cook is not possible.
    """
    (made,) = _made(cook, item_of(cook, label), members, seed)
    if habit is None:
        return _run(made)
    return _with_habit(_run(made), habit, seed)


def _made(cook: Cook, item: ItemPlan, members: int, seed: int) -> Sequence[Ensemble]:
    tracks = tracks_of(cook, item, Ledger(), cook.begin_utc, seed)
    return [ensemble(track, track.prior(members), track.horizon_s) for track in tracks]


def _run(made: Ensemble) -> ItemRun:
    (trace,) = simulate_all([made.job], threads=1)
    n = made.z.shape[1]
    alike = np.full(n, 1.0 / n)
    evidence = Evidence(alike, float(n), 1.0, float(n), before=alike)
    return ItemRun.of((Posterior(made, trace, evidence, Information.none(len(UNKNOWNS))),))


@dataclass(frozen=True)
class _Followed:
    """A course as somebody follows it: the stretches of the kernel; a step of None is as the plan has it."""

    script: Script
    steps: tuple[tuple[StagePlan, Step | None], ...]


def _with_habit(ideal: ItemRun, habit: Habit, seed: int) -> ItemRun:
    track = ideal.main.track
    cook, item, cut = track.cook, track.item, track.cut
    followed = _followed(ideal, planned_stages(cut, item, cook), habit, cook.pit(item.pit).set_c)
    stages = tuple(plan for plan, _ in followed.steps)
    put = replace(cook, items=tuple(replace(i, stages=stages) if i.label == item.label else i for i in cook.items))
    n = ideal.main.ensemble.z.shape[1]
    (made,) = _made(put, item_of(put, item.label), n, seed)
    who = _who(habit)
    habits = habits_of(who, n, seed)
    table = made.job.course.table.copy()
    boil_c = made.draw.members["boil_c"]
    for s, (_, step) in enumerate(followed.steps):
        if step is not None:
            line = followed.script.lines[step.line]
            for name, value in as_followed(step, line, followed.script, habits, who, cut, boil_c).items():
                table[s, COLUMN[name]] = value
    return _run(replace(made, job=replace(made.job, course=Course(table, made.job.course.names))))


def _followed(ideal: ItemRun, plans: Sequence[StagePlan], habit: Habit, set_c: float) -> _Followed:
    """The course with looks; times that are kept by the clock are the middle ones of who looks all the time."""
    ends = ideal.ends_s
    begins: Floats = np.vstack((np.zeros((1, ends.shape[1])), ends[:-1]))
    lines = []
    for n, plan in enumerate(plans):
        looked = plan.kind in PIT_KINDS and plan.until.ends_by in LOOKED_FOR
        took = plan.until.duration_s or NO_CLOCK
        low, middle, high = took, took, took
        each = (ends[n] - begins[n])[np.isfinite(ends[n])]
        if looked and each.size:
            low, middle, high = (float(span) for span in np.quantile(each, (0.1, 0.5, 0.9)))
        look = plan.until if looked else None
        lines.append(Line(plan, look, not looked, StageRecord(plan, took), low, middle, high))
    script = Script(tuple(lines), set_c, habit.look_every_s)
    steps: list[tuple[StagePlan, Step | None]] = []
    for step in steps_of(script):
        plan = plans[step.line]
        kept = step.part == "clock" and plan.until.duration_s is None  # until serving, say: nobody goes by a time
        steps.append((plan, None) if kept else (step.plan, step))
    return _Followed(script, tuple(steps))


def _who(habit: Habit) -> Audience:
    """The readers of a card who go about it like this."""
    return replace(
        audience(),
        late_s=habit.late_s,
        clock_share=habit.by_clock,
        colour_sd=habit.colour,
        feel_sd=habit.feel,
    )
