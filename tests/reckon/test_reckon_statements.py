"""What is said of supper: ready by then and still at its best then are two things, and what was served is served."""

from __future__ import annotations

from dataclasses import replace

import pytest
from supper import N, air, at, cook, put_on, wings

from pitreckon.cook import StagePlan, Until
from pitreckon.ledger import Act, Ledger
from pitreckon.reckon import Outlook, reckon
from pitreckon.reckon.statements import item_statements, statements
from pitreckon.reckon.words import AT_ONCE, sentences
from pitreckon.units import instant_after

pytestmark = pytest.mark.kernel

HELD = (StagePlan("open", Until("core", 85.0)), StagePlan("hold", Until("clock", at(240)), air_c=65.0))


def lines(outlook: Outlook) -> list[str]:
    return [said.line for said in statements(outlook, lambda at: f"{at:%H:%M}")]


def held(now_min: float, *more: Act) -> Outlook:
    """Wings that were taken off and put in the hold after two hours, of a supper after four."""
    supper = cook(wings(stages=HELD), serve_h=4.0)
    acts = [put_on(), Act(at(100), "wings", "took off"), Act(at(101), "wings", "hold", air_c=65.0), *more]
    return reckon(supper, Ledger.of([*acts, *air(150.0, 0, 100)]), now=at(now_min), members=N)


def test_before_it_goes_on_there_are_two_numbers() -> None:
    outlook = reckon(cook(serve_h=3.0), members=N)
    ready, best = statements(outlook, lambda at: f"{at:%H:%M}")
    assert (ready.what, best.what) == ("ready by 23:00", "still at its best at 23:00")
    assert ready.chance == outlook.items[0].ready_by
    assert best.chance == outlook.items[0].at_best
    (item,) = outlook.items
    assert item.on_time is not None
    assert ready.chance is not None
    assert best.chance is not None
    assert item.on_time == pytest.approx(ready.chance + best.chance - 1.0, abs=1e-9)


def test_what_stands_ready_is_never_called_late() -> None:
    outlook = held(220)
    (item,) = outlook.items
    assert item.stands_ready
    assert lines(outlook)[0] == "ready by 00:00: it stands ready"
    spoilt = replace(outlook, items=(replace(item, at_best=0.13, on_time=0.13, spoils_by="too soft"),))
    ready, best = lines(spoilt)
    assert ready == "ready by 00:00: it stands ready"
    assert best.startswith("still at its best at 00:00: hardly, 13 % (getting too soft: ")


def test_after_serving_it_says_served_and_nothing_of_chances() -> None:
    outlook = held(250, Act(at(245), "wings", "served"))
    assert lines(outlook) == [f"served: at {at(245):%H:%M}"]
    (item,) = outlook.items
    assert [said.line for said in item_statements(item, outlook, lambda at: f"{at:%H:%M}")] == lines(outlook)
    assert outlook.served_utc == at(245)


def test_one_of_two_served_leaves_the_other_to_be_spoken_of() -> None:
    outlook = held(250)
    two = replace(outlook, items=(*outlook.items, replace(outlook.items[0], label="more", served_utc=at(240))))
    assert two.served_utc is None
    assert lines(two)[0] == "ready by 00:00: it stands ready"


def test_free_until_and_be_back_by_are_one_where_they_are_a_minute_apart() -> None:
    outlook = reckon(cook(), members=N, now=at(0))
    (first, *rest) = outlook.trips
    for apart_s, back in ((60.0, False), (121.0, True)):
        begin = instant_after(at(0), 3600.0)
        trip = replace(first, at_utc=begin, from_utc=begin, by_utc=instant_after(begin, apart_s))
        said = sentences(replace(outlook, trips=(trip, *rest)), lambda at: f"{at:%H:%M}")
        assert said.startswith("You are free until 21:00.")
        assert ("Be back by" in said) is back
    assert AT_ONCE.total_seconds() == 60.0
