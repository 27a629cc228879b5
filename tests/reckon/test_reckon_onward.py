"""The update: near the whole reckoning, nothing run again that has not changed, and no less honest."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.reckon.supper import START, cook, racks, wings

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.onward import WHOLE_AFTER, onward
from pitreckon.reckon.strayed import strayed_k_s
from pitreckon.reckon.whatif import what_ifs
from pitreckon.section import simulate

pytestmark = pytest.mark.kernel
PLAN = cook(racks(), wings(put_on_utc=START + timedelta(hours=2)), set_c=121.0)
PUT_ON = (Act(START, "racks", "put on"), Act(START + timedelta(hours=2), "wings", "put on"))
ACTS = (*PUT_ON, Act(START + timedelta(hours=2.2), "racks", "wrapped", "foil"))
PIT = tuple(Reading(START + timedelta(minutes=5 * i), "pit air", "drum", None, 120.0 + (i * 7) % 5) for i in range(35))
EVENTS = (*ACTS, *PIT)
THEN, NOW = START + timedelta(hours=2.9), START + timedelta(hours=2.95)


def feel(value, word, at=NOW):
    return Look(at, "racks", None, "probe feel", value, word)


def pit_at(minutes, value_c):
    return Reading(THEN + timedelta(minutes=minutes), "pit air", "drum", None, value_c)


@pytest.fixture(scope="module")
def last():
    return reckoning(PLAN, Ledger.of(EVENTS), now=THEN, members=256)


def near(one, other, of_width=0.12, wide=0.25):
    """Two spreads are the same to what the members' number makes of them."""
    width_s = other.p95 - other.p05
    assert one.p50 == pytest.approx(other.p50, abs=max(of_width * width_s, 180.0))
    assert one.p95 - one.p05 == pytest.approx(width_s, rel=wide, abs=240.0)


def test_a_look_moves_the_forecast_at_once_and_as_the_whole_does(last, monkeypatch):
    """At once: no member is run for it. How much quicker that is, is told by ``benchmarks``."""
    ledger = Ledger.of([*EVENTS, feel(0.6, "some drag")])
    with monkeypatch.context() as patch:
        patch.setattr(simulate._Run, "work", lambda *_: pytest.fail("a member was run"))
        found = onward(last, ledger, NOW)
    assert found is not None
    assert found.ran == found.left == ()
    assert not found.reckoning.outlook.thinking_again
    whole = reckoning(PLAN, ledger, now=NOW, members=256)
    was, one, other = (each.outlook.item("racks").marks["tender"] for each in (last, found.reckoning, whole))
    assert abs(one.p50 - was.p50) > 120.0
    near(one, other)
    near(*(each.outlook.item("wings").marks["ready"] for each in (found.reckoning, whole)))


def test_readings_that_tell_nothing_new_run_nothing_and_cost_next_to_nothing(last):
    fresh = [pit_at(m, 120.0 + m % 3) for m in range(1, 8)]
    found = onward(last, Ledger.of([*EVENTS, *fresh]), THEN + timedelta(minutes=8))
    assert found is not None
    assert found.ran == ()
    assert found.base is last


def test_a_pit_that_goes_another_way_is_run_again(last):
    now = THEN + timedelta(minutes=12)
    sunk = Ledger.of([*EVENTS, *[pit_at(m, 120.0 - 4.0 * m) for m in range(1, 12)]])
    found = onward(last, sunk, now)
    assert found is not None
    assert found.ran == ("racks", "wings")
    whole = reckoning(PLAN, sunk, now=now, members=256)
    for label in ("racks", "wings"):
        near(*(each.outlook.item(label).marks["ready"] for each in (found.reckoning, whole)))
    weighed = onward(last, sunk, now, run=False)
    assert weighed is not None
    assert weighed.left == ("racks", "wings")
    assert weighed.reckoning.outlook.thinking_again


def test_only_what_was_done_something_to_is_run(last):
    took_off = Act(NOW, "wings", "took off")
    ledger = Ledger.of([*EVENTS, took_off])
    found = onward(last, ledger, NOW)
    assert found is not None
    assert found.ran == ("wings",)
    assert found.base.runs[0] is last.runs[0] or found.base.runs[0].tracks[0] is last.runs[0].tracks[0]
    whole = reckoning(PLAN, ledger, now=NOW, members=256)
    for label in ("racks", "wings"):
        near(*(each.outlook.item(label).marks["ready"] for each in (found.reckoning, whole)))
    # What goes on from there does not run it again, and taking it back does.
    later = onward(found.base, ledger, NOW + timedelta(minutes=1))
    assert later is not None
    assert later.ran == ()
    back = onward(found.base, Ledger.of(EVENTS), NOW + timedelta(minutes=1))
    assert back is not None
    assert back.ran == ("wings",)


