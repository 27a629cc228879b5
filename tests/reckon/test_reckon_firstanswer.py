"""A first answer from members that are there: near the full one, and none where something was done."""

import time
from datetime import timedelta

import pytest
from tests.reckon.supper import START, cook, racks, wings

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.firstanswer import first_answer
from pitreckon.reckon.forecast import reckoning

pytestmark = pytest.mark.kernel
PLAN = cook(racks(), wings(put_on_utc=START + timedelta(hours=2)), set_c=121.0)
ACTS = (Act(START, "racks", "put on"), Act(START + timedelta(hours=2.2), "racks", "wrapped", "foil"))
THEN, NOW = START + timedelta(hours=2.9), START + timedelta(hours=2.95)


def feel(value, word, at=NOW):
    return Look(at, "racks", None, "probe feel", value, word)


@pytest.fixture(scope="module")
def last():
    return reckoning(PLAN, Ledger.of(ACTS), now=THEN, members=256)


def test_a_look_moves_the_forecast_at_once_and_as_the_full_one_does(last):
    ledger = Ledger.of([*ACTS, feel(1.0, "slides in")])
    before = time.perf_counter()
    first = first_answer(last, ledger, NOW)
    took = time.perf_counter() - before
    assert first is not None
    assert first.outlook.thinking_again
    before = time.perf_counter()
    full = reckoning(PLAN, ledger, now=NOW, members=256)
    assert took < time.perf_counter() - before
    assert not full.outlook.thinking_again
    was, one, other = (each.outlook.item("racks").marks["tender"] for each in (last, first, full))
    assert one.p50 < was.p50
    assert one.p50 == pytest.approx(other.p50, abs=0.25 * (other.p95 - other.p05))
    assert one.p95 - one.p05 == pytest.approx(other.p95 - other.p05, rel=0.35)
    # What nothing was seen of is as it was.
    assert first.outlook.item("wings").marks["ready"] == last.outlook.item("wings").marks["ready"]


def test_a_stage_that_is_still_on_has_not_ended(last):
    later = START + timedelta(hours=5.5)
    first = first_answer(last, Ledger.of([*ACTS, feel(0.4, "firm", later)]), later)
    assert first is not None
    window = next(each for each in first.outlook.item("racks").windows if each.act == "sauce")
    assert window.closes_s.p95 >= window.opens_s.p05
    stage = first.outlook.item("racks").stages[1]
    assert stage.ends_s.p05 >= (later - START).total_seconds() - 60.0


def test_an_act_and_an_earlier_moment_want_a_full_one(last):
    sauced = Act(NOW, "racks", "sauced")
    assert first_answer(last, Ledger.of([*ACTS, sauced]), NOW) is None
    hotter = Act(NOW, "drum", "set pit", air_c=135.0)
    assert first_answer(last, Ledger.of([*ACTS, hotter]), NOW) is None
    assert first_answer(last, Ledger.of(ACTS), THEN - timedelta(minutes=1)) is None


def test_a_look_that_is_taken_back_lets_go(last):
    told = first_answer(last, Ledger.of([*ACTS, feel(1.0, "slides in")]), NOW)
    assert told is not None
    back = first_answer(told, Ledger.of(ACTS), NOW)
    assert back is not None
    assert back.outlook.item("racks").marks["tender"].p50 == pytest.approx(
        last.outlook.item("racks").marks["tender"].p50, abs=300.0
    )


def test_where_lines_have_moved_the_members_they_are_not_moved_twice():
    """A thermometer sits in the racks, and the wings are looked at: the racks' forecast is about what it was."""
    probe = [Reading(START + timedelta(minutes=m), "probe", "racks", None, 5.0 + 0.35 * m) for m in range(5, 175, 5)]
    events = [*ACTS, Act(START + timedelta(hours=2), "wings", "put on"), *probe]
    last = reckoning(PLAN, Ledger.of(events), now=THEN, members=64)
    assert last.runs[0].tracks[0].pace is not None
    seen = Look(NOW, "wings", None, "colour", 0.5, "amber")
    first = first_answer(last, Ledger.of([*events, seen]), NOW)
    assert first is not None
    racks_then, racks_now = (each.outlook.item("racks").marks["tender"] for each in (last, first))
    width_s = racks_then.p95 - racks_then.p05
    assert racks_now.p50 == pytest.approx(racks_then.p50, abs=0.1 * width_s)
    warmer = Reading(NOW, "probe", "racks", None, 69.0)
    assert first_answer(last, Ledger.of([*events, warmer]), NOW) is not None
