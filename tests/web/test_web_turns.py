"""Who is answered next, how many may wait, and what is said when an answer takes too long."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path
from typing import Any

import pytest
from conftest import COOK
from tests.web.house import settings, town

from pitreckon.web.errors import RefusalError
from pitreckon.web.live import worker as worker_module
from pitreckon.web.live.jobs import Jobs
from pitreckon.web.live.questions import QUESTIONS, Memory
from pitreckon.web.live.turns import HOUSE, Asker, Turns
from pitreckon.web.live.worker import Worker, WorkerGoneError

OWNER, AUNT, UNCLE = (
    Asker.of("owner", may_record=True),
    Asker.of("aunt", may_record=False),
    Asker.of("uncle", may_record=False),
)
pytestmark = pytest.mark.asyncio


async def test_whoever_records_comes_first_and_nobody_twice_before_another() -> None:
    turns = Turns()
    running = turns.join(AUNT)
    house, uncle, aunt = turns.join(HOUSE), turns.join(UNCLE), turns.join(AUNT)
    first, second = turns.join(OWNER), turns.join(OWNER)
    assert running.ready.is_set()
    assert [turns.before(each) for each in (running, first, second, uncle, aunt, house)] == [0, 1, 2, 3, 4, 5]
    order = []
    names = {id(first): "owner", id(second): "owner again", id(uncle): "uncle", id(aunt): "aunt", id(house): "house"}
    now = running
    for _ in range(5):
        turns.leave(now)
        now = next(each for each in (house, uncle, aunt, first, second) if each.ready.is_set() and id(each) in names)
        order.append(names.pop(id(now)))
    assert order == ["owner", "owner again", "uncle", "aunt", "house"], "the aunt has had a turn, the uncle none"


async def test_so_many_may_wait_and_no_more() -> None:
    turns = Turns(most=4)
    turns.join(HOUSE)
    turns.join(AUNT)
    with pytest.raises(RefusalError, match="a question of yours") as caught:
        turns.join(AUNT)
    assert caught.value.status == 429
    for _ in range(3):
        turns.join(OWNER)
    with pytest.raises(RefusalError, match="too much is being asked") as caught:
        turns.join(UNCLE)
    assert caught.value.status == 503


async def test_whoever_gives_up_holds_no_place() -> None:
    turns = Turns()
    running = turns.join(AUNT)
    gone, left = turns.join(UNCLE), turns.join(OWNER)
    turns.leave(gone)
    turns.leave(running)
    assert left.ready.is_set()
    turns.leave(left)
    assert turns.join(AUNT).ready.is_set(), "nobody holds it now"


# --- an answer that does not come


class Slow:
    """In place of the process: each question takes so long, and is noted when it begins."""

    def __init__(self, takes_s: float) -> None:
        self.takes_s = takes_s
        self.progress = ""
        self.asked: list[Any] = []

    async def ask(self, question: Any, *args: Any, **_more: Any) -> Any:
        self.asked.append(args)
        await asyncio.sleep(self.takes_s)
        return args[0] if args else question.__name__

    def close(self) -> None:
        """Nothing runs."""


def jobs_with(slow: Slow, monkeypatch: pytest.MonkeyPatch) -> Jobs:
    monkeypatch.setattr("pitreckon.web.live.jobs.Worker", lambda *_: slow)
    return Jobs()


def echo(_memory: Memory, what: str) -> str:
    """A question for these tests."""
    return what


async def test_a_viewer_cannot_starve_the_owner(monkeypatch: pytest.MonkeyPatch) -> None:
    """At commit f67b174 eight questions of a viewer who hung up were all answered before the owner's."""
    slow = Slow(0.05)
    jobs = jobs_with(slow, monkeypatch)
    turned_away = 0
    for n in range(8):
        try:
            assert await jobs.answer(AUNT, 0.0, echo, f"aunt {n}") is None
        except RefusalError:
            turned_away += 1
    assert turned_away == 6, "one is answered, one waits"
    assert await jobs.answer(OWNER, 5.0, echo, "owner") == "owner"
    assert [args[0] for args in slow.asked][:2] == ["aunt 0", "owner"]
    await jobs.end()


