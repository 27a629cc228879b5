"""What a person says of a pit outright is a lesson as any other: it counts, is theirs, and can be contradicted."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from conftest import Call
from tests.web.taught import FIRST, KIND, PIT, lesson

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.lessons.house.beliefs import Belief, beliefs_of, doubts_of, steps_of
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.lessons.house.hands import STEP, hands_known
from pitreckon.lessons.house.said import NINE_IN_TEN, said_offset
from pitreckon.reckon.hands import OWN, HandTold, usual
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.levels import levels_of_pit

WEEK = timedelta(days=7)


def of_offset(lessons: Lessons) -> Belief:
    (found,) = [each for each in beliefs_of(lessons) if each.what == "offset"]
    return found


def said(over_k: float, give_k: float = 2.0, *, key: str = "one", weeks: int = 0) -> Lessons:
    return Lessons((said_offset(key, PIT, KIND, over_k, give_k, "Ana", FIRST + weeks * WEEK),))


def test_it_is_weighed_against_the_kind_as_two_measurements_are() -> None:
    """Of a normal prior and a normal measurement the mean is weighed by precision (a textbook's, from memory)."""
    kind = catalog.pit(KIND)
    prior, error = levels_of_pit(kind)["offset"], 2.0 / NINE_IN_TEN
    belief = of_offset(said(-4.0))
    weight = prior**2 / (prior**2 + error**2)
    assert belief.mean == pytest.approx(weight * (-4.0 - kind.air.offset_k.value), rel=1e-3)
    assert belief.sd == pytest.approx(np.sqrt(weight) * error, rel=1e-3)
    assert (belief.cooks, belief.said_by) == ((), ("Ana",))
    assert belief.line.endswith("as Ana said")
    assert "under its gauge" in belief.line


def test_cooks_that_contradict_it_take_its_weight() -> None:
    house = said(4.0)
    assert doubts_of(house) == []
    for n in range(4):
        at = FIRST + (n + 1) * WEEK
        house = house.plus([lesson(f"c{n}", at, offset_k=-8.0, hand=None)])
    (doubt,) = [each for each in doubts_of(house) if not each.item]
    assert (doubt.hand, doubt.pit) == ("Ana", PIT)
    assert doubt.line.startswith("what Ana said of barn pit: the other cooks say otherwise")
    assert of_offset(house).mean < -2.0
    assert "from 4 cooks and as Ana said" in of_offset(house).line
    assert of_offset(house).doubted == (doubt,)


def test_steps_are_what_was_believed_then() -> None:
    house = said(-4.0)
    for n in range(3):
        house = house.plus([lesson(f"c{n}", FIRST + (n + 1) * WEEK, offset_k=-7.0)])
    other = house.plus([lesson("elsewhere", FIRST + 5 * WEEK, offset_k=9.0, pit="gate pit")])
    steps = steps_of(other)["offset", PIT, KIND]
    assert [each.cook for each in steps] == ["said one", "c0", "c1", "c2"], "of the other pit's cook there is none"
    assert steps[0].mean == pytest.approx(of_offset(said(-4.0)).mean)
    assert steps[-1].mean == pytest.approx(of_offset(house).mean)
    one = Lessons(other.used[:2])
    np.testing.assert_allclose(other.first(2).among, one.among)


def test_a_pit_that_is_anew_has_another_story_from_then_on() -> None:
    house = Lessons((lesson("c0", FIRST, offset_k=-7.0), lesson("c1", FIRST + 2 * WEEK, offset_k=6.0)))
    anew = Lessons(house.lessons, {PIT: FIRST + WEEK})
    before, after = steps_of(anew)["offset", PIT, KIND]
    assert before.mean < -3.0
    assert after.mean > 2.0, "the old pit's cook tells nothing of it"
    assert of_offset(anew).cooks == ("c1",)


def test_the_file_and_the_command_keep_whose_it_is(pitreckon: Call, tmp_path: Path) -> None:
    house = said(-4.0).plus([lesson("c0", FIRST + WEEK, offset_k=-7.0, hand="Ben")])
    file = tmp_path / "house.json"
    file.write_text(text_of_lessons(house))
    again = lessons_of_text(file.read_text(), "house.json")
    assert [each.hand for each in again.lessons] == ["Ana", "Ben"]
    assert [each.was_said for each in again.lessons] == [True, False]
    answer = pitreckon("lessons", file)
    assert answer.code == 0
    assert "what Ana said of barn pit" in answer.out
    assert "from 1 cook and as Ana said" in answer.out


def test_of_a_pit_that_the_catalog_does_not_have_nothing_can_be_said() -> None:
    with pytest.raises(InputError, match="no-such"):
        said_offset("one", PIT, "no-such", 1.0, 1.0, "Ana", FIRST)
    text = text_of_lessons(said(1.0)).replace(f'"{KIND}"', '"no-such"')
    with pytest.raises(InputError, match="no-such"):
        lessons_of_text(text, "house.json")


def test_what_photos_say_of_a_hand_is_told_and_files_of_before_are_read(pitreckon: Call, tmp_path: Path) -> None:
    """Of a normal prior and a normal difference, the day's share apart (a textbook's, from memory)."""
    told = HandTold("Ana", "colour", 0.15, 0.1, 2)
    house = Lessons((replace(lesson("one", FIRST, offset_k=-5.0), hands=(told,)),))
    file = tmp_path / "house.json"
    file.write_text(text_of_lessons(house))
    (ana,) = hands_known(house, FIRST)
    prior, error = OWN * usual("colour").sd ** 2, 0.1**2 + (1.0 - OWN) * usual("colour").sd ** 2
    assert ana.mean == pytest.approx(0.15 * prior / (prior + error))
    assert ana.beside == 2
    step = f"{ana.mean / STEP:.1f}"
    assert f"Ana beside 2 photos sees colour {step} of a swatch darker, give or take" in pitreckon("lessons", file).out
    as_measured = replace(ana, mean=0.01)
    assert as_measured.words.startswith("beside 2 photos sees colour as it is measured")
    before = Lessons((replace(house.lessons[0], hands=(replace(told, beside=0),)),))
    assert text_of_lessons(house).replace(',\n     "beside": 2', "") == text_of_lessons(before)
    assert hands_known(lessons_of_text(text_of_lessons(before), "house.json"), FIRST)[0].words.startswith("sees colour")


def test_a_hand_is_kept_with_its_lesson_and_told_in_words() -> None:
    lessons = Lessons((lesson("one", FIRST, offset_k=-5.0, hand="Ana"), lesson("two", FIRST + WEEK, offset_k=-5.0)))
    text = text_of_lessons(lessons)
    again = lessons_of_text(text, "house.json")
    assert [each.hands for each in again.lessons] == [each.hands for each in lessons.lessons]
    assert text_of_lessons(again) == text
    (ana, owner) = hands_known(again, FIRST + WEEK)
    assert (ana.by, ana.kind, ana.cooks) == ("Ana", "probe feel", ("one",))
    assert str(ana.words).startswith("feels meat 0.")
    assert "of a word more tender than most, give or take" in ana.words
    assert owner.by == "owner"
    assert hands_known(again.without("one"), FIRST + WEEK)[0].by == "owner"
    with pytest.raises(InputError, match="is no scale of words"):
        lessons_of_text(text.replace("probe feel", "probe fell"), "house.json")
