"""The course of an item as it is planned and as the ledger says it went."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan, StagePlan, Until
from pitreckon.cook.until import parse_until
from pitreckon.ledger import Act

PIT_KINDS = ("open", "wrapped", "sauced")
STANDING = "standing"
STANDING_S, STANDING_THIN_S = 3 * 3600.0, 5400.0
"""How far past ready the piece is followed, to see when it is past its best [s]: a thin one is cold long before."""

_STAGE_OF_ACT = {
    "wrapped": "wrapped",
    "unwrapped": "open",
    "sauced": "sauced",
    "took off": "rest",
    "rest": "rest",
    "hold": "hold",
}


@dataclass(frozen=True)
class Stage:
    """One stage with what the ledger says of it.

    plan: what is done and what ends it; ended_utc: the cook ended it then; running: the ledger shows that the
    stage was still on at the present; wrap: what is on the piece, carried over into rests and holds
    there: it runs, and what it waits for has been felt, so that it is over now, whatever the members have
    """

    plan: StagePlan
    wrap: str | None
    ended_utc: datetime | None = None
    running: bool = False
    there: bool = False


def last_on_pit(stages: Sequence[Stage]) -> int:
    """Number of the last stage on the pit. Raises ValueError: there is none"""
    return max(n for n, stage in enumerate(stages) if stage.plan.kind in PIT_KINDS)


def planned_stages(cut: Cut, item: ItemPlan, cook: Cook) -> tuple[StagePlan, ...]:
    """The item's own stages, or its cut's usual course."""
    if item.stages:
        return item.stages
    zone: ZoneInfo = cook.zone_info
    return tuple(
        StagePlan(
            kind=stage.do,
            until=parse_until(stage.until, after_utc=item.put_on_utc, zone=zone, serve_utc=cook.served_at(item)),
            wrap=stage.wrap or None,
            air_c=65.0 if stage.do == "hold" else None,
        )
        for stage in cut.course
    )


def course_so_far(plans: Sequence[StagePlan], acts: Sequence[Act], *, live: bool) -> tuple[Stage, ...]:
    """Lay the acts of the ledger over the planned stages.

    An act moves the item to the next planned stage of its kind and ends all before it; where the plan has
    none, a stage of that kind is put in, with the criterion of the stage that it cuts short; one off the pit ends all
    that was planned on it.

    plans: stages as planned
    acts: acts on this item up to now, in order of time, all pieces
    live: the cook keeps a ledger of this item, so that what it does not say has not been done
    """
    plans = list(plans)
    ended: dict[int, datetime] = {}
    at = 0
    over: datetime | None = None
    for act in acts:
        if act.act == "served":
            over = act.at_utc
            break
        kind = _STAGE_OF_ACT.get(act.act)
        if kind is None or (act.act == "rest" and plans[at].kind == "rest"):
            continue
        target = next((i for i in range(at + 1, len(plans)) if plans[i].kind == kind), None)
        if act.act == "took off" and target is None:
            target = next((i for i in range(at + 1, len(plans)) if plans[i].kind == "hold"), None)
        if target is None:
            put_in = _put_in(kind, plans[at], act)
            plans = [*plans[: at + 1], put_in, *_still_to_come(kind, plans[at + 1 :])]
            target = at + 1
        elif act.act == "wrapped" and act.detail:
            plans[target] = replace(plans[target], wrap=act.detail)
        elif act.act == "hold" and act.air_c is not None:
            plans[target] = replace(plans[target], air_c=act.air_c)
        for i in range(at, target):
            ended.setdefault(i, act.at_utc)
        at = target
    if over is not None:
        for i in range(at, len(plans)):
            ended.setdefault(i, over)
    stages = []
    on: str | None = None
    for i, plan in enumerate(plans):
        if plan.kind in PIT_KINDS:
            on = plan.wrap if plan.kind == "wrapped" else None
        elif plan.wrap is not None:
            on = None if plan.wrap == "none" else plan.wrap
        running = live and i == at and over is None and plan.kind in PIT_KINDS
        stages.append(Stage(plan, on, ended.get(i), running))
    return tuple(stages)


def _still_to_come(kind: str, plans: Sequence[StagePlan]) -> list[StagePlan]:
    """Planned stages that a stage of a kind put in before them leaves: what is off the pit does not go back on."""
    if kind in PIT_KINDS:
        return list(plans)
    return [plan for plan in plans if plan.kind == "hold" or (plan.kind == "rest" and kind == "rest")]


def _put_in(kind: str, cut_short: StagePlan, act: Act) -> StagePlan:
    if kind == "wrapped":
        until = cut_short.until if cut_short.until.ends_by != "colour" else Until("tender")
        return StagePlan("wrapped", until, wrap=act.detail or "foil")
    if kind == "sauced":
        return StagePlan("sauced", Until("glaze"))
    if kind == "open":
        return StagePlan("open", cut_short.until if cut_short.until.ends_by != "glaze" else Until("tender"))
    if kind == "hold":
        return StagePlan("hold", Until("minutes", STANDING_S), air_c=act.air_c or 65.0)
    return StagePlan("rest", Until("minutes", 60.0))
