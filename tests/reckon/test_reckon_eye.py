"""What the cook has seen goes before what is reckoned."""

from __future__ import annotations

import pytest
from supper import N, at, cook, put_on, racks

from pitreckon.cook import StagePlan, Until
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.reckon import Task, reckon
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.onward import onward
from pitreckon.reckon.prepare import tracks_of
from pitreckon.reckon.whatif import what_ifs

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


SLID = ("slides in", 1.0)


def test_meat_that_is_tender_before_its_colour_is_set_is_not_wrapped_any_more():
    """A wrap is there to get it tender (common practice, no source): sauce it, and be ready so much sooner."""
    _, _, plain = first(now=90)
    wait_min, task, outlook = first(look(88, SLID, "probe feel"), now=90)
    assert (wait_min, task.act, task.wrap) == (0.0, "sauce", None)
    assert task.note.startswith("for what was seen: probe feel 'slides in' at ")
    stages = outlook.item("racks").stages
    assert [stage.kind for stage in stages] == ["open", "sauced"]
    assert stages[0].until == "the probe slides in"
    acts = [task.act for trip in outlook.trips for task in trip.tasks]
    assert "wrap" not in acts
    ready, was = (each.item("racks").marks["ready"].p50 for each in (outlook, plain))
    assert ready < was - 1200.0


@pytest.mark.parametrize(
    ("entries", "wrapped"),
    [
        ([look(80, ("some drag", 0.75), "probe feel")], True),
        ([look(80, SLID, "probe feel"), look(85, ("some drag", 0.75), "probe feel")], True),
        ([look(80, SLID, "probe feel"), look(85, ("not yet", 0.0), "ready")], True),
        ([look(80, SLID, "probe feel", piece=1)], True),
        ([look(80, ("falls apart", 1.3), "probe feel")], False),
    ],
    ids=["drag", "drag since", "did not go on", "one of two", "falls apart"],
)
def test_only_the_last_feel_of_all_of_them_ends_it(entries, wrapped):
    _, _, outlook = first(*entries, now=90)
    acts = [task.act for trip in outlook.trips for task in trip.tasks if task.item == "racks"]
    assert ("wrap" in acts) is wrapped


def test_once_it_was_taken_off_for_its_feel_it_was_never_wrapped_and_its_colour_never_said():
    felt, off = look(88, SLID, "probe feel"), Act(at(92), "racks", "took off")
    seen = tracks_of(cook(racks()), racks(), Ledger.of([PUT_ON, felt, off]), at(93), 5)[0]
    assert [stage.plan.kind for stage in seen.stages] == ["open", "rest"]
    ended = [turn for turn in seen.observations.transitions if turn.ended]
    assert [(turn.ends_by, turn.goal) for turn in ended] == [("tender", 1.0)]


def test_a_butt_whose_probe_slides_in_short_of_its_number_comes_off_and_a_thigh_does_not():
    """Probe-tender beats the number (common practice, no source); poultry is done by its core."""
    plan = (StagePlan("open", Until("core", 93.3)), StagePlan("rest", Until("minutes", 2700.0)))
    for cut, acts in (("boston-butt", "tender"), ("chicken-thigh", "core")):
        item = racks(cut=cut, pieces=1, stages=plan)
        got = tracks_of(cook(item), item, Ledger.of([PUT_ON, look(60, SLID, "probe feel")]), at(62), 5)[0]
        assert got.stages[0].plan.until.ends_by == acts


def test_a_feel_is_gone_on_from_as_one_that_was_reckoned_whole():
    plan = cook(racks(), set_c=130.0, serve_h=5.0)
    before = reckoning(plan, Ledger.of([PUT_ON]), now=at(88), members=N, seed=5)
    ledger = Ledger.of([PUT_ON, look(89, SLID, "probe feel")])
    assert onward(before, ledger, at(90), run=False) is None
    found = onward(before, ledger, at(90))
    assert next(task.act for trip in found.reckoning.outlook.trips for task in trip.tasks) == "sauce"
    cooler = next(each for each in what_ifs(found.reckoning, members=N) if each.what == "drum cooler")
    assert [stage.kind for stage in cooler.items[0].outlook.stages] == ["open", "sauced"]


def test_an_earlier_stage_says_nothing_of_the_next():
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
