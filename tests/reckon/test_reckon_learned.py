"""Lessons: what a cook told narrows the next one on the same pit, and can be left out, started anew and doubted."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.reckon.supper import START, cook, racks, wings

from pitreckon.cook import PitPlan
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.lessons.house.beliefs import beliefs_of, doubts_of
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.reckon import reckon
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.learning import learn

pytestmark = pytest.mark.kernel
LATER = timedelta(days=14)


def at(hours: float):
    return START + timedelta(hours=hours)


def told(grate_c: float | None = None, tender_h: float = 2.75) -> Ledger:
    """Racks on a pit that reads 275 degF, its grate as a thermometer there has it, tender at an hour."""
    events = [
        Act(START, "racks", "put on"),
        *(Reading(at(h / 4), "pit air", "drum", None, 135.0) for h in range(12)),
        Act(at(1.6), "racks", "wrapped", "foil"),
        Look(at(tender_h - 0.6), "racks", None, "probe feel", 0.78, "some drag"),
        Look(at(tender_h), "racks", None, "probe feel", 1.0, "slides in"),
        Act(at(tender_h), "racks", "took off"),
    ]
    if grate_c is not None:
        events += [Look(at(h), "drum", None, "grate temperature", grate_c) for h in (0.5, 1.0, 1.5)]
    return Ledger.of(events)


@pytest.fixture(scope="module")
def plan():
    return cook(racks(), set_c=135.0)


@pytest.fixture(scope="module")
def hot(plan):
    """The lessons of two cooks at which the grate was 12 K over its gauge."""
    first, second = (learn(plan, told(147.0), name, members=128) for name in ("first", "second"))
    second = tuple(replace(each, at_utc=each.at_utc + LATER / 2) for each in second)
    return Lessons().plus(first).plus(second)


def later(plan):
    """The same plan two weeks on."""
    items = tuple(replace(item, put_on_utc=item.put_on_utc + LATER) for item in plan.items)
    return replace(plan, items=items, serve_utc=plan.serve_utc and plan.serve_utc + LATER)


def tender(plan, lessons):
    return reckon(later(plan), members=256, lessons=lessons).item("racks").marks["tender"]


def test_an_empty_house_is_exactly_todays(plan):
    assert reckon(plan, told(), members=64) == reckon(plan, told(), members=64, lessons=Lessons())


def test_a_grate_that_was_checked_is_known_at_the_next_cook(plan, hot):
    before, after = tender(plan, None), tender(plan, hot)
    assert after.p50 < before.p50 - 300.0
    assert after.p95 - after.p05 < hot.strays * (before.p95 - before.p05)  # both were quicker than was foretold
    (offset,) = [each for each in beliefs_of(hot) if each.what == "offset"]
    assert offset.cooks == ("first", "second")
    assert offset.sd < 0.7 * offset.before
    assert "drum: the grate runs" in offset.line
    assert "over its gauge" in offset.line
    assert "from 2 cooks" in offset.line


def test_a_cook_knows_nothing_of_what_comes_after_it_nor_of_itself(plan, hot):
    assert reckon(plan, told(), members=64, lessons=hot) == reckon(plan, told(), members=64)


def test_leaving_a_cook_out_brings_back_what_was_known_without_it(plan, hot):
    first = Lessons(tuple(each for each in hot.lessons if each.cook == "first"))
    assert tender(plan, hot.without("second")) == tender(plan, first)
    assert tender(plan, hot.without("second").without("first")) == tender(plan, None)


def test_another_pit_and_a_pit_that_is_anew_are_told_only_what_all_have_in_common(plan, hot):
    here = tender(plan, hot)
    shed = PitPlan("shed", "pellet-cooker", 135.0)
    elsewhere = replace(plan, pits=(shed,), items=(replace(plan.items[0], pit="shed"),))
    anew = Lessons(hot.lessons, {"drum": START + LATER * 0.9})
    for other in (tender(elsewhere, hot), tender(plan, anew)):
        assert other.p50 > here.p50 + 120.0  # the hot grate is not theirs
        assert other.p95 - other.p05 > here.p95 - here.p05


def test_one_odd_cook_is_doubted_and_does_not_own_the_prior(plan, hot):
    odd = learn(plan, told(105.0), "odd", members=128)  # a thermometer that is 30 K too low, three times
    odd = tuple(replace(each, at_utc=each.at_utc + LATER * 0.7) for each in odd)
    more = tuple(
        replace(each, cook=f"{each.cook} {n}", at_utc=each.at_utc + timedelta(days=n))
        for n in (1, 2)
        for each in hot.lessons
    )
    house = hot.plus(more).plus(odd)
    (doubt,) = [each for each in doubts_of(house) if each.cook == "odd"]
    assert doubt.times > 2.0
    assert "the other cooks say otherwise" in doubt.line
    known, moved = (
        next(each.mean for each in beliefs_of(lessons) if each.what == "offset") for lessons in (hot.plus(more), house)
    )
    assert moved > 0.5 * known > 0.0


def test_another_cut_learns_of_the_pit(plan, hot):
    chicken = later(cook(wings(), set_c=135.0))
    before, after = (reckon(chicken, members=256, lessons=each).item("wings").marks["tender"] for each in (None, hot))
    assert after.p50 < before.p50


def test_the_file_has_all_of_it(hot):
    again = lessons_of_text(text_of_lessons(hot), "house.json")
    assert text_of_lessons(again) == text_of_lessons(hot)
    for one, other in zip(again.lessons, hot.lessons, strict=True):
        np.testing.assert_allclose(one.slope, other.slope, atol=1e-8)
        mine, its = ((each.cook, each.item, each.at_utc, each.kind, each.seen) for each in (one, other))
        assert mine == its


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Invalid JSON"),
        ('{"form": "pitreckon lessons 2"}', "form"),
        ('{"form": "pitreckon lessons 1", "lessons": [{"cook": "a"}]}', "lessons.0.item"),
    ],
)
def test_a_file_that_is_none_is_refused_with_its_place(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        lessons_of_text(text, "house.json")
