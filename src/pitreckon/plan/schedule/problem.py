"""Wishes as a planner's day: places, tasks and hours away in seconds from serving."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Final

from pitreckon import catalog
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.fuel.balance import Weather, fire_of, steady_kg_h
from pitreckon.plan.fuel.calibration import FuelLesson
from pitreckon.plan.fuel.tending import tending
from pitreckon.plan.schedule.lots import whole_of
from pitreckon.plan.schedule.tables import Day, Option, Place, Task, handfuls_of
from pitreckon.plan.space.layout import places_of
from pitreckon.plan.wishes import PitWish, Wishes
from pitreckon.reckon.fires import LATE

LONG: Final = timedelta(hours=24)
"""Over so long a fire shows how often it wants fuel."""


def day_of(
    wishes: Wishes,
    amounts: Sequence[Amount],
    options: Sequence[tuple[Option, ...]],
    lessons: Mapping[str, FuelLesson] | None = None,
    *,
    grid_s: float = 600.0,
) -> Day:
    """The day that is asked for.

    options: of each item, in the order of the wishes
    lessons: what was learned of the fuel of a pit, by its label
    """
    taught = lessons or {}
    serve = wishes.serve_utc.timestamp()
    begin = max(
        [at.timestamp() - serve for at in (wishes.earliest_utc, wishes.planned_utc) if at is not None],
        default=-float("inf"),
    )
    tasks = tuple(
        Task(
            label=wish.label,
            pieces=amount.pieces,
            options=of_item,
            least_hold_s=wish.shortest_hold_s,
            most_hold_s=wish.most_hold_s,
            rest_s=_rest_s(wish.cut, of_item[0]),
            serve_s=wishes.served_at(wish).timestamp() - serve,
            put_on_s=None if wish.put_on_utc is None else wish.put_on_utc.timestamp() - serve,
            handfuls=handfuls_of(amount.pieces, amount.mass_kg),
            lot_of=whole if (whole := whole_of(wish.label)) != wish.label else "",
        )
        for wish, amount, of_item in zip(wishes.items, amounts, options, strict=True)
    )
    return Day(
        tasks=tasks,
        places=tuple(place_of(pit, wishes, taught.get(pit.label)) for pit in wishes.pits),
        cooks=wishes.hands.cooks,
        away=tuple((a.from_utc.timestamp() - serve, a.until_utc.timestamp() - serve) for a in wishes.hands.away),
        earliest_s=begin,
        hold_places=wishes.hold_places,
        chance=wishes.chance,
        grid_s=grid_s,
    )


def weather_of(wishes: Wishes) -> Weather:
    """The air outside, as far as it is said."""
    return Weather() if wishes.weather_air_c is None else Weather(wishes.weather_air_c)


def place_of(pit: PitWish, wishes: Wishes, lesson: FuelLesson | None = None) -> Place:
    """A pit's room, lighting and fuel; as its kind burns, or as it was found to."""
    kind = catalog.pit(pit.kind)
    lit_s = fire_of(kind).lit_s.value if pit.lit_s is None else pit.lit_s
    outside = weather_of(wishes)
    over = 1.0 if lesson is None else lesson.factor.p50
    rates = tuple(over * steady_kg_h(kind, set_c, outside) for set_c in pit.sets_c)
    lasts = tuple(_lasts_s(pit, set_c, wishes, lesson) for set_c in pit.sets_c) if wishes.hands.away else ()
    return Place(pit.label, pit.sets_c, places_of(pit), lit_s, rates, lasts_s=lasts)


def _lasts_s(pit: PitWish, set_c: float, wishes: Wishes, lesson: FuelLesson | None) -> float:
    """How long a pit that was filled up burns at a temperature [s]; inf: it is not filled at all."""
    begin = wishes.serve_utc - LONG
    every_s = tending(pit, begin, wishes.serve_utc, set_c, weather_of(wishes), lesson).feed_every_s
    return float("inf") if every_s is None else (1.0 + LATE) * every_s


def _rest_s(cut_key: str, option: Option) -> float:
    """What is missing of the rest that goes with the official minimum."""
    rests = sum(stage.until.duration_s or 0.0 for stage in option.stages if stage.kind == "rest")
    return float(max(catalog.cut(cut_key).texture.least_rest_s.value - rests, 0.0))
