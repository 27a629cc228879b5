"""Entries that cannot be: set aside, said, and nothing lost; the rest reckons as if they were not there."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from supper import N, air, at, cook, look, put_on, racks

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon import reckon
from pitreckon.reckon.sift import sift

BASE = [put_on(), *air(150.0, 0, 40)]


def aside(*events, of=None):
    got = sift(of or cook(), Ledger.of([*BASE, *events]))
    assert len(got.ledger) + len(got.aside) == len(BASE) + len(events)
    return [each.why for each in got.aside]


def test_a_sound_ledger_is_left_alone():
    assert aside(look(40, "colour", 0.8), Act(at(45), "wings", "took off")) == []


@pytest.mark.parametrize(
    ("event", "word"),
    [
        (Look(at(20), "wings", 25, "colour", 0.5), "no piece 25"),
        (Look(at(20), "wings", 0, "colour", 0.5), "no piece 0"),
        (Look(at(20), "geese", None, "colour", 0.5), "no 'geese'"),
        (look(-10, "colour", 0.0), "before it went on"),
        (Act(at(-20), "wings", "wrapped"), "before it went on"),
        (Act(at(30), "wings", "put on"), "went on already"),
        (Act(at(30), "wings", "unwrapped"), "was not wrapped"),
        (Reading(at(20), "probe", "wings", 77, 50.0), "no piece 77"),
    ],
)
def test_what_cannot_be_is_set_aside(event, word):
    (why,) = aside(event)
    assert word in why


def test_contradicting_acts():
    whys = aside(Act(at(30), "wings", "took off"), Act(at(35), "wings", "sauced"), Act(at(36), "wings", "took off"))
    assert len(whys) == 2
    assert "off the pit since" in whys[0]
    assert "the first one counts" in whys[1]


@pytest.mark.kernel
def test_it_is_said_and_changes_nothing_else():
    ghost = Look(at(20), "wings", 99, "colour", 1.3)
    plain = reckon(cook(), Ledger.of(BASE), now=at(40), members=N)
    odd = reckon(cook(), Ledger.of([*BASE, ghost]), now=at(40), members=N)
    assert replace(odd, rejected=()) == plain
    (line,) = odd.rejected
    assert "no piece 99" in line
    assert "not used" in line


def doubled():
    """A logger whose clock was put back by an hour after 80 minutes, its rows numbered as they were written."""
    stamps = [*range(0, 81, 5), *range(25, 121, 5)]
    return [Reading(at(m), "pit air", "drum", None, 150.0, source_line=i + 2) for i, m in enumerate(stamps)]


def test_a_clock_that_was_put_back():
    got = sift(cook(), Ledger.of([put_on(), *doubled()]))
    times = [r.at_utc for r in got.ledger.readings("pit air")]
    assert len(times) == len(set(times))
    assert {each.why.split(";")[0] for each in got.aside} == {"the clock of its readings fell back by 55 min"}
    assert [r.at_utc for r in got.ledger.readings("pit air")][-1] == at(120)


def test_a_clock_that_jumped_ahead_is_a_gap():
    early = [Reading(at(m), "pit air", "drum", None, 150.0, source_line=m) for m in range(0, 41, 5)]
    late = [replace(r, at_utc=r.at_utc + timedelta(hours=1), source_line=100 + i) for i, r in enumerate(early)]
    assert sift(cook(), Ledger.of([put_on(), *early, *late])).aside == ()


@pytest.mark.kernel
def test_out_of_order_is_as_in_order():
    events = [
        *BASE,
        look(30, "colour", 0.55),
        look(38, "spot temperature", 55.0),
        *[Reading(at(m), "probe", "wings", None, 5.0 + 1.5 * m) for m in range(5, 40, 3)],
    ]
    shuffled = events.copy()
    random.Random(5).shuffle(shuffled)
    one = reckon(cook(), Ledger.of(events), now=at(40), members=N)
    assert reckon(cook(), Ledger.of(shuffled), now=at(40), members=N) == one


def test_nothing_moves_what_is_on_another_pit_or_not_looked_at():
    """A look at one item on a pit tells of the pit; the plan of the other stays what it is."""
    two = cook(racks(), set_c=135.0)
    assert sift(two, Ledger.of([put_on("racks"), look(30, "bend", 0.5, "racks")])).aside == ()
