"""Live reckoning with what earlier cooks told; an empty house gives the outlook of before, byte for byte."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.web.taught import FIRST, fill_house, plan_of, teach

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.store import Correction, Entry, Following, Store
from pitreckon.ledger.store.house import house_stamp, leave_out, say_of_pit, start_anew
from pitreckon.lessons.house.form import lessons_of_text
from pitreckon.reckon.document import document_of
from pitreckon.reckon.forecast import reckoning
from pitreckon.section import simulate
from pitreckon.web.live.asked import Asked
from pitreckon.web.live.house import known_before
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import Memory, explained, reckoned_now, taught

pytestmark = pytest.mark.kernel

TODAY = FIRST + timedelta(days=60)
MEMBERS = 64


def told(end: datetime, *, by: str = "Ana", grate_c: float = 128.0) -> list[Entry]:
    """Racks on a pit that reads 135 degC, tender after four hours by somebody's feel; the grate is cooler."""
    on = end - timedelta(hours=4)
    events: list[Act | Reading | Look] = [Act(on, "racks", "put on")]
    events += [Reading(on + timedelta(minutes=15 * n), "pit air", "barn pit", None, 135.0) for n in range(16)]
    events += [Look(on + timedelta(hours=h), "barn pit", None, "grate temperature", grate_c) for h in (1.0, 2.0)]
    events += [
        Look(on + timedelta(hours=2), "racks", None, "colour", 0.85, "red-brown"),
        Act(on + timedelta(hours=2.2), "racks", "wrapped", "foil"),
        Look(on + timedelta(hours=3.3), "racks", None, "probe feel", 0.78, "some drag"),
        Look(end, "racks", None, "probe feel", 1.0, "slides in"),
        Act(end, "racks", "took off"),
    ]
    return [Entry(f"e{n}", event, "barn box" if isinstance(event, Reading) else by) for n, event in enumerate(events)]


def today(store: Store, path: Path) -> Asked:
    """A cook of today, asked about as the page does."""
    if "today" not in {row.id for row in store.cooks()}:
        store.add_cook(plan_of("today", TODAY), "today", cook_id="today")
        store.append("today", told(TODAY - timedelta(hours=1), grate_c=133.0)[:8])
    row = store.cook("today")
    stamp = house_stamp(store, row.id, cook_of(row.plan_toml).begin_utc)
    return Asked(str(path), row.id, row.plan_toml, row.last_seq, 1, stamp)


def outlook_text(asked: Asked, memory: Memory | None = None) -> tuple[str, int, bool]:
    """The document of the live outlook, how many cooks it rests on, and whether somebody said something."""
    now = TODAY - timedelta(hours=4)
    done = reckoned_now(memory or Memory(), asked, now, MEMBERS)
    return document_of(done.outlook).model_dump_json(), done.earlier, done.said


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "ledger.sqlite"


def test_an_empty_house_gives_the_outlook_of_before_byte_for_byte(path: Path) -> None:
    with Store.open(path) as store:
        asked = today(store, path)
        ledger = Following(store).ledger("today")
        done = reckoning(cook_of(asked.plan_toml), ledger, now=TODAY - timedelta(hours=4), members=MEMBERS, seed=1)
        before = document_of(done.outlook).model_dump_json()
        assert asked.house == ""
        assert outlook_text(asked) == (before, 0, False)
        teach(
            store, "later", "later", TODAY + timedelta(days=1), offset_k=-9.0
        )  # of what comes after it it knows nothing
        start_anew(store, "barn pit", FIRST, "owner", FIRST)
        assert outlook_text(today(store, path)) == (before, 0, False)
        fill_house(store)
        with_lessons = today(store, path)
        assert with_lessons.house
        text, earlier, said = outlook_text(with_lessons)
        assert (earlier, said) == (5, False)
        assert text != before
        for cook_id in ("c0", "c1", "c2", "c3", "odd"):
            leave_out(store, cook_id, "owner", FIRST)
        assert outlook_text(today(store, path)) == (before, 0, False)


def test_the_live_outlook_uses_what_was_known_before_and_goes_on_from_there(path: Path) -> None:
    with Store.open(path) as store:
        fill_house(store)
        leave_out(store, "odd", "owner", FIRST)
        asked, memory = today(store, path), Memory()
        cook, ledger = cook_of(asked.plan_toml), Following(store).ledger("today")
        lessons = known_before(store, "today", cook.begin_utc)
        assert {each.cook for each in lessons.lessons} == {"c0", "c1", "c2", "c3"}
        now = TODAY - timedelta(hours=4)
        done = reckoning(cook, ledger, now=now, members=MEMBERS, seed=1, lessons=lessons)
        text, earlier, _ = outlook_text(asked, memory)
        assert text == document_of(done.outlook).model_dump_json()
        assert earlier == 4
        assert memory.reckoned(asked) is not None
        assert memory.reckoned(replace(asked, house="")) is None, "of another house"
        explained(memory, asked, now, 32, celsius=False)
        say_of_pit(store, ("barn pit", "pellet-cooker", "offset"), 6.0, 2.0, FIRST, "owner", FIRST)
        after = today(store, path)
        assert after.house != asked.house
        assert outlook_text(after, memory)[2]


