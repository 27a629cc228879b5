"""Planning again while the meat is on: only what is open moves, what moved is said, and promises are kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from validation.days.share import Lived, share_on_time

from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule import replan as again
from pitreckon.plan.schedule import solve
from pitreckon.plan.schedule.cache import OptionCache
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.replan import drawn, moved_words, replan
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.schedule.variants import variant, variants
from pitreckon.plan.schedule.write_schedule import schedule_of
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes
from pitreckon.reckon.forecast import reckoning

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
WISHES = Wishes(
    *("supper", "America/Chicago", SERVE),
    (PitWish("box", "pellet-cooker", (121.1, 135.0)),),
    (
        ItemWish("racks", "st-louis-ribs", pieces=3, mass_kg=1.1, most_hold_s=5 * 3600.0),
        ItemWish("thighs", "chicken-thigh", pieces=8, mass_kg=0.2, most_hold_s=4 * 3600.0),
    ),
    chance=0.7,
)


@pytest.fixture(scope="module")
def before():
    answer = plan(WISHES, members=64)
    assert answer.schedule is not None, answer.why
    return answer.schedule


@pytest.mark.kernel
def test_it_keeps_what_it_promised_with_other_members(before):
    """The cook that the schedule makes, reckoned by the forecaster with members that no choice has seen."""
    assert faults_of(WISHES, before) == ()
    assert before.chance >= 0.7 - 3.0 * np.sqrt(0.7 * 0.3 / 512)
    first = min(item.put_on_utc for item in before.items)
    outlook = reckoning(to_cook(WISHES, before), Ledger(), now=first - timedelta(hours=2), members=512, seed=99).outlook
    for item in outlook.items:
        promised = before.item(item.label).chance
        # two independent shares of 512, and three pieces whose likeness to each other is drawn anew
        assert item.on_time == pytest.approx(promised, abs=3.0 * np.sqrt(2 * promised * (1 - promised) / 512) + 0.04)


@pytest.mark.kernel
def test_it_keeps_its_promise_all_together_with_new_members(before):
    """Members that neither the choice nor its own judgement has seen, reckoned by the checker's arithmetic."""
    amounts = amounts_of(WISHES)
    chosen = []
    for own, wish in zip(cases_of(WISHES, amounts), WISHES.items, strict=True):
        item = before.item(wish.label)
        same = [c for c in own if c.pit == item.pit and abs(c.set_c - item.set_c) < 0.01 and c.stages == item.stages]
        chosen.append(same[:1])
    options = options_of(WISHES, chosen, 1024, 424242)
    lived = {
        wish.label: Lived(option.first_s, option.last_s, option.past_s, option.done)
        for wish, (option,) in zip(WISHES.items, options, strict=True)
    }
    error = np.sqrt(before.chance * (1.0 - before.chance) * (1 / 1024 + 1 / 512))
    assert share_on_time(WISHES, before, lived) >= before.chance - 3.0 * error


def nobody_takes_off(schedule):
    """The schedule with a hole in it."""
    trips = [replace(trip, calls=tuple(c for c in trip.calls if c.act != "take off")) for trip in schedule.trips]
    return replace(schedule, trips=tuple(trips))


@pytest.mark.kernel
def test_a_plan_that_cannot_be_done_is_never_shown(monkeypatch, caplog):
    """Whatever the choice makes of it: the checker stands between, and the cook is told whose error it is."""
    right = solve.schedule_of
    monkeypatch.setattr(solve, "schedule_of", lambda *what: nobody_takes_off(right(*what)))
    answer = plan(WISHES, members=32, limit_s=1.0)
    assert answer.best is None
    assert not answer.changes
    (why,) = answer.why
    assert why.startswith("an error of Pitreckon, please report it")
    assert "nobody takes" in why
    assert "nobody takes racks off" in caplog.text


@pytest.mark.kernel
def test_the_next_best_is_shown_where_only_the_best_is_broken(monkeypatch):
    right, made = solve.schedule_of, []

    def first_is_broken(*what):
        made.append(right(*what))
        return nobody_takes_off(made[-1]) if len(made) == 1 else made[-1]

    monkeypatch.setattr(solve, "schedule_of", first_is_broken)
    answer = plan(WISHES, members=32, limit_s=4.0)
    assert answer.schedule is not None
    assert faults_of(WISHES, answer.schedule, chance=0.0) == ()
    assert answer.schedule.calls != made[0].calls
    assert any("an error of Pitreckon" in words for words in answer.notes)