def test_a_setting_touches_all_that_is_on_the_pit(last):
    hotter = Act(NOW, "drum", "set pit", air_c=135.0)
    found = onward(last, Ledger.of([*EVENTS, hotter]), NOW)
    assert found is not None
    assert found.ran == ("racks", "wings")


def test_a_piece_that_is_told_apart_is_run(last):
    ledger = Ledger.of([*EVENTS, replace(feel(0.6, "some drag"), piece=2)])
    found = onward(last, ledger, NOW)
    assert found is not None
    assert "racks 2" in found.ran
    whole = reckoning(PLAN, ledger, now=NOW, members=256)
    near(*(each.outlook.item("racks").marks["ready"] for each in (found.reckoning, whole)))


def test_without_a_run_an_act_has_no_answer_and_an_old_reckoning_never_has(last):
    sauced = Act(NOW, "racks", "sauced")
    assert onward(last, Ledger.of([*EVENTS, sauced]), NOW, run=False) is None
    assert onward(last, Ledger.of(EVENTS), THEN - timedelta(minutes=1)) is None
    assert onward(last, Ledger.of(EVENTS), THEN + WHOLE_AFTER) is None


def test_a_stage_that_is_still_on_has_not_ended(last):
    found = onward(last, Ledger.of(EVENTS), THEN + timedelta(minutes=14))
    assert found is not None
    stage = found.reckoning.outlook.item("racks").stages[1]
    assert stage.ends_s.p05 >= (THEN + timedelta(minutes=14) - START).total_seconds() - 60.0


def test_a_look_that_is_taken_back_leaves_nothing(last):
    told = onward(last, Ledger.of([*EVENTS, feel(1.0, "slides in")]), NOW)
    assert told is not None
    back = onward(told.base, Ledger.of(EVENTS), NOW)
    never = onward(last, Ledger.of(EVENTS), NOW)
    assert back is not None
    assert never is not None
    if told.base is last:
        assert back.reckoning.outlook == never.reckoning.outlook
    near(*(each.reckoning.outlook.item("racks").marks["tender"] for each in (back, never)))


def test_members_that_few_of_fit_are_drawn_again(last):
    """A thermometer 25 K below what any of them has: the whole does no better than to leave it aside."""
    ledger = Ledger.of([*EVENTS, Look(NOW, "racks", None, "spot temperature", 66.0)])
    found = onward(last, ledger, NOW)
    assert found is not None
    assert "racks" in found.ran
    whole = reckoning(PLAN, ledger, now=NOW, members=256)
    near(*(each.outlook.item("racks").marks["ready"] for each in (found.reckoning, whole)))


def test_what_ifs_go_on_from_it(last):
    ledger = Ledger.of([*EVENTS, feel(0.6, "some drag")])
    found = onward(last, ledger, NOW)
    assert found is not None
    whole = reckoning(PLAN, ledger, now=NOW, members=256)
    one, other = ({each.what: each for each in what_ifs(done)} for done in (found.reckoning, whole))
    assert one.keys() == other.keys()
    for what in one:
        near(one[what].items[0].ready, other[what].items[0].ready, of_width=0.2, wide=0.5)


def test_how_far_a_pit_has_strayed_counts_the_lasting_and_not_the_swing(last):
    was = last.runs[0].tracks[0]

    def strayed(*fresh):
        done = onward(last, Ledger.of([*EVENTS, *fresh]), THEN + timedelta(minutes=10), run=False)
        assert done is not None
        return strayed_k_s(done.reckoning.runs[0].tracks[0].track, was)

    swing = strayed(*[pit_at(m, 122.0 + 6.0 * (-1) ** m) for m in range(1, 9)])
    low = strayed(*[pit_at(m, 112.0) for m in range(1, 9)])
    assert low > 3.0 * swing
    assert low == pytest.approx(10.0 * 600.0, rel=0.4)  # ten kelvins for ten minutes, the last reading at five to
    lid = Look(THEN + timedelta(minutes=1), "wings", None, "colour", 0.5, "amber")
    assert strayed(lid, *[pit_at(m, 100.0) for m in range(1, 9)]) == 0.0, "an open lid is not the fire"
    assert strayed(pit_at(-12.0, 111.0), pit_at(5.0, 121.0)) == np.inf, "it came in late"