def test_a_finished_cook_teaches_with_its_hand_and_how_much(path: Path) -> None:
    with Store.open(path) as store:
        store.add_cook(plan_of("supper", FIRST), "supper", cook_id="supper")
        store.append("supper", told(FIRST))
        store.append("supper", [Entry("served", Act(FIRST, "racks", "served"), "Ben")])
        row = store.cook("supper")
        asked = Asked(str(path), row.id, row.plan_toml, row.last_seq, 1)
        ended, content = taught(Memory(), asked)
        assert ended == FIRST
        (lesson,) = lessons_of_text(content, "supper").lessons
        assert (lesson.cook, lesson.item, lesson.hand, lesson.pit) == ("supper", "racks", "Ana", "barn pit")
        assert lesson.seen >= 5
        store.append(
            "supper", [Entry("more", Look(FIRST - timedelta(hours=3), "racks", None, "colour", 0.3, "tan"), "Ben")]
        )
        later = replace(asked, seq=store.last_seq("supper"))
        (again,) = lessons_of_text(taught(Memory(), later)[1], "supper").lessons
        assert again.hand is None, "two people looked"
        assert again.seen == lesson.seen + 1


DAY = """[cook]
name = "porch"
zone = "America/Chicago"
serve = "{serve}"

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = ["275 F"]

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 2
"""


def test_a_day_is_planned_with_the_same_lessons_from_question_to_question(path: Path) -> None:
    memory, text = Memory(), DAY.format(serve=TODAY.strftime("%Y-%m-%d %H:%M"))
    with Store.open(path) as store:
        assert memory.wishes(text, str(path)).learned is None
        fill_house(store)
        learned = memory.wishes(text, str(path)).learned
        assert learned is not None
        assert {each.cook for each in learned.lessons} == {"c0", "c1", "c2", "c3", "odd"}
        later = memory.wishes(text.replace("porch", "orchard"), str(path)).learned
        assert later is learned, "what was run for it is found again"
        leave_out(store, "odd", "owner", FIRST)
        without = memory.wishes(text, str(path)).learned
        assert without is not None
        assert {each.cook for each in without.lessons} == {"c0", "c1", "c2", "c3"}
        assert memory.wishes(text, "").learned is None
        before_any = DAY.format(serve=(FIRST - timedelta(days=400)).strftime("%Y-%m-%d %H:%M"))
        assert memory.wishes(before_any, str(path)).learned is None


MOST_MEMBERS = 1000
"""Which a core runs in less than a second; counted, as the machine may be busy."""


def test_learning_takes_no_longer_than_it_may(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ran: list[int] = []
    work = simulate._Run.work

    def counted(run: simulate._Run, engine: Any, first: int, last: int) -> None:
        ran.append(last - first)
        work(run, engine, first, last)

    monkeypatch.setattr(simulate._Run, "work", counted)
    with Store.open(path) as store:
        store.add_cook(plan_of("supper", FIRST), "supper", cook_id="supper")
        store.append("supper", told(FIRST))
        row = store.cook("supper")
        taught(Memory(), Asked(str(path), row.id, row.plan_toml, row.last_seq, 1))
    assert 0 < sum(ran) <= MOST_MEMBERS


def test_a_look_has_an_author_in_the_ledger_and_none_in_what_was_seen(path: Path) -> None:
    with Store.open(path) as store:
        store.add_cook(plan_of("supper", FIRST), "supper", cook_id="supper")
        following = Following(store)
        store.append("supper", told(FIRST)[:8])
        assert following.ledger("supper").all_readings
        store.append("supper", told(FIRST, by="Ben")[8:])
        for ledger in (store.ledger("supper"), following.ledger("supper")):
            assert {look.kind: look.by for look in ledger.all_looks} == {
                "grate temperature": "Ben",
                "colour": "Ben",
                "probe feel": "Ben",
            }
        assert store.ledger("supper") == Ledger.of(each.event for each in told(FIRST))
        assert '"by":"Ben","kind":"look"' in "".join(store.export_jsonl("supper"))
        with Store.open(path.with_name("other.sqlite")) as other:
            other.import_jsonl(store.export_jsonl("supper"))
            assert {look.by for look in other.ledger("supper").all_looks} == {"Ben"}


def test_who_puts_a_look_right_has_not_seen_it(path: Path) -> None:
    with Store.open(path) as store:
        store.add_cook(plan_of("supper", FIRST), "supper", cook_id="supper")
        following = Following(store)
        store.append("supper", told(FIRST))
        following.ledger("supper")
        (colour,) = [each for each in told(FIRST) if getattr(each.event, "kind", "") == "colour"]
        moved = replace(colour.event, at_utc=FIRST - timedelta(hours=1))
        store.append("supper", [Entry("moved", Correction(colour.id, moved, "its time put right"), "Ben")])
        for ledger in (store.ledger("supper"), following.ledger("supper"), Following(store).ledger("supper")):
            (look,) = [each for each in ledger.all_looks if each.kind == "colour"]
            assert (look.at_utc, look.by) == (FIRST - timedelta(hours=1), "Ana")
