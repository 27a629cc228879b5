"""Schedules: whatever is asked, what comes out can be done, and more means never make it worse."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.cook import Away
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.courses import courses_of, is_wrapped
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.slots import may_go_out, on_time, run_course, slots_of
from pitreckon.plan.schedule.solve import Found, choose, needed
from pitreckon.plan.schedule.tables import Due, Option
from pitreckon.plan.schedule.write_schedule import schedule_of
from pitreckon.plan.space.layout import places_needed
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
MEMBERS = 24
CUTS = {"st-louis-ribs": 1.1, "boston-butt": 3.5, "chicken-thigh": 0.2, "turkey-breast": 2.0}
MOST = examples(60)
FEW = settings(max_examples=MOST)


def options_from(wishes: Wishes, seed: int, spread: float) -> list[tuple[Option, ...]]:
    """Scenarios out of a hat, one draw of luck for each member whatever is done: no model runs here."""
    out = []
    for number, wish in enumerate(wishes.items):
        luck = np.random.default_rng(seed + number).standard_normal(MEMBERS)
        base_s = 3600.0 * (1.5 + 6.0 * np.random.default_rng(seed * 31 + number).random())
        made = []
        for pit in wishes.pits:
            if wish.pits and pit.label not in wish.pits:
                continue
            for set_c in pit.sets_c:
                for course in courses_of(wish, wishes.zone_info, SERVE - timedelta(days=1)):
                    wrapped = is_wrapped(course)
                    ready = base_s * (150.0 / set_c) * (0.85 if wrapped else 1.0) * np.exp(spread * luck)
                    dues = [Due("wrap", 0.5 * ready, 0.7 * ready)] if wrapped else []
                    dues.append(Due("take off", ready, ready + 5400.0))
                    # sooner than the last piece is off: the two want one pair of hands, one after the other
                    dues.append(Due("hold", ready + 60.0, ready + 5400.0))
                    area = wish.pieces * places_needed(wish, wish.mass_kg, pit)
                    made.append(
                        Option(
                            *(pit.label, set_c, wrapped, course, tuple(dues)),
                            first_s=ready - 300.0,
                            last_s=ready + 300.0,
                            off_s=ready,
                            past_s=ready + 5 * 3600.0,
                            done=np.ones(MEMBERS, dtype=bool),
                            area_m2=area,
                        )
                    )
        out.append(tuple(made))
    return out


@st.composite
def asked(draw: st.DrawFn) -> tuple[Wishes, int, float]:
    pits = tuple(
        PitWish(f"pit {n}", draw(st.sampled_from(("pellet-cooker", "kettle"))), tuple(draw(sets)))
        for n in range(draw(st.integers(1, 2)))
        for sets in [st.lists(st.sampled_from((107.0, 121.0, 135.0)), min_size=1, max_size=2, unique=True)]
    )
    items = tuple(
        ItemWish(
            f"item {n}",
            cut,
            pieces=draw(st.integers(1, 3)),
            mass_kg=CUTS[cut],
            wrapping=draw(st.sampled_from(("without", "either"))),
            least_hold_s=draw(st.sampled_from((0.0, 1800.0))),
            most_hold_s=draw(st.sampled_from((3600.0, 3 * 3600.0, 5 * 3600.0))),
        )
        for n, cut in enumerate(draw(st.lists(st.sampled_from(sorted(CUTS)), min_size=1, max_size=3)))
    )
    away = draw(st.lists(st.integers(2, 9), max_size=1))
    hands = Hands(
        draw(st.integers(1, 2)), tuple(Away(SERVE - timedelta(hours=h), SERVE - timedelta(hours=h - 1)) for h in away)
    )
    earliest = draw(st.none() | st.integers(8, 24).map(lambda h: SERVE - timedelta(hours=h)))
    places = draw(st.none() | st.integers(2, 9))
    chance = draw(st.sampled_from((0.5, 0.8, 0.95)))
    wishes = Wishes(
        *("day", "UTC", SERVE, pits, items),
        hands=hands,
        earliest_utc=earliest,
        hold_places=places,
        chance=chance,
    )
    return wishes, draw(st.integers(0, 10_000)), draw(st.sampled_from((0.02, 0.05, 0.15)))


def amounts_of(wishes: Wishes) -> list[Amount]:
    return [Amount(item.pieces, item.mass_kg) for item in wishes.items]


def planned(wishes: Wishes, seed: int, spread: float) -> Found:
    day = day_of(wishes, amounts_of(wishes), options_from(wishes, seed, spread))
    return choose(day, limit_s=2.0, workers=1)


@FEW
@given(asked())
def test_no_schedule_breaks_a_constraint(what: tuple[Wishes, int, float]) -> None:
    wishes, seed, spread = what
    found = planned(wishes, seed, spread)
    if found.picked is None:
        return
    ok = [slot.ok for slot in found.picked.slots]
    schedule = schedule_of(wishes, amounts_of(wishes), found.day, found.picked, ok)
    assert faults_of(wishes, schedule) == ()
    # And in as many scenarios as it says, reckoned anew from its put-ons.
    again = []
    for slot in found.picked.slots:
        task = found.day.tasks[slot.task]
        course = run_course(task, task.options[slot.option], np.array([slot.put_on_s]), found.day.away)
        again.append(on_time(task, course)[0])
    assert np.all(again, axis=0).sum() >= needed(found.day)


def best(found: Found) -> int:
    """Scenarios on time: -1 where there is no schedule."""
    return -1 if found.picked is None else found.picked.on_time


def is_proved(found: Found) -> bool:
    return bool(found.stages) and found.stages[0].status in {"optimal", "infeasible"}


@FEW
@given(asked())
def test_more_hands_or_time_or_room_never_make_it_worse(what: tuple[Wishes, int, float]) -> None:
    wishes, seed, spread = what
    now = planned(wishes, seed, spread)
    more = [replace(wishes, hands=replace(wishes.hands, cooks=wishes.hands.cooks + 1))]
    if wishes.earliest_utc is not None:
        more.append(replace(wishes, earliest_utc=wishes.earliest_utc - timedelta(hours=2)))
    if wishes.hold_places is not None:
        more.append(replace(wishes, hold_places=wishes.hold_places + 3))
    if wishes.hands.away:
        # With one more pair: an act that waited for somebody to be back may now fall on another's.
        more.append(replace(wishes, hands=Hands(wishes.hands.cooks + 1)))
    for wider in more:
        # A piece that nobody is there to take off lies on, which now and then is the wait that it wants.
        luck = MEMBERS // 12 if wider.hands.away != wishes.hands.away else 0
        then = planned(wider, seed, spread)
        if is_proved(now) and is_proved(then) and (best(then) > 0 or not luck):
            enough = int(np.ceil(MEMBERS * (wishes.chance + 0.5 * (1.0 - wishes.chance)) - 1e-9))
            assert best(then) >= min(best(now), enough) - luck


def test_the_same_question_has_the_same_answer() -> None:
    pits = (PitWish("box", "pellet-cooker", (121.0, 135.0)),)
    items = (
        ItemWish("ribs", "st-louis-ribs", pieces=2, mass_kg=1.1, wrapping="either"),
        ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.5, most_hold_s=6 * 3600.0),
    )
    wishes = Wishes("day", "UTC", SERVE, pits, items, chance=0.8)
    one, other = (planned(wishes, 7, 0.1).picked for _ in range(2))
    assert one is not None
    assert other is not None
    assert [slot.put_on_s for slot in one.slots] == [slot.put_on_s for slot in other.slots]


def test_no_fire_is_lit_the_evening_before_for_what_goes_on_in_the_morning() -> None:
    """Nobody lights a pit at eleven, sleeps, and puts the first piece on at six (common practice, no source)."""
    box = PitWish("box", "pellet-cooker", (121.0,))
    butt = ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.5, most_hold_s=3600.0)
    plain = Wishes("day", "UTC", SERVE, (box,), (butt,), chance=0.4)
    options = options_from(plain, 3, 0.02)
    # Up at the very minute at which the slowest would have to go on: the best there is, were the pit hot by then.
    up = SERVE - timedelta(seconds=600.0 * np.ceil(float(options[0][0].last_s.max()) / 600.0))
    asleep = Away(up - timedelta(hours=7), up, "asleep")
    wishes = replace(plain, hands=Hands(1, (asleep,)))
    day = day_of(wishes, amounts_of(wishes), options)
    picked = choose(day, limit_s=2.0).picked
    assert picked is not None
    hot_s = picked.lights["box"] + day.place("box").lit_s
    assert 0.0 <= picked.slots[0].put_on_s - hot_s <= 3600.0
    assert picked.lights["box"] >= (up - SERVE).total_seconds()
    # Where the put-on itself was asked for, it is lit for it as it can be.
    set_on = replace(wishes, items=(replace(butt, put_on_utc=up),))
    asked_for = choose(day_of(set_on, amounts_of(set_on), options), limit_s=2.0).picked
    assert asked_for is not None
    assert asked_for.lights["box"] < (asleep.from_utc - SERVE).total_seconds()


def test_a_fire_that_lasts_the_night_is_chosen_where_there_is_one() -> None:
    """Nobody who sleeps leaves a pit that is out by five, if a cooler one is not (common practice, no source)."""
    box = PitWish("box", "pellet-cooker", (107.0, 135.0))
    butt = ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.5, most_hold_s=1800.0)
    asleep = Away(SERVE - timedelta(hours=11), SERVE - timedelta(hours=2), "asleep")
    wishes = Wishes("day", "UTC", SERVE, (box,), (butt,), hands=Hands(1, (asleep,)), chance=0.6)
    options = options_from(wishes, 3, 0.02)
    # Nothing to do to it at night, and so long that it is on through all of it.
    slow = [replace(o, dues=(), first_s=o.first_s * 0 + 39600.0, last_s=o.last_s * 0 + 39900.0) for o in options[0]]
    slow = [replace(o, off_s=o.last_s, past_s=o.last_s + 1e5) for o in slow if not o.wrapped]
    day = day_of(wishes, amounts_of(wishes), [tuple(slow)])
    cool, hot = day.places[0].lasts_s
    assert hot < 9 * 3600.0 < cool
    assert may_go_out(day)
    for asked_for, hot_or_cool in ((day, {107.0, 135.0}), (replace(day, unfed=True), {107.0})):
        slots = slots_of(asked_for, 0, least=MEMBERS)
        assert {day.tasks[0].options[slot.option].set_c for slot in slots} == hot_or_cool


def test_lots_go_on_in_the_order_of_their_numbers() -> None:
    pits = (PitWish("box", "pellet-cooker", (121.0,)),)
    lots = [ItemWish(f"thighs, lot {n}", "chicken-thigh", pieces=4, mass_kg=0.2) for n in (1, 2, 3)]
    wishes = Wishes("day", "UTC", SERVE, pits, tuple(lots), chance=0.3)
    for seed in range(4):
        picked = planned(wishes, seed, 0.1).picked
        assert picked is not None
        put_on = [slot.put_on_s for slot in picked.slots]
        assert put_on == sorted(put_on)
