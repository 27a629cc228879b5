"""The courses that an item may take: as its cut goes, wrapped, or bare."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.cook.plan import StagePlan, Until
from pitreckon.cook.until import parse_until
from pitreckon.errors import InputError, Place
from pitreckon.plan.wishes import ItemWish

STALL_C = 73.9
"""165 F at the core: where a thick cut is wrapped. Common practice, no source."""
USUAL_WRAP = "foil"


def courses_of(wish: ItemWish, zone: ZoneInfo, put_on_utc: datetime) -> tuple[tuple[StagePlan, ...], ...]:
    """The courses that may be chosen from, the usual one first, without their holds.

    put_on_utc: any instant before serving; courses that end by the clock are refused

    Raises InputError: a stage ends by the clock, so how long it takes depends on when it begins.
    """
    cut = catalog.cut(wish.cut)
    usual = _usual(wish, cut, zone, put_on_utc)
    for stage in usual:
        if stage.until.ends_by == "clock":
            raise InputError(
                f"a stage of '{wish.label}' ends by the clock, and its put-on is still to be chosen",
                "Write what the meat is to be like (203 F, tender) or how long it lasts (2h30)",
                Place(field="until"),
            )
    if wish.stages or wish.wrapping == "usual":
        return (usual,)
    bare, wrapped = without_wrap(usual), with_wrap(usual, cut, wish.wrap)
    if wish.wrapping == "with":
        return (wrapped,)
    if wish.wrapping == "without":
        return (bare,)
    return (usual, *(each for each in (bare, wrapped) if each != usual))


def is_wrapped(stages: tuple[StagePlan, ...]) -> bool:
    """Is it wrapped on the pit at some time?"""
    return any(stage.kind == "wrapped" for stage in stages)


def without_wrap(stages: tuple[StagePlan, ...]) -> tuple[StagePlan, ...]:
    """The course bare: what was waited for in the wrap is waited for in the smoke."""
    out: list[StagePlan] = []
    for stage in stages:
        if stage.kind != "wrapped":
            out.append(stage)
        elif out and out[-1].kind == "open":
            out[-1] = replace(out[-1], until=stage.until)
        else:
            out.append(StagePlan("open", stage.until))
    return tuple(out)


def with_wrap(stages: tuple[StagePlan, ...], cut: Cut, wrap: str | None) -> tuple[StagePlan, ...]:
    """The course with a wrap: its own, else from the stall on, or from a set colour where there is no stall."""
    if is_wrapped(stages):
        return tuple(
            replace(stage, wrap=wrap) if wrap is not None and stage.kind == "wrapped" else stage for stage in stages
        )
    at = next((i for i, stage in enumerate(stages) if stage.kind == "open"), None)
    if at is None:
        return stages
    goal = stages[at].until
    late = goal.core_c is not None and goal.core_c > STALL_C + 1.0
    stalls = cut.texture.done_by == "tender" and (late or goal.ends_by == "tender")
    first = StagePlan("open", Until("core", STALL_C) if stalls else Until("colour"))
    # In the wrap it is the probe that tells, as in the courses that wrap by themselves.
    ends = Until("tender") if stalls or goal.ends_by == "colour" else goal
    then = StagePlan("wrapped", ends, wrap=wrap or USUAL_WRAP)
    return (*stages[:at], first, then, *stages[at + 1 :])


def _usual(wish: ItemWish, cut: Cut, zone: ZoneInfo, put_on_utc: datetime) -> tuple[StagePlan, ...]:
    if wish.stages:
        stages = wish.stages
    else:
        stages = tuple(
            StagePlan(stage.do, parse_until(stage.until, after_utc=put_on_utc, zone=zone), wrap=stage.wrap or None)
            for stage in cut.course
            if stage.do != "hold"
        )
    kept = list(stages)
    while kept and kept[-1].kind == "hold":
        kept.pop()
    if not kept:
        raise InputError(f"'{wish.label}' has nothing but a hold", "Give it a stage on a pit", Place(field="stage"))
    return tuple(kept)
