"""Bad input of a house that learns: what a lesson does not believe it says, and leaving it out leaves no trace."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from conftest import Call
from tests.reckon.supper import START, cook, racks
from tests.web.taught import KIND, PIT, lesson

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.lessons.house.beliefs import beliefs_of, doubts_of
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.reckon.hands import THERMOMETER, HandTold
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.notbelieved import without_wrong_clocks

WEEK = timedelta(days=7)
DAY = timedelta(days=1)


def at(hours: float):
    return START + timedelta(hours=hours)


def supper(*more, air_off: timedelta = timedelta(0), air_c: float = 150.0) -> Ledger:
    return Ledger.of(
        [
            Act(START, "racks", "put on"),
            *(Reading(at(h / 4) + air_off, "pit air", "drum", None, air_c) for h in range(12)),
            Act(at(1.6), "racks", "wrapped", "foil"),
            Look(at(2.0), "racks", None, "probe feel", 0.75, "some drag", by="Ana"),
            Look(at(2.6), "racks", None, "probe feel", 1.0, "slides in", by="Ana"),
            Act(at(2.7), "racks", "took off"),
            *more,
        ]
    )


def probe(value_of) -> list[Reading]:
    return [Reading(at(m / 60.0), "probe", "racks", None, float(value_of(m))) for m in range(0, 161, 5)]


def said_by(lessons) -> str:
    return "; ".join(line for each in lessons for line in each.not_believed)


@pytest.fixture(scope="module")
def plan():
    return cook(racks())


@pytest.mark.kernel
def test_a_stuck_probe_is_named_and_teaches_nothing_past_where_it_stuck(plan) -> None:
    warms = probe(lambda m: 5.0 + 0.6 * min(m, 60))
    told = learn(plan, supper(*warms), "stuck", members=96)
    assert "the probe has stood still on one number: stuck, not used" in said_by(told)
    until = learn(plan, supper(*[each for each in warms if each.at_utc <= at(1.0)]), "until", members=96)
    (mine,), (other,) = told, until
    np.testing.assert_array_equal(mine.value, other.value)
    np.testing.assert_array_equal(mine.slope, other.slope)
    assert learn(plan, supper(), "good", members=96)[0].not_believed == ()


@pytest.mark.kernel
@pytest.mark.parametrize(("off", "side"), [(DAY, "after all"), (-DAY, "before anything")])
def test_a_clock_that_is_off_by_a_day_is_named_and_not_learned_from(plan, off, side) -> None:
    told = learn(plan, supper(air_off=off, air_c=200.0), "clock", members=96)
    line = said_by(told)
    assert line.startswith("drum: all 12 readings of 'pit air' lie ")
    assert f"{side}" in line
    assert line.endswith("a wrong clock")
    without = Ledger.of([each for each in supper().events if not isinstance(each, Reading)])
    (mine,), (other,) = told, learn(plan, without, "none", members=96)
    np.testing.assert_array_equal(mine.value, other.value)
    assert mine.at_utc == other.at_utc


def test_a_probe_left_in_over_night_has_no_wrong_clock(plan) -> None:
    night = [Reading(at(h), "probe", "racks", None, 60.0) for h in range(18)]
    whole = supper(*night)
    assert without_wrong_clocks(plan, whole) == (whole, ())


@pytest.mark.kernel
def test_entries_of_another_house_in_a_ledger_are_named(plan) -> None:
    """Two ledgers in one: what names no meat and no pit of this cook is left, with its name."""
    others = [Look(at(1.0), "brisket", None, "colour", 1.0, "mahogany"), Act(at(0.5), "brisket", "put on")]
    others += [Reading(at(h / 4), "pit air", "kettle", None, 120.0) for h in range(8)]
    told = learn(plan, supper(*others), "merged", members=96)
    line = said_by(told)
    assert "brisket at" in line
    assert "this cook has no 'brisket'; kept, not used" in line
    assert "7 more: this cook has no 'kettle'; kept, not used" in line
    (mine,), (other,) = told, learn(plan, supper(), "alone", members=96)
    np.testing.assert_array_equal(mine.value, other.value)


@pytest.mark.kernel
def test_a_cook_of_which_nothing_is_believed_says_so_and_counts_for_nothing(plan) -> None:
    stray = Ledger.of([Act(START, "racks", "put on"), Look(at(1.0), "brisket", None, "colour", 1.0, "mahogany")])
    (bare,) = learn(plan, stray, "stray", members=96)
    assert (bare.value.size, bare.hands) == (0, ())
    assert "this cook has no 'brisket'" in bare.not_believed[0]
    house = Lessons((bare,))
    assert house.used == ()
    again = lessons_of_text(text_of_lessons(house), "house.json")
    assert again.lessons[0].not_believed == bare.not_believed


def house(*offsets_k: float, pit: str = PIT, first: int = 0, name: str = "c") -> tuple:
    return tuple(
        lesson(f"{name}{n}", START + (first + n) * WEEK, offset_k=each, pit=pit) for n, each in enumerate(offsets_k)
    )


def test_a_cook_that_named_the_wrong_pit_is_doubted_by_name() -> None:
    good = Lessons(house(-8.0, -7.0, -9.0, -8.0))
    wrong = lesson("on the other pit", START + 5 * WEEK, offset_k=24.0)
    both = good.plus([wrong])
    (doubt,) = doubts_of(both)
    assert doubt.line.startswith("on the other pit, racks: the other cooks say otherwise; it counts for ")
    of_good, of_both = (next(b for b in beliefs_of(each) if b.what == "offset") for each in (good, both))
    assert of_both.mean < 0.5 * of_good.mean < 0.0


def test_two_houses_merged_are_wide_and_say_that_cooks_contradict_each_other() -> None:
    """Two pits of one name, 30 K apart: whatever is believed of "it" may not be surer than either house was."""
    mine, theirs = house(-14.0, -15.0, -16.0), house(15.0, 16.0, 14.0, first=1, name="t")
    alone, merged = Lessons(mine), Lessons(mine).plus(theirs)
    assert len(doubts_of(merged)) >= 2
    of_mine, of_both = (next(b for b in beliefs_of(each) if b.what == "offset") for each in (alone, merged))
    assert of_both.sd > of_mine.sd
    back = merged
    for each in theirs:
        back = back.without(each.cook)
    assert bits(back) == bits(alone)
    assert text_of_lessons(back) == text_of_lessons(alone)


def bits(lessons: Lessons) -> tuple[bytes, ...]:
    """What the next cook is told, to the last bit."""
    levels = lessons.used[-1].levels
    later = START + 60 * WEEK
    says = lessons.says(levels, (PIT, KIND, "st-louis-ribs", later))
    hands = {whose: (bias.mean, bias.sd) for whose, bias in sorted(lessons.hands(later).items())}
    return says.precision.tobytes(), says.vector.tobytes(), repr(hands).encode()


def test_leaving_a_cook_out_is_as_if_it_had_not_been_to_the_bit() -> None:
    told = (HandTold("owner", THERMOMETER, 2.0, 0.6, 1), HandTold("owner", "probe feel", -0.3, 0.1))
    odd = replace(lesson("odd", START + 2 * WEEK, offset_k=30.0), hands=told, not_believed=("a probe: stuck",))
    before = Lessons(house(-8.0, -7.0, -9.0))
    with_it = before.plus([odd])
    assert bits(with_it) != bits(before)
    assert bits(with_it.without("odd")) == bits(before)
    assert text_of_lessons(with_it.without("odd")) == text_of_lessons(before)
    again = lessons_of_text(text_of_lessons(with_it), "house.json").without("odd")
    assert bits(again) == bits(lessons_of_text(text_of_lessons(before), "house.json"))


def test_the_command_says_what_was_not_believed(pitreckon: Call, tmp_path: Path) -> None:
    file = tmp_path / "house.json"
    odd = replace(lesson("odd", START, offset_k=-8.0), not_believed=("the probe: stuck",))
    file.write_text(text_of_lessons(Lessons((odd,))))
    assert "not believed: the probe: stuck" in pitreckon("lessons", file).out
    assert "not_believed" not in text_of_lessons(Lessons(house(-8.0)))