async def test_one_question_is_reckoned_once_for_all_who_ask_it(monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow(0.05)
    jobs = jobs_with(slow, monkeypatch)
    answers = await asyncio.gather(*(jobs.answer(who, 5.0, echo, "record") for who in (OWNER, AUNT, UNCLE, OWNER)))
    assert answers == ["record"] * 4
    assert len(slow.asked) == 1
    await jobs.end()


async def test_an_answer_grows_old(monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow(0.0)
    jobs = jobs_with(slow, monkeypatch)
    for moment in ("first", "second"):
        assert await jobs.answer_for("key", 0.1, OWNER, 5.0, echo, moment) == "first"
    await asyncio.sleep(0.15)
    assert await jobs.answer_for("key", 0.1, OWNER, 5.0, echo, "third") == "third"
    await jobs.end()


async def test_how_far_a_question_is_is_said_of_that_one_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow(5.0)
    jobs = jobs_with(slow, monkeypatch)
    for key in ("first", "second"):
        assert await jobs.answer_for(key, None, OWNER, 0.0, echo, key) is None
    slow.progress = "racks: 2000 readers cook it by its marks"
    assert jobs.far("first") == slow.progress
    assert jobs.far("second") == ""  # it waits
    assert jobs.far("nobody's") == ""
    await jobs.end()


async def test_a_question_that_waits_is_never_forgotten_and_run_again(monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow(0.02)
    jobs = jobs_with(slow, monkeypatch)
    everybody = [Asker.of(f"cook {n}", may_record=True) for n in range(20)]
    for _ in range(2):
        for n, who in enumerate(everybody):
            await jobs.answer(who, 0.0, echo, f"of {n}")
    answers = [await jobs.answer(who, 5.0, echo, f"of {n}") for n, who in enumerate(everybody)]
    assert answers == [f"of {n}" for n in range(20)]
    assert len(slow.asked) == 20
    await jobs.end()


@pytest.mark.servers
async def test_a_reckoning_that_takes_too_long_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker_module, "LONGEST_S", 0.3)
    monkeypatch.setitem(QUESTIONS, "echo", echo)
    worker = Worker()
    begun = time.monotonic()
    with pytest.raises(WorkerGoneError, match="took longer than 0 s and was given up"):
        await worker.ask(echo, "x")  # the process has not even started by then
    assert time.monotonic() - begun < 5.0
    worker.close()


async def test_the_record_says_so_and_is_no_500(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At commit f67b174 a record that took over 120 s was "something went wrong in the program itself"."""

    class Gone(Slow):
        async def ask(self, question: Any, *args: Any, **more: Any) -> Any:
            raise WorkerGoneError("the reckoning took longer than 120 s and was given up")

    async with town(settings(tmp_path)) as made:
        house = made.app.state.app_state
        house.store.add_cook(COOK, "harvest table", cook_id="wings")
        monkeypatch.setattr(house.jobs, "_worker", Gone(0.0))
        owner = await made.owner()
        for path in ("record", "record.json", "record.pdf"):
            answer = await owner.get(f"/cook/wings/{path}")
            assert answer.status_code == 503, path
            assert "took longer than 120 s" in answer.text


async def test_a_record_that_is_not_there_yet_looks_again_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pitreckon.web.pages.record.WAIT_S", 0.0)
    monkeypatch.setattr("pitreckon.web.pages.record.FILE_WAIT_S", 0.0)
    slow = Slow(30.0)
    async with town(settings(tmp_path)) as made:
        house = made.app.state.app_state
        house.store.add_cook(COOK, "harvest table", cook_id="wings")
        monkeypatch.setattr(house.jobs, "_worker", slow)
        owner = await made.owner()
        for path, status in (("record", 200), ("record", 200), ("record.json", 503), ("record.pdf", 503)):
            answer = await owner.get(f"/cook/wings/{path}")
            assert answer.status_code == status, (path, answer.text)
        page = (await owner.get("/cook/wings/record")).text
        assert "http-equiv" not in page  # it asks without loading anew
        assert 'data-again="3"' in page
        assert "Being reckoned" in page
        house.jobs._worker.progress = "reckoning wings, 256 times each"
        assert "reckoning wings, 256 times each" in (await owner.get("/cook/wings/record")).text
        assert len(slow.asked) == 1, "five looks, one reckoning"
        assert slow.asked[0][0].cook_id == "wings"
