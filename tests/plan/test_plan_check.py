"""The checker names every way in which a schedule can be wrong, and is silent about one that is right."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from validation.days.share import Lived, share_on_time

from pitreckon.cook import Away, StagePlan, Until
from pitreckon.plan.schedule import check as checker
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.courses import courses_of, is_wrapped
from pitreckon.plan.schedule.schedule import Call, PlannedItem, PlannedPit, Schedule, Span, Trip
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)


def at(minutes: float) -> datetime:
    """Minutes from serving."""
    return SERVE + timedelta(minutes=minutes)


WISHES = Wishes(
    *("day", "UTC", SERVE),
    (PitWish("box", "pellet-cooker", (121.0, 135.0)), PitWish("drum", "kettle", (135.0,))),
    (
        ItemWish("ribs", "st-louis-ribs", pieces=2, mass_kg=1.1, pits=("box",), wrapping="with"),
        ItemWish("thighs", "chicken-thigh", pieces=8, mass_kg=0.2, wrapping="without"),
    ),
    hands=Hands(1, (Away(at(-240), at(-180)),)),
    chance=0.8,
    earliest_utc=at(-600),
    hold_places=2,
)


COURSES = {wish.label: courses_of(wish, WISHES.zone_info, at(-1440)) for wish in WISHES.items}


def item(
    label: str, cut: str, pieces: int, mass_kg: float, pit: str, on: float, off: float, wrapped: bool
) -> PlannedItem:
    ready = Span(at(off - 20), at(off), at(off + 10))
    course = next(c for c in COURSES[label] if is_wrapped(c) == wrapped)
    return PlannedItem(
        *(label, cut, pieces, mass_kg, pit, 135.0, wrapped, course, at(on), at(off), ready),
        hold_s=600.0,
        hold_c=70.0,
        chance=0.9,
    )


def made() -> Schedule:
    items = (
        item("ribs", "st-louis-ribs", 2, 1.1, "box", -360, -60, True),
        item("thighs", "chicken-thigh", 8, 0.2, "box", -90, -15, False),
    )
    calls = [
        Call(at(-420), "light", "box", 600.0),
        Call(at(-360), "put on", "ribs", 180.0),
        Call(at(-170), "wrap", "ribs", 240.0),
        Call(at(-90), "put on", "thighs", 360.0),
        Call(at(-60), "take off", "ribs", 180.0),
        Call(at(-15), "take off", "thighs", 360.0),
        Call(SERVE, "serve", "day"),
    ]
    pits = (PlannedPit("box", "pellet-cooker", 135.0, at(-420), at(-15), 4.0),)
    return Schedule("day", "UTC", SERVE, pits, items, tuple(Trip(c.at_utc, (c,)) for c in calls), 0.85, 0.85, 4.0)


def changed(schedule: Schedule, label: str, **what: object) -> Schedule:
    return replace(
        schedule,
        items=tuple(replace(i, **what) if i.label == label else i for i in schedule.items),  # type: ignore
    )


def moved(schedule: Schedule, on: str, act: str, by_min: float) -> Schedule:
    trips = []
    for trip in schedule.trips:
        calls = [
            replace(c, at_utc=c.at_utc + timedelta(minutes=by_min)) if (c.on, c.act) == (on, act) else c
            for c in trip.calls
        ]
        trips.append(replace(trip, calls=tuple(calls)))
    return replace(schedule, trips=tuple(trips))


def without(schedule: Schedule, on: str, act: str) -> Schedule:
    trips = [
        replace(trip, calls=tuple(call for call in trip.calls if (call.on, call.act) != (on, act)))
        for trip in schedule.trips
    ]
    return replace(schedule, trips=tuple(trips))


def test_a_good_one_has_no_faults() -> None:
    assert faults_of(WISHES, made()) == ()


FAULTY = [
    (lambda s: replace(s, items=s.items[:1]), "thighs is not in the schedule"),
    (lambda s: replace(s, serve_utc=at(30)), "served at another time"),
    (lambda s: replace(s, sampled=0.7), "70 % of its scenarios"),
    (lambda s: changed(s, "ribs", pit="drum"), "where it may not"),
    (lambda s: changed(s, "ribs", pieces=3), "3 pieces"),
    (lambda s: changed(s, "ribs", wrapped=False), "is to be wrapped and is not"),
    (lambda s: changed(s, "thighs", wrapped=True), "is not to be wrapped and is"),
    (lambda s: changed(s, "ribs", hold_s=5 * 3600.0), "is held 5 h"),
    (lambda s: changed(s, "ribs", hold_c=50.0), "below 135"),
    (lambda s: changed(s, "ribs", put_on_utc=at(-700)), "before work may begin"),
    (lambda s: changed(s, "ribs", put_on_utc=at(10)), "after it is served"),
    (lambda s: changed(s, "ribs", set_c=121.0), "stands at another temperature"),
    (lambda s: replace(s, pits=()), "which is not lit"),
    (lambda s: replace(s, pits=(replace(s.pits[0], set_c=140.0),)), "was not allowed"),
    (lambda s: replace(s, pits=(replace(s.pits[0], lit_utc=at(-361)),)), "not hot yet"),
    (lambda s: replace(s, pits=(replace(s.pits[0], lit_utc=at(-660)),)), "lit before work may begin"),
    (lambda s: replace(s, pits=(replace(s.pits[0], lit_utc=at(-500)),)), "stands hot for too long"),
    (lambda s: moved(s, "box", "light", 5), "nobody lights box"),
    (lambda s: moved(s, "ribs", "put on", 5), "nobody puts ribs on"),
    (lambda s: moved(s, "ribs", "wrap", -20), "when nobody is there"),
    (lambda s: moved(s, "ribs", "wrap", -200), "before it goes on"),
    (lambda s: moved(s, "ribs", "take off", -29), "2 pairs of hands at once"),
    (lambda s: moved(s, "ribs", "take off", -115), "out of order"),
    (lambda s: changed(s, "ribs", stages=s.items[0].stages[:-1]), "does not go through a course"),
    (lambda s: changed(s, "ribs", stages=()), "does not go through a course"),
    (
        lambda s: changed(s, "thighs", stages=(StagePlan("open", Until("minutes", 600.0)),)),
        "thighs does not go through a course",
    ),
    (lambda s: changed(s, "ribs", ready=Span(at(60), at(90), at(120))), "ready after serving in most"),
    (lambda s: changed(s, "ribs", ready=Span(at(-400), at(-390), at(-380))), "ready before it goes on"),
    (lambda s: changed(s, "ribs", off_utc=at(-370)), "off the pit before it goes on"),
    (lambda s: changed(s, "ribs", chance=0.2), "less often than all of it together"),
    (lambda s: replace(s, chance=0.0), "of unseen scenarios are on time"),
    (lambda s: without(s, "ribs", "take off"), "nobody takes ribs off"),
    (lambda s: without(s, "ribs", "wrap"), "nobody wraps it"),
    (lambda s: changed(s, "thighs", ready=Span(at(-50), at(-40), at(-30))), "10 pieces are to be held warm"),
]


@pytest.mark.parametrize(("spoil", "says"), FAULTY, ids=[says for _, says in FAULTY])
def test_each_fault_is_named(spoil, says) -> None:  # type: ignore[no-untyped-def]
    assert any(says in fault for fault in faults_of(WISHES, spoil(made()))), faults_of(WISHES, spoil(made()))


def test_what_does_not_lie_on_the_pit_is_named() -> None:
    many = replace(WISHES, items=(WISHES.items[0], replace(WISHES.items[1], pieces=400)), hold_places=None)
    faults = faults_of(many, changed(made(), "thighs", pieces=400))
    assert any("do not lie on box together" in fault for fault in faults)


def test_it_knows_nothing_of_the_solver() -> None:
    tree = ast.parse(Path(checker.__file__).read_text(encoding="utf-8"))
    modules = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    solver = {"cpsat", "solve", "slots", "scenarios", "tables", "infeasible", "replan", "problem", "write_schedule"}
    assert all(find_spec(f"pitreckon.plan.schedule.{name}") for name in solver)
    assert not {f"pitreckon.plan.schedule.{name}" for name in solver} & modules


def test_each_act_has_its_own_pair_of_hands() -> None:
    """Eight thighs are taken off for six minutes; meanwhile the first of them wait to be put into the warm place."""
    schedule = made()
    warm = Call(at(-12), "hold", "thighs", 180.0)
    both = replace(schedule, trips=(*schedule.trips[:-1], Trip(warm.at_utc, (warm,)), schedule.trips[-1]))
    assert faults_of(WISHES, both) == ("thighs: hold, thighs: take off want 2 pairs of hands at once",)
    assert faults_of(replace(WISHES, hands=replace(WISHES.hands, cooks=2)), both) == ()
    after = replace(warm, at_utc=at(-9))
    assert faults_of(WISHES, replace(schedule, trips=(*schedule.trips[:-1], Trip(after.at_utc, (after,))))) == ()


def test_what_burns_already_need_not_be_lit() -> None:
    rest = replace(without(made(), "box", "light"), sampled=0.9)
    assert faults_of(WISHES, rest) == ("nobody lights box when it is to be lit",)
    assert faults_of(WISHES, rest, now_utc=at(-400)) == ()


def test_a_hold_that_is_too_short_is_named() -> None:
    longer = replace(WISHES, items=(replace(WISHES.items[0], least_hold_s=7200.0), WISHES.items[1]))
    assert any("shorter than 2 h" in fault for fault in faults_of(longer, made()))


def test_the_share_on_time_by_hand() -> None:
    """Two items, four scenarios: ribs late in the first, held too long in the second, thighs not done in the third."""
    hour = 3600.0
    ribs = Lived(
        *(np.array(x) * hour for x in ([5.8, 1.0, 5.5, 5.5], [6.2, 5.9, 5.8, 5.8], [9.0, 9.0, 9.0, 9.0])),
        done=np.array([True, True, True, True]),
    )
    thighs = Lived(
        *(np.array(x) * hour for x in ([1.2] * 4, [1.4] * 4, [9.0] * 4)), done=np.array([True, True, False, True])
    )
    assert share_on_time(WISHES, made(), {"ribs": ribs, "thighs": thighs}) == 0.25
