"""A thermometer that reads off by a constant: shown by baths, told a little by meat, taken off later, forgotten."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.reckon.supper import START, cook, racks

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.lessons.house.hands import hands_known
from pitreckon.lessons.house.said import NINE_IN_TEN, another_thermometer, said_thermometer
from pitreckon.reckon import reckon
from pitreckon.reckon.baths import ONE_BATH_SD_K, in_hand, off_by
from pitreckon.reckon.hands import (
    THERMOMETER,
    Bias,
    HandTold,
    error_of_spot,
    hands_of,
    told,
    usual,
    with_baths,
)
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.looks import SPOT_SD_K

ANA = ("Ana", THERMOMETER)
WEEK = timedelta(days=7)


def test_a_bath_says_how_far_it_is_off() -> None:
    assert off_by([], 0.0) is None
    ice = off_by([2.0], 0.0)
    assert ice is not None
    assert ice.mean == pytest.approx(2.0)
    assert ONE_BATH_SD_K < ice.sd < 1.0
    # Water boils at 203 degF at 5,000 ft (extension tables of altitude cooking, from memory).
    high = off_by([(203.0 - 32.0) / 1.8 + 1.0], 5000 * 0.3048)
    assert high is not None
    assert high.mean == pytest.approx(1.0, abs=0.3)
    both = off_by([0.0, 104.0], 0.0)  # nothing off in ice, 4 K in boiling water: 3 K at 75 degC
    assert both is not None
    assert both.mean == pytest.approx(3.0, abs=0.05)
    assert both.sd < ice.sd
    twice = off_by([0.0, 4.0], 0.0)
    assert twice is not None
    assert twice.sd > 2.0  # two readings of one bath that differ


def test_nothing_known_is_todays_error_and_a_bath_narrows_it() -> None:
    assert error_of_spot(None) == SPOT_SD_K == LOOK_KINDS[THERMOMETER].errors.each
    assert error_of_spot(usual(THERMOMETER)) == pytest.approx(SPOT_SD_K)
    known = with_baths(None, Bias(2.0, 0.6))
    assert known is not None
    assert 1.2 < known.mean < 2.0
    assert error_of_spot(known) < SPOT_SD_K
    assert with_baths(known, None) == known
    assert with_baths(None, None) is None
    again = with_baths(known, Bias(2.0, 0.6))
    assert again is not None
    assert known.mean < again.mean < 2.0


def test_what_meat_tells_of_it_is_what_a_joint_normal_tells() -> None:
    """Against the conditional of a joint normal distribution written out whole (a textbook's, from memory)."""
    rng = np.random.default_rng(3)
    slope, seen = 0.4 * rng.standard_normal((4, 6)), np.array([2.5, 3.0, 2.0, 0.2])
    prior, rest = usual(THERMOMETER).sd ** 2, SPOT_SD_K**2 - usual(THERMOMETER).sd ** 2
    whose = [ANA, ANA, ANA, None]
    (found,) = told(whose, slope, seen, np.diag([SPOT_SD_K**2] * 3 + [0.5]))
    mine = np.array([1.0, 1.0, 1.0, 0.0])
    whole = slope @ slope.T + np.diag([rest] * 3 + [0.5]) + prior * np.outer(mine, mine)
    mean = prior * mine @ np.linalg.solve(whole, seen)
    var = prior - prior**2 * mine @ np.linalg.solve(whole, mine)
    # What it told is what makes the usual spread into that belief.
    precision = 1.0 / prior + 1.0 / found.sd**2
    assert 1.0 / precision == pytest.approx(var)
    assert found.value / found.sd**2 / precision == pytest.approx(mean)
    assert mean > 0.5


def test_checks_of_two_cooks_make_it_known_and_time_lets_it_drift() -> None:
    one = (START, HandTold(*ANA, 2.0, 0.65, 1))
    known = hands_of([one], START)[ANA]
    assert 1.0 < known.mean < 2.0
    assert known.sd < usual(THERMOMETER).sd
    assert hands_of([one, one], START)[ANA].sd < known.sd
    late = hands_of([one], START + timedelta(days=3 * 365))[ANA]
    assert known.sd < late.sd <= usual(THERMOMETER).sd * 1.001
    assert abs(late.mean) < 0.25
    far = hands_of([(START, HandTold(*ANA, 6.0, 1.3, 1))], START)[ANA]
    assert far.mean > 3.5, "what ice shows is believed though few are so far off"


def said(*all_said) -> Lessons:
    return Lessons(thermometers=tuple(all_said))


def test_it_is_said_outright_and_forgotten_with_another_one() -> None:
    reads = said_thermometer("a", "Ana", 2.0, 1.0, START)
    (belief,) = hands_known(said(reads), START + WEEK)
    assert belief.said
    assert str(belief.words).startswith("the thermometer reads 3 °F high, give or take")
    assert (belief.cooks, belief.kind) == ((), THERMOMETER)
    low = hands_known(said(replace(reads, told=replace(reads.told, value=-2.0))), START + WEEK)[0]
    assert "3 °F low" in low.words
    true = hands_known(said(replace(reads, told=replace(reads.told, value=0.1))), START + WEEK)[0]
    assert "reads true" in true.words
    house = said(reads, another_thermometer("b", "Ana", START + WEEK))
    assert house.hands(START + 2 * WEEK) == {}
    assert house.hands(START + WEEK / 2)[ANA].mean > 0.5, "a cook of before had the old one"
    assert house.before(START + WEEK / 2).thermometers == (reads,)
    assert said(reads, another_thermometer("b", "Ben", START + WEEK)).hands(START + 2 * WEEK)[ANA].mean > 0.5


def test_the_file_keeps_it_and_one_without_is_as_before() -> None:
    reads = said_thermometer("a", "Ana", 2.0, 1.0, START)
    house = said(reads, another_thermometer("b", "Ben", START + WEEK))
    text = text_of_lessons(house)
    again = lessons_of_text(text, "house.json")
    assert again.thermometers == house.thermometers
    assert text_of_lessons(again) == text
    assert reads.told is not None
    assert reads.told.sd == pytest.approx(1.0 / NINE_IN_TEN)
    assert "thermometers" not in text_of_lessons(Lessons())


def at(hours: float):
    return START + timedelta(hours=hours)


def supper(*more) -> Ledger:
    """Racks whose middle was taken by hand twice."""
    return Ledger.of(
        [
            Act(START, "racks", "put on"),
            *(Reading(at(h / 4), "pit air", "drum", None, 150.0) for h in range(9)),
            Look(at(1.0), "racks", None, "spot temperature", 66.0, by="Ana"),
            Look(at(2.0), "racks", None, "spot temperature", 80.0, by="Ana"),
            *more,
        ]
    )


HIGH = Look(START - timedelta(minutes=20), "racks", None, "spot check", 3.0, by="Ana")


@pytest.mark.kernel
def test_a_check_counts_in_its_cook_and_teaches_later_ones() -> None:
    """A thermometer that reads too high has meat that is cooler than it says, and so later."""
    plan = cook(racks())
    plain, checked = reckon(plan, supper(), members=128), reckon(plan, supper(HIGH), members=128)
    assert checked.item("racks").marks["tender"].p50 > plain.item("racks").marks["tender"].p50 + 60.0
    of_ben = reckon(plan, supper(replace(HIGH, by="Ben")), members=128)
    assert of_ben.item("racks") == plain.item("racks"), "another one's thermometer"
    lessons = learn(plan, supper(HIGH), "first", members=128)
    ((hand,),) = [[h for h in each.hands if h.kind == THERMOMETER] for each in lessons]
    assert (hand.by, hand.value, hand.beside) == ("Ana", 3.0, 1)
    house = Lessons().plus(tuple(replace(each, at_utc=START - WEEK) for each in lessons))
    by_hand_alone = replace(house, lessons=tuple(_without_lines(each) for each in house.lessons))
    (ana,) = [each for each in hands_known(house, START) if each.kind == THERMOMETER]
    assert "high, give or take" in ana.words
    assert "after a check in ice or boiling water" in ana.words
    taught = reckon(plan, supper(), members=128, lessons=by_hand_alone)
    assert taught.item("racks").marks["tender"].p50 > plain.item("racks").marks["tender"].p50 + 60.0
    anew = replace(by_hand_alone, thermometers=(another_thermometer("n", "Ana", START - timedelta(days=1)),))
    assert reckon(plan, supper(), members=128, lessons=anew).item("racks") == plain.item("racks")


def _without_lines(lesson):
    none = lesson.slope[:0]
    return replace(lesson, slope=none, value=none[:, 0], sd=none[:, 0])


@pytest.mark.kernel
def test_a_cook_of_nothing_but_a_check_teaches_of_the_thermometer() -> None:
    bare = Ledger.of([Act(START, "racks", "put on"), HIGH])
    (lesson,) = learn(cook(racks()), bare, "first", members=64)
    assert (lesson.value.size, lesson.seen) == (0, 1)
    assert in_hand(bare, 0.0)[ANA].mean == 3.0
    assert Lessons((lesson,)).hands(START)[ANA].mean > 1.5
