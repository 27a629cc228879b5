"""What the cook has seen goes before what is reckoned."""

from __future__ import annotations

import pytest
from supper import N, at, cook, put_on, racks

from pitreckon.ledger import Act, Ledger, Look
from pitreckon.reckon import Task, reckon

pytestmark = pytest.mark.kernel

PUT_ON = put_on("racks")


def look(minute, word_value, kind="colour", piece=None):
    word, value = word_value
    return Look(at(minute), "racks", piece, kind, value, word)


SUPPER_H = 3.5
DARK, SET, AMBER = ("too dark", 1.3), ("mahogany", 1.0), ("amber", 0.55)


def first(*entries, now=60):
    ledger = Ledger.of([PUT_ON, *entries])
    outlook = reckon(cook(racks(), set_c=130.0, serve_h=5.0), ledger=ledger, now=at(now), members=N, seed=5)
    trip = next(trip for trip in outlook.trips for task in trip.tasks if task.item == "racks")
    task: Task = trip.tasks[0]
    return (trip.at_utc - at(now)).total_seconds() / 60.0, task, outlook


def test_a_colour_that_no_member_has_is_acted_on_now():
    """A flare: the forecast is wrong then, not the eye (common practice, no source)."""
    plain_min, plain, _ = first()
    assert plain_min > 10.0
    assert plain.until
    wait_min, task, outlook = first(look(58, DARK))
    assert wait_min == 0.0
    assert (task.act, task.until, task.again_utc) == ("wrap", "", None)
    assert task.open == pytest.approx(1.0)
    assert task.waited_for == plain.until
    assert plain.waited_for == ""
    assert task.note.startswith("for what was seen: colour 'too dark' at ")
    assert any("does not fit the rest: look again" in note for note in outlook.items[0].notes)


@pytest.mark.parametrize(
    "after",
    [look(59, AMBER), look(59, ("not yet", 0.0), "ready")],
    ids=["seen lighter since", "looked and did not go on"],
)
def test_a_later_look_takes_it_back(after):
    wait_min, task, _ = first(look(55, DARK), after)
    assert wait_min > 10.0
    assert task.until


def test_a_look_at_one_of_two_says_nothing_of_the_other():
    wait_min, task, _ = first(look(58, DARK, piece=1))
    assert wait_min > 10.0
    assert task.until


def test_a_feel_says_nothing_of_a_colour_and_an_earlier_stage_nothing_of_the_next():
    wait_min, _, _ = first(look(58, ("slides in", 1.0), "probe feel"))
    assert wait_min > 0.0
    wait_min, task, _ = first(look(50, SET), Act(at(55), "racks", "wrapped", "foil"))
    assert wait_min > 10.0
    assert task.act != "wrap"


def test_a_probe_that_slides_in_ends_the_wrap_now():
    wait_min, task, _ = first(Act(at(50), "racks", "wrapped", "foil"), look(118, ("slides in", 1.0), "bend"), now=120)
    assert wait_min == 0.0
    assert task.note == "for what was seen: bend 'cracks' at " + task.note[-5:]


def test_what_is_seen_too_dark_is_not_at_its_best_whatever_the_members_have():
    """Common practice, no source: nobody promises at its best what already looks burnt."""

    def at_supper(*entries, pieces=1):
        plan = cook(racks(pieces=pieces), set_c=130.0, serve_h=SUPPER_H)
        ledger = Ledger.of([PUT_ON, *entries])
        return reckon(plan, ledger=ledger, now=at(22), members=N, seed=5).item("racks")

    burnt = look(20, DARK)
    assert at_supper().at_best > 0.5
    seen = at_supper(burnt)
    assert seen.at_best == pytest.approx(0.2)
    assert seen.spoils_by == "too dark"
    assert seen.on_time <= 0.2
    assert at_supper(burnt, look(21, AMBER)).at_best > 0.5
    assert at_supper(look(20, DARK, piece=1), pieces=2).at_best > 0.5
