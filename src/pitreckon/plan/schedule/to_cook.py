"""A planned day as a cook, which ``reckon`` can follow: with the plan's times, from lighting the fire to serving."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.plan.schedule.leaving import tasks_of
from pitreckon.plan.schedule.schedule import PlannedItem, PlannedPit, Schedule
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon.windows import act_between


def to_cook(wishes: Wishes, schedule: Schedule) -> Cook:
    """The cook that a schedule plans: its fires lit and fed, its items at their put-ons, held until served.

    Every act has the time of the schedule, so that whatever is made of the cook tells the same ones.
    """
    pans = {pit.label: pit.water_pan for pit in wishes.pits}
    pits = tuple(_pit(pit, pans.get(pit.label), schedule) for pit in schedule.pits)
    items = tuple(_item(wishes, each, schedule) for each in schedule.items)
    return wishes.as_cook(pits, items, wishes.serve_utc, tasks=tasks_of(wishes), away=wishes.hands.away)


def _light_utc(pit: PlannedPit, schedule: Schedule) -> datetime | None:
    """When the trip is on which it is lit."""
    lit = (trip.at_utc for trip in schedule.trips for call in trip.calls if (call.act, call.on) == ("light", pit.label))
    return next(lit, pit.lit_utc)


def _pit(pit: PlannedPit, water_pan: bool | None, schedule: Schedule) -> PitPlan:
    return PitPlan(
        label=pit.label,
        kind=pit.kind,
        set_c=pit.set_c,
        water_pan=water_pan,
        light_utc=None if pit.lit_utc is None else _light_utc(pit, schedule),
        feed_every_s=pit.wants.feed_every_s,
        feed_kg=pit.wants.feed_kg,
        water_every_s=pit.wants.water_every_s,
        ash_every_s=pit.wants.ash_every_s,
    )


def _timed(stages: Sequence[StagePlan], acts: Sequence[tuple[str, datetime]]) -> tuple[StagePlan, ...]:
    """Stages with the times at which the plan ends them. acts: what ends one after the other, in order of time."""
    left = list(acts)
    out = []
    for stage, after in zip(stages, [*stages[1:], None], strict=True):
        act = act_between(stage, after)
        told = act is not None and bool(left) and left[0][0] == act
        out.append(replace(stage, about_utc=left.pop(0)[1]) if told else stage)
    return tuple(out)


def _item(wishes: Wishes, planned: PlannedItem, schedule: Schedule) -> ItemPlan:
    wish = next(item for item in wishes.items if item.label == planned.label)
    acts = [
        (call.act, trip.at_utc)
        for trip in schedule.trips
        for call in trip.calls
        if call.on == planned.label and call.act != "put on"
    ]
    hold = StagePlan("hold", Until("clock", wishes.served_at(wish)), air_c=planned.hold_c)
    return ItemPlan(
        label=wish.label,
        cut=wish.cut,
        pieces=planned.pieces,
        mass_kg=planned.mass_kg,
        pit=planned.pit,
        put_on_utc=planned.put_on_utc,
        start_c=wish.start_c,
        thickness_m=wish.thickness_m,
        thickness_factor=wish.thickness_factor,
        sugar=wish.sugar,
        salt_g_per_kg=wish.salt_g_per_kg,
        serve_utc=wish.serve_utc,
        stages=_timed((*planned.stages, hold) if wish.most_hold_s > 0.0 else planned.stages, acts),
    )
