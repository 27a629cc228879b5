"""``pitreckon lessons`` and ``--lessons``: what cannot be read or named is refused, and nothing is written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from conftest import Call
from tests.reckon.test_reckon_changed import STEADY, cooks
from tests.web.taught import FIRST, fill_house, lesson

from pitreckon.ledger.store import Store
from pitreckon.ledger.store.house import leave_out
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.reckon.hands import THERMOMETER, HandTold
from pitreckon.reckon.learned import Lessons

EMPTY = '{"form": "pitreckon lessons 1"}\n'


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--leave-out", "nobody"), "there is no cook 'nobody'"),
        (("--anew", "barn pit"), "is not a pit and a day"),
        (("--anew", "barn pit=soon"), "'soon' is not a day"),
        (("--another-thermometer", "Ana=soon"), "'soon' is not a day"),
        (("--same", "barn pit"), "is not a pit and a day"),
        (("--same", "barn pit=soon"), "'soon' is not a day"),
        (("--learn", "supper.toml"), "'supper.toml' names no log"),
        (("--learn", "nobody.toml=day.csv"), "nobody.toml: there is no such file"),
    ],
)
def test_what_cannot_be_named_is_refused_and_nothing_is_written(
    pitreckon: Call, tmp_path: Path, options: tuple[str, ...], says: str
) -> None:
    file = tmp_path / "house.json"
    file.write_text(EMPTY)
    got = pitreckon("lessons", str(file), *options)
    assert got.code == 2
    assert says in got.err
    assert file.read_text() == EMPTY


def test_an_empty_house_says_what_to_do(pitreckon: Call, tmp_path: Path) -> None:
    got = pitreckon("lessons", str(tmp_path / "none.json"))
    assert got.code == 0
    assert "Nothing is learned yet" in got.out
    assert not (tmp_path / "none.json").exists()


def test_lessons_that_are_not_there_are_not_passed_over(pitreckon: Call, tmp_path: Path) -> None:
    plan = Path(__file__).parents[2] / "examples" / "sunday-racks" / "sunday-racks.toml"
    got = pitreckon("reckon", str(plan), "--lessons", str(tmp_path / "none.json"))
    assert got.code == 2
    assert "none.json: there is no such file" in got.err


def test_a_plan_does_not_pass_over_lessons_that_are_not_there(pitreckon: Call, tmp_path: Path) -> None:
    day = tmp_path / "day.toml"
    day.write_text(
        '[cook]\nname = "porch"\nzone = "America/Chicago"\nserve = "2026-10-17 18:00"\n\n'
        '[[pit]]\nname = "barn pit"\nkind = "pellet-cooker"\nset = ["275 F"]\n\n'
        '[[item]]\nname = "racks"\ncut = "st-louis-ribs"\npieces = 2\n'
    )
    got = pitreckon("plan", str(day), "--lessons", str(tmp_path / "none.json"))
    assert got.code == 2
    assert "none.json: there is no such file" in got.err


def test_what_the_page_has_learned_is_read_from_its_ledger(pitreckon: Call, tmp_path: Path) -> None:
    place, file = tmp_path / "ledger.sqlite", tmp_path / "house.json"
    with Store.open(place) as store:
        fill_house(store)
        leave_out(store, "c0", "owner", FIRST)
    got = pitreckon("lessons", "--ledger", place)
    assert got.code == 0
    assert "barn pit: the grate runs" in got.out
    assert "supper 3: racks, 35 entries, on barn pit" in got.out
    assert "supper 0" not in got.out, "it is left out"
    assert "the odd one, racks: the other cooks say otherwise" in got.out
    assert pitreckon("lessons", str(file), "--ledger", place).code == 0
    kept = lessons_of_text(file.read_text(), "house.json")
    assert {each.cook for each in kept.lessons} == {"c1", "c2", "c3", "odd"}
    for more, says in ((("--anew", "barn pit=2026-10-03"), "is not changed from here"), ((), "nothing says where")):
        wrong = pitreckon("lessons", *(("--ledger", place, *more) if more else ()))
        assert (wrong.code, says in wrong.err) == (2, True)


def test_another_pit_that_nobody_told_of_is_said_with_what_to_do_about_it(pitreckon: Call, tmp_path: Path) -> None:
    file = tmp_path / "house.json"
    file.write_text(text_of_lessons(Lessons(cooks((*STEADY, 5.0, 6.5)))))
    got = pitreckon("lessons", str(file))
    assert "barn pit: since 2026-10-17 (c6) it runs as another pit would, " in got.out
    assert "if so, say --anew 'barn pit=2026-10-17', else --same 'barn pit=2026-10-24'" in got.out
    got = pitreckon("lessons", str(file), "--same", "barn pit=2026-10-24")
    assert "another pit" not in got.out
    assert "barn pit: the same up to 2026-10-24, as was said" in got.out
    assert pitreckon("lessons", str(file), "--anew", "barn pit=2026-10-17").code == 0
    assert "another pit would" not in pitreckon("lessons", str(file)).out


def test_another_thermometer_forgets_the_old_one(pitreckon: Call, tmp_path: Path) -> None:
    file = tmp_path / "house.json"
    told = tuple(HandTold(who, THERMOMETER, 2.0, 0.6, 1) for who in ("Ana", ""))
    house = Lessons((replace(lesson("one", FIRST, offset_k=-5.0), hands=told),))
    file.write_text(text_of_lessons(house))
    before = pitreckon("lessons", file).out
    assert "Ana: the thermometer reads 3 °F high, give or take 2 °F, after a check in ice or boiling water" in before
    assert "\nthe thermometer reads 3 °F high" in before, "nobody's name"
    assert "the thermometer reads 1 °C high" in pitreckon("lessons", file, "--degrees", "C").out
    after = pitreckon("lessons", file, "--another-thermometer", "2026-09-06").out
    assert "Ana: the thermometer reads 3 °F high" in after
    assert "\nthe thermometer reads" not in after
    assert "\nanother thermometer since 2026-09-06" in after
    text = file.read_text()
    pitreckon("lessons", file, "--another-thermometer", "2026-09-06")
    assert file.read_text() == text
    assert (
        "Ana: another thermometer since 2026-09-06"
        in pitreckon("lessons", file, "--another-thermometer", "Ana=2026-09-06").out
    )