@pytest.mark.kernel
def test_the_rest_of_a_day_passes_the_checker_too(before, monkeypatch):
    monkeypatch.setattr(again, "schedule_of", lambda *what: replace(schedule_of(*what), pits=()))
    got = replan(WISHES, before, pale(before, 0.3, 1.5), members=64)
    assert got.answer.best is None
    assert got.moved == got.answer.why
    assert "which is not lit" in got.moved[0]


@pytest.mark.kernel
def test_the_cook_it_makes_can_be_kept_as_a_file(before):
    cook = to_cook(WISHES, before)
    again = cook_from_text(cook_text(cook), "planned")
    assert [item.put_on_utc for item in again.items] == [item.put_on_utc for item in cook.items]
    assert [[s.kind for s in item.stages] for item in again.items] == [[s.kind for s in i.stages] for i in cook.items]
    assert again.pits[0].set_c == pytest.approx(cook.pits[0].set_c, abs=0.01)


def pale(before, step: float, hours: float):
    """Racks that are on, and looked at."""
    on = before.item("racks").put_on_utc
    looks = [Look(on + timedelta(hours=h), "racks", None, "colour", step * h / hours) for h in (0.6 * hours, hours)]
    ledger = Ledger.of([Act(on, "racks", "put on"), *looks])
    return reckoning(to_cook(WISHES, before), ledger, now=on + timedelta(hours=hours), members=128)


@pytest.mark.kernel
def test_only_what_is_open_moves_and_it_is_said(before):
    slow = pale(before, 0.3, 1.5)
    got = replan(WISHES, before, slow, members=64)
    after = got.answer.best
    assert after is not None
    assert after.item("racks").begun
    assert after.item("racks").put_on_utc == before.item("racks").put_on_utc
    assert {pit.set_c for pit in after.pits} == {pit.set_c for pit in before.pits}
    now = slow.outlook.now_utc
    assert all(call.at_utc >= now - timedelta(minutes=1) for call in after.calls)
    assert after.item("racks").ready.p50 > before.item("racks").ready.p50
    assert any(line.startswith("racks: ready") and "later" in line for line in got.moved)
    assert not [line for line in got.moved if line.startswith("racks: put on")]
    assert faults_of(WISHES, after, chance=0.0) == ()


@pytest.mark.kernel
def test_a_cook_that_goes_as_planned_hardly_moves(before):
    first = min(item.put_on_utc for item in before.items)
    calm = reckoning(to_cook(WISHES, before), Ledger(), now=first - timedelta(hours=3), members=128)
    got = replan(WISHES, before, calm, members=64)
    after = got.answer.best
    assert after is not None
    assert abs(after.chance - before.chance) < 0.12
    assert list(moved_words(before, before, calm.outlook.now_utc)) == []


@pytest.mark.kernel
def test_an_item_that_the_cook_lacks_is_named(before):
    cook = pale(before, 0.3, 1.0)
    more = Wishes(
        *(WISHES.name, WISHES.zone, SERVE, WISHES.pits),
        (*WISHES.items, ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.0)),
    )
    with pytest.raises(InputError, match="no item 'butt'"):
        replan(more, before, cook)


def test_members_are_drawn_by_their_weights():
    weights = np.array([0.5, 0.25, 0.25, 0.0])
    which = drawn(weights, 400, 3, "racks")
    assert np.bincount(which, minlength=4).tolist() == pytest.approx([200, 100, 100, 0], abs=1)


@pytest.mark.kernel
def test_what_is_known_is_not_run_again_and_gives_the_same():
    cache = OptionCache()
    first = plan(WISHES, members=32, cache=cache, explain=False)
    runs = sum(len(options) for pair in cache._days.values() for options in pair)
    again = plan(WISHES, members=32, cache=cache, explain=False)
    assert sum(len(options) for pair in cache._days.values() for options in pair) == runs
    assert (again.schedule or again.nearest) == (first.schedule or first.nearest)
    more_hands = variant(WISHES, "hand")
    assert more_hands is not None
    plan(more_hands.wishes, members=32, cache=cache, explain=False)
    assert sum(len(options) for pair in cache._days.values() for options in pair) == runs


def test_variants_change_what_they_say():
    keys = [each.key for each in variants(WISHES)]
    assert len(keys) == len(set(keys))
    assert {"later", "earlier", "hotter", "cooler", "hand", "wrap", "hold"} <= set(keys)
    assert "stay" not in keys
    assert "fewer-hands" not in keys
    for each in variants(WISHES):
        assert each.wishes != WISHES, each.key
    assert variant(WISHES, "nonsense") is None
