"""A probe that slides in before the colour is set, or before the core is at its number: nothing is waited for any more.

A wrap is there to get meat tender, so meat that is tender is not wrapped; and tender goes before a number at the core,
which only stands for it (common practice, no source). Then the stage that runs ends by the feel, and what was planned
up to it falls away: the next act is the one after, sauce or take off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from pitreckon.catalog import Cut
from pitreckon.cook import StagePlan, Until
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Look
from pitreckon.reckon.stages import PIT_KINDS, Stage

NOT_YET: Final = "ready"
"""The look that takes an earlier one back: the cook looked, and did not go on."""
OVERTAKEN: Final = frozenset({"colour", "core", "tender"})
"""What is not waited for once it is tender; at the last it is what was waited for, and members may not have it."""


def as_felt(
    cut: Cut, stages: Sequence[Stage], looks: Sequence[tuple[float, Look]], zero: float, *, over: bool = False
) -> tuple[Stage, ...]:
    """The course of a piece whose probe has slid in, while it was in a stage that waits for something else.

    looks: at it, [s since put-on], in order of time; zero: epoch of put-on [s]
    over: only where the cook has ended that stage since, and with it all up to the tender one
    """
    stages = tuple(stages)
    begin_s = 0.0
    for i, stage in enumerate(stages):
        end_s = None if stage.ended_utc is None else stage.ended_utc.timestamp() - zero
        last = _tender_stage(cut, stages, i)
        waits = stage.plan.kind in PIT_KINDS and stage.plan.until.ends_by in OVERTAKEN
        if waits and last is not None and (stage.running if end_s is None else stages[last].ended_utc):
            same = all(each.ended_utc == stage.ended_utc for each in stages[i : last + 1])
            until = _tender_of(stages[last].plan)
            if same and not (over and end_s is None) and _slid_in(looks, begin_s, end_s, until.level):
                plan = replace(stage.plan, until=until, about_utc=stages[last].plan.about_utc)
                return (*stages[:i], replace(stage, plan=plan, there=stage.running), *stages[last + 1 :])
        if end_s is None:
            break
        begin_s = end_s
    return stages


def _tender_stage(cut: Cut, stages: Sequence[Stage], index: int) -> int | None:
    """The stage on the pit, from one of them on, at whose end it is tender; None: it is done by its core."""
    if cut.texture.done_by != "tender":
        return None
    on_pit = [n for n, stage in enumerate(stages) if n >= index and stage.plan.kind in PIT_KINDS]
    by_feel = [n for n in on_pit if stages[n].plan.until.ends_by == "tender"]
    by_core = [n for n in on_pit if stages[n].plan.until.ends_by == "core"]
    return (by_feel or by_core or [index])[-1]


def _tender_of(plan: StagePlan) -> Until:
    return plan.until if plan.until.ends_by == "tender" else Until("tender")


def _slid_in(looks: Sequence[tuple[float, Look]], begin_s: float, end_s: float | None, level: float) -> bool:
    """Does the last word on how tender it is, within a stage, say that it is there?"""
    said = [
        look
        for at_s, look in looks
        if begin_s < at_s
        and (end_s is None or at_s <= end_s)
        and (look.kind == NOT_YET or LOOK_KINDS[look.kind].confirms == "tender")
    ]
    return bool(said) and said[-1].kind != NOT_YET and LOOK_KINDS[said[-1].kind].step(said[-1].value) >= level
