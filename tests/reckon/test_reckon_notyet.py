"""That it is not done yet is evidence, if somebody was there to see it; a check of the grate; what a look would buy."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.reckon.supper import START, cook, racks, wings

from pitreckon.cook import PitPlan
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon import reckon
from pitreckon.reckon.evidence import ACTS_ON, BESIDE, SAYS_SO
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.nextlook import on_walks
from pitreckon.reckon.outlook import NextLook, Trip
from pitreckon.reckon.prepare import tracks_of
from pitreckon.reckon.words import next_look_words

WRAPPED = (Act(START, "racks", "put on"), Act(START + timedelta(hours=1.8), "racks", "wrapped", "foil"))
pytestmark = pytest.mark.kernel


def at(hours):
    return START + timedelta(hours=hours)


def not_yet(hours, label="racks"):
    return Look(at(hours), label, None, "ready", 0.0, "not yet")


def transitions(*events, other=None, now=3.0):
    pits = (PitPlan("drum", "upright-drum", 135.0), PitPlan("other", "kettle", 135.0))
    plan = cook(racks(), other or wings(), pits=pits)
    (track,) = tracks_of(plan, plan.item("racks"), Ledger.of([*WRAPPED, *events]), at(now), 1)
    return [(round(t.at_s / 3600.0, 2), t.ended, t.heed) for t in track.observations.transitions]


def test_who_says_it_counts_for_more_than_who_is_there():
    assert transitions() == [(1.8, True, ACTS_ON)]
    assert transitions(not_yet(2.5))[1:] == [(2.5, False, SAYS_SO)]
    feel = Look(at(2.7), "racks", None, "probe feel", 0.4, "firm")
    assert transitions(not_yet(2.5), feel)[1:] == [(2.5, False, SAYS_SO), (2.7, False, ACTS_ON)]
    beside = Act(at(2.9), "wings", "put on")
    assert transitions(not_yet(2.5), feel, beside)[1:] == [
        (2.5, False, SAYS_SO), (2.7, False, ACTS_ON), (2.9, False, BESIDE),
    ]  # fmt: skip
    # What was said later says it of all times before.
    assert transitions(feel, not_yet(2.8))[1:] == [(2.8, False, SAYS_SO)]


def test_one_at_another_pit_and_one_asleep_say_nothing():
    elsewhere = wings(pit="other")
    assert transitions(Act(at(2.9), "wings", "put on"), other=elsewhere)[1:] == []
    assert transitions(Reading(at(2.9), "pit air", "drum", None, 135.0))[1:] == []


def test_not_yet_makes_it_later_and_lets_go_when_it_is_taken_back():
    plan = cook(racks(), set_c=135.0)
    held = Ledger.of([*WRAPPED])
    before = reckon(plan, held, now=at(3.3), members=256).item("racks").marks["tender"]
    said = Ledger.of([*WRAPPED, not_yet(3.3)])
    after = reckon(plan, said, now=at(3.3), members=256).item("racks").marks["tender"]
    assert after.p50 > before.p50 + 300.0
    assert after.p05 > before.p05 + 600.0
    assert after.p95 - after.p05 < before.p95 - before.p05
    again = reckon(plan, Ledger.of([*WRAPPED]), now=at(3.3), members=256).item("racks").marks["tender"]
    assert again == before


def test_a_thermometer_on_the_grate_tells_how_far_it_is_off_its_gauge():
    plan = cook(racks(), set_c=135.0)
    put_on = [
        WRAPPED[0],
        Reading(at(0.2), "pit air", "drum", None, 135.0),
        Reading(at(0.5), "pit air", "drum", None, 135.0),
    ]
    usual = reckoning(plan, Ledger.of(put_on), now=at(0.6), members=256)
    checked = [*put_on, Look(at(0.5), "drum", None, "grate temperature", 152.0)]
    told = reckoning(plan, Ledger.of(checked), now=at(0.6), members=256)

    def middle(done):
        return float(done.runs[0].main.weights @ done.runs[0].main.ensemble.draw.grate_k)

    assert middle(told) > middle(usual) + 3.0
    assert middle(told) < 17.0
    one, other = (done.outlook.item("racks").marks["tender"] for done in (usual, told))
    assert other.p50 < one.p50 - 120.0
    assert np.isfinite(other.p95)
    assert told.outlook.rejected == ()


def test_a_look_is_asked_for_by_what_it_buys():
    plan = cook(racks(), set_c=121.0)
    outlook = reckon(plan, Ledger.of([*WRAPPED]), now=at(2.4), members=256).item("racks")
    look = outlook.next_look
    assert look is not None
    assert look.after_s < 0.9 * look.width_s
    assert set(look.kinds) <= {"probe feel", "spot temperature"}
    assert all(when >= at(2.4) for when in look.at_utc)
    assert "the window shrinks from" in next_look_words(look, lambda when: when.strftime("%H:%M"))
    # Before it is on nobody can look at it.
    assert reckon(plan, None, now=START - timedelta(hours=1), members=64).item("racks").next_look is None


def test_a_look_goes_on_a_walk_that_is_made_anyway():
    plan = cook(racks(), set_c=121.0)
    outlook = reckon(plan, Ledger.of([*WRAPPED]), now=at(2.4), members=64)
    look = NextLook(("probe feel",), (at(3.0), at(3.5)), 6000.0, 3000.0)

    def with_walks(*hours: float):
        trips = tuple(Trip(at(h), at(h), at(h), ()) for h in hours)
        items = tuple(replace(item, next_look=look) for item in outlook.items)
        return on_walks(replace(outlook, items=items, trips=trips)).item("racks").next_look.at_utc

    assert with_walks(2.8, 4.5) == (at(2.8), at(3.5))
    assert with_walks(3.25) == (at(3.25), at(3.5))  # the one walk takes one of the two
    assert with_walks(5.0) == look.at_utc
