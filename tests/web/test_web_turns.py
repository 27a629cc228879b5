"""Who is answered next and by which worker, how many may wait, and what becomes of a question whose worker dies."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from multiprocessing import active_children
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from conftest import COOK
from tests.patience import PATIENCE_S, comes
from tests.web.crews import crew_with
from tests.web.house import settings, town

from pitreckon.web.errors import RefusalError
from pitreckon.web.live import answering
from pitreckon.web.live import crew as crew_module
from pitreckon.web.live import jobs as jobs_module
from pitreckon.web.live.answering import WorkerGoneError
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.crew import Crew, Ticket
from pitreckon.web.live.giveway import GaveWayError
from pitreckon.web.live.hiring import Here
from pitreckon.web.live.jobs import Jobs
from pitreckon.web.live.lately import Kept, Lately
from pitreckon.web.live.questions import Memory, explained, likeliest_causes, reckoned_now
from pitreckon.web.live.turns import HOUSE, Asker, Urgency
from pitreckon.web.live.worker import DIED, WorkerDiedError

OWNER, AUNT, UNCLE = (
    Asker.of("owner", may_record=True),
    Asker.of("aunt", may_record=False),
    Asker.of("uncle", may_record=False),
)
pytestmark = pytest.mark.asyncio


class Slow:
    """In place of a process: each question is noted as it begins, and answered when ``finish`` says so, or at once."""

    def __init__(self, *, at_once: bool = False) -> None:
        self.at_once, self.threads, self.progress = at_once, 0, ""
        self.asked: list[Any] = []
        self.granted: list[int] = []
        self.forgot: list[str] = []
        self.deaths = 0
        self.closed = False
        self._ends = asyncio.Event()
        self._left = False

    async def ask(self, question: Any, *args: Any, **_more: Any) -> Any:
        self.asked.append(args)
        self.granted.append(self.threads)
        self._ends.clear()
        self._left = False
        if self.deaths:
            self.deaths -= 1
            raise WorkerDiedError(DIED)
        if not self.at_once:
            async with asyncio.timeout(PATIENCE_S):
                await self._ends.wait()
        await asyncio.sleep(0)
        if self._left:
            raise GaveWayError("it was left")
        return args[0] if args else question.__name__

    def finish(self) -> None:
        """It has an answer to what it is at, and to what comes next at once."""
        self.at_once = True
        self._ends.set()

    def give_way(self) -> None:
        self._left = True
        self._ends.set()

    def forget(self, key: str) -> None:
        self.forgot.append(key)

    def close(self) -> None:
        self.closed = True


def echo(_memory: Memory, what: str) -> str:
    """A question for these tests."""
    return what


def names(tickets: list[Ticket]) -> Callable[[], list[str]]:
    """Of those whose turn has come."""
    return lambda: [each.name for each in tickets if each.ready.is_set()]


async def test_whoever_records_comes_first_and_nobody_twice_before_another() -> None:
    crew = crew_with(Slow())
    running = crew.join(AUNT)
    house, uncle, aunt = crew.join(HOUSE), crew.join(UNCLE), crew.join(AUNT)
    first, second = crew.join(OWNER), crew.join(OWNER)
    assert running.ready.is_set()
    assert [crew.before(each) for each in (running, first, second, uncle, aunt, house)] == [0, 1, 2, 3, 4, 5]
    order, left = [], {id(first): "owner", id(second): "owner again", id(uncle): "uncle", id(aunt): "aunt"}
    left[id(house)] = "house"
    now = running
    for _ in range(5):
        crew.leave(now)
        now = next(each for each in (house, uncle, aunt, first, second) if each.ready.is_set() and id(each) in left)
        order.append(left.pop(id(now)))
    assert order == ["owner", "owner again", "uncle", "aunt", "house"], "the aunt has had a turn, the uncle none"


async def test_so_many_may_wait_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew_module, "MOST", 4)
    crew = crew_with(Slow())
    crew.join(HOUSE)
    crew.join(AUNT)
    with pytest.raises(RefusalError, match="a question of yours") as caught:
        crew.join(AUNT)
    assert caught.value.status == 429
    for _ in range(3):
        crew.join(OWNER)
    with pytest.raises(RefusalError, match="too much is being asked") as caught:
        crew.join(UNCLE)
    assert caught.value.status == 503
    assert crew.told().waiting == 4


async def test_whoever_gives_up_holds_no_place() -> None:
    crew = crew_with(Slow())
    running = crew.join(AUNT)
    gone, left = crew.join(UNCLE), crew.join(OWNER)
    crew.leave(gone)
    crew.leave(running)
    assert left.ready.is_set()
    crew.leave(left)
    assert crew.join(AUNT).ready.is_set(), "nobody holds it now"


async def test_a_look_first_then_readings_people_and_what_ifs() -> None:
    crew = crew_with(Slow())
    running = crew.join(Asker("running"), Urgency.READINGS)
    waiting = [crew.join(Asker(each.name), each) for each in reversed(Urgency)]
    came = []
    now = running
    for _ in Urgency:
        crew.leave(now)
        now = next(each for each in waiting if each.ready.is_set() and each.name not in came)
        came.append(now.name)
    assert came == [each.name for each in Urgency]


async def test_what_somebody_waits_for_is_not_starved_by_readings() -> None:
    crew = crew_with(Slow())
    running = crew.join(Asker("supper"), Urgency.READINGS)
    person, readings = crew.join(OWNER), crew.join(Asker("wings"), Urgency.READINGS)
    person.since_s -= crew_module.PEOPLE_WAIT_S + 1.0
    person.rank = readings.rank
    crew.leave(running)
    assert names([person, readings])() == ["owner"]


# --- several workers


async def answer(crew: Crew, ticket: Ticket, what: str) -> str:
    try:
        return await crew.answer(ticket, echo, what)
    finally:
        crew.leave(ticket)


async def test_cooks_side_by_side_each_with_whoever_remembers_it() -> None:
    one, two = Slow(at_once=True), Slow(at_once=True)
    crew = crew_with(one, two)
    for _ in range(3):
        tickets = [crew.join(Asker(cook), Urgency.LOOK, key=cook) for cook in ("supper", "wings")]
        assert all(ticket.ready.is_set() for ticket in tickets), "neither waits for the other"
        assert [await answer(crew, ticket, ticket.name) for ticket in tickets] == ["supper", "wings"]
    assert [one.asked, two.asked] == [[("supper",)] * 3, [("wings",)] * 3]
    own = crew.join(Asker("lunch"), Urgency.LOOK, key="supper")  # whoever remembers the supper is at it
    other = crew.join(Asker("supper"), Urgency.LOOK, key="supper")
    assert await answer(crew, other, "elsewhere") == "elsewhere"
    assert two.asked[-1] == ("elsewhere",)
    crew.leave(own)
    assert crew.join(Asker("supper"), Urgency.LOOK, key="supper").seat.worker is two, "it remembers it now"


async def test_a_worker_more_only_when_there_is_work_for_it_and_none_that_idles(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(crew_module, "IDLE_S", 0.01)
    one, two = Slow(at_once=True), Slow(at_once=True)
    crew = crew_with(one, two, cores=3)
    for cook in ("supper", "wings", "lunch"):
        await answer(crew, crew.join(Asker(cook), Urgency.LOOK, key=cook), cook)
    assert crew.told().workers == 1
    both = [crew.join(Asker(cook), Urgency.LOOK) for cook in ("supper", "wings")]
    assert (crew.told().workers, crew.told().busy) == (2, 2)
    await asyncio.gather(*(answer(crew, ticket, ticket.name) for ticket in both))
    assert (one.granted, two.granted) == ([3, 3, 3, 3], [1]), "who is alone has every core; nobody has none"
    await comes(lambda: two.closed, "that nobody idles")
    assert crew.told().workers == 1
    assert not one.closed


async def test_a_look_takes_the_place_of_what_ifs_where_its_cook_is_remembered() -> None:
    one, two = Slow(at_once=True), Slow(at_once=True)
    crew = crew_with(one, two)
    first = [crew.join(Asker(cook), Urgency.LOOK, key=cook) for cook in ("supper", "wings")]
    for each in first:
        await answer(crew, each, each.name)
    one.at_once = two.at_once = False
    extras = [
        asyncio.create_task(answer(crew, crew.join(Asker(c), Urgency.EXTRAS, key=c), c)) for c in ("supper", "wings")
    ]
    await asyncio.sleep(0)
    look = crew.join(Asker("wings"), Urgency.FIRST, key="wings", only=True)
    with pytest.raises(GaveWayError):
        await extras[1]
    assert look.seat is not None
    assert look.seat.worker is two
    assert not extras[0].done()
    extras[0].cancel()


async def test_what_one_worker_has_newer_another_forgets_once() -> None:
    one, two = Slow(at_once=True), Slow(at_once=True)
    crew = crew_with(one, two)

    async def asks(question: Any, *, beside: bool = False) -> None:
        """Of supper's; beside: while the first worker is at something else that cannot wait."""
        other = crew.join(Asker("wings"), Urgency.FIRST) if beside else None
        ticket = crew.join(Asker("supper"), Urgency.LOOK, key="supper")
        await crew.answer(ticket, question, Asked("ledger", "supper", "", 1, 1))
        crew.leave(ticket)
        if other is not None:
            crew.leave(other)

    await asks(reckoned_now)
    await asks(explained, beside=True)  # at the second, which keeps nothing of the cook by it
    assert (len(one.asked), len(two.asked)) == (1, 1)
    assert (one.forgot, two.forgot) == ([], [])
    await asks(reckoned_now)  # where it was asked last
    assert (len(one.asked), len(two.asked)) == (1, 2)
    assert (one.forgot, two.forgot) == (["supper"], [])
    await asks(reckoned_now)
    assert (one.forgot, two.forgot) == (["supper"], [])
    two.deaths = 1
    await asks(reckoned_now)  # whoever died has forgotten by itself
    assert (one.forgot, two.forgot) == (["supper"], [])


async def test_a_process_forgets_after_what_it_is_at(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Asked("ledger", "supper", "", 1, 1)
    memory, done = Memory(kept=Kept(2500)), cast("Any", SimpleNamespace(cells=np.zeros(125)))
    memory.kept.keep(Lately.whole(asked, Again(datetime(2026, 10, 10, 12, tzinfo=UTC), 8), done))
    monkeypatch.setattr(answering._Here, "memory", memory)
    answering.forgotten("wings")
    assert memory.reckoned(asked) is not None
    answering.forgotten("supper")
    assert memory.reckoned(asked) is None


async def test_what_takes_long_leaves_a_worker_for_looks() -> None:
    crew = crew_with(Slow(), Slow())
    plans = [crew.join(Asker(who), long=True) for who in ("owner", "cook")]
    assert names(plans)() == ["owner"]
    assert crew.join(Asker("supper"), Urgency.LOOK).ready.is_set()
    alone = crew_with(Slow())
    assert alone.join(OWNER, long=True).ready.is_set(), "where there is but one it does everything"


async def test_a_question_that_is_not_wanted_any_more_is_dropped_where_it_waits() -> None:
    slow = Slow()
    crew = crew_with(slow)
    crew.join(Asker("supper"), Urgency.LOOK)
    ticket = crew.join(Asker("wings"), Urgency.EXTRAS)
    asking = asyncio.create_task(answer(crew, ticket, "old"))
    await asyncio.sleep(0)
    crew.give_way(ticket)
    with pytest.raises(GaveWayError):
        await asking
    assert slow.asked == []
    assert crew.told().waiting == 0


async def test_a_worker_that_dies_loses_no_question_and_one_that_kills_them_all_is_given_up() -> None:
    slow = Slow(at_once=True)
    crew = crew_with(slow)
    heard: list[str] = []
    slow.deaths = 2
    ticket = crew.join(Asker("supper"), Urgency.LOOK, heard=heard.append)
    assert await answer(crew, ticket, "it") == "it"
    assert heard == [DIED, DIED]
    slow.deaths = 3
    with pytest.raises(WorkerGoneError):
        await answer(crew, crew.join(Asker("supper"), Urgency.LOOK), "it")
    assert (await answer(crew, crew.join(Asker("supper"), Urgency.LOOK), "next")) == "next"


async def test_a_worker_keeps_as_many_cooks_as_have_room_and_the_last_always() -> None:
    asked = {cook: Asked("ledger", cook, "", 1, 1) for cook in ("supper", "wings", "lunch")}
    done: Any = SimpleNamespace(cells=np.zeros(125))  # a thousand bytes each
    memory, again = Memory(kept=Kept(2500)), Again(datetime(2026, 10, 10, 12, tzinfo=UTC), 8)
    for cook in ("supper", "wings", "supper", "lunch"):
        memory.kept.keep(Lately.whole(asked[cook], again, done))
    assert list(memory.kept.of) == ["supper", "lunch"]
    assert memory.reckoned(asked["supper"]) is done
    assert memory.reckoned(replace(asked["supper"], seq=2)) is None, "of before"
    little = Memory(kept=Kept(10))
    little.kept.keep(Lately.whole(asked["supper"], again, done))
    assert list(little.kept.of) == ["supper"]


# --- an answer that does not come


def jobs_with(slow: Slow) -> Jobs:
    return Jobs(crew_with(slow))


async def test_a_viewer_cannot_starve_the_owner() -> None:
    """At commit f67b174 eight questions of a viewer who hung up were all answered before the owner's."""
    slow = Slow()
    jobs = jobs_with(slow)
    turned_away = 0
    for n in range(8):
        try:
            assert await jobs.answer(AUNT, 0.0, echo, f"aunt {n}") is None
        except RefusalError:
            turned_away += 1
    assert turned_away == 6, "one is answered, one waits"
    assert await jobs.answer(OWNER, 0.0, echo, "owner") is None, "the aunt's first is at it"
    slow.finish()
    assert await jobs.answer(OWNER, PATIENCE_S, echo, "owner") == "owner"
    assert [args[0] for args in slow.asked][:2] == ["aunt 0", "owner"]
    await jobs.end()


async def test_one_question_is_reckoned_once_for_all_who_ask_it() -> None:
    slow = Slow()
    jobs = jobs_with(slow)
    everybody = (OWNER, AUNT, UNCLE, OWNER)
    asking = asyncio.gather(*(jobs.answer(who, PATIENCE_S, echo, "record") for who in everybody))
    assert await jobs.answer(AUNT, 0.0, echo, "record") is None
    slow.finish()
    answers = await asking
    assert answers == ["record"] * 4
    assert len(slow.asked) == 1
    await jobs.end()


async def test_an_answer_grows_old(monkeypatch: pytest.MonkeyPatch) -> None:
    now_s = 1000.0
    monkeypatch.setattr(jobs_module, "time", SimpleNamespace(monotonic=lambda: now_s))
    slow = Slow(at_once=True)
    jobs = jobs_with(slow)
    for moment in ("first", "second"):
        assert await jobs.answer_for("key", 60.0, OWNER, PATIENCE_S, echo, moment) == "first"
        now_s += 59.0
    now_s += 2.0
    assert await jobs.answer_for("key", 60.0, OWNER, PATIENCE_S, echo, "third") == "third"
    await jobs.end()


async def test_how_far_a_question_is_is_said_of_that_one_alone() -> None:
    slow = Slow()
    jobs = jobs_with(slow)
    for key in ("first", "second"):
        assert await jobs.answer_for(key, None, OWNER, 0.0, echo, key) is None
    slow.progress = "racks: 2000 readers cook it by its marks"
    assert jobs.far("first") == slow.progress
    assert jobs.far("second") == ""  # it waits
    assert jobs.far("nobody's") == ""
    await jobs.end()


async def test_a_question_that_waits_is_never_forgotten_and_run_again() -> None:
    slow = Slow()
    jobs = jobs_with(slow)
    everybody = [Asker.of(f"cook {n}", may_record=True) for n in range(20)]
    for _ in range(2):
        for n, who in enumerate(everybody):
            assert await jobs.answer(who, 0.0, echo, f"of {n}") is None
    slow.finish()
    answers = [await jobs.answer(who, PATIENCE_S, echo, f"of {n}") for n, who in enumerate(everybody)]
    assert answers == [f"of {n}" for n in range(20)]
    assert len(slow.asked) == 20
    await jobs.end()


@pytest.mark.servers
async def test_a_process_that_is_killed_is_begun_anew_and_asked_again() -> None:
    """Its question is one that is refused at once: no kernel is loaded for it."""
    crew = Crew(Here(1))
    heard: list[str] = []
    before = {each.pid for each in active_children()}

    def spawned() -> list[BaseProcess]:
        """Processes of its workers that are alive; an earlier test's may still be ending."""
        return [each for each in active_children() if "SpawnProcess" in each.name and each.pid not in before]

    ticket = crew.join(OWNER, heard=heard.append)
    asking = asyncio.create_task(crew.answer(ticket, likeliest_causes, "no report"))  # type: ignore[arg-type]
    await comes(spawned, "a worker's process")
    spawned()[0].kill()
    async with asyncio.timeout(PATIENCE_S):
        with pytest.raises(WorkerGoneError, match="AttributeError"):
            await asking
    assert heard == [DIED]
    assert len(spawned()) == 1
    crew.close()
    # No ``join``: where the executor's own thread has just waited for it, it returns too early.
    await comes(lambda: not spawned(), "its end")


async def test_the_record_says_so_and_is_no_500(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At commit f67b174 a record that took over 120 s was "something went wrong in the program itself"."""
    gone = Slow()
    gone.deaths = 100
    monkeypatch.setattr("pitreckon.web.app.crew_of", lambda _: crew_with(gone))
    async with town(settings(tmp_path)) as made:
        house = made.app.state.app_state
        house.store.add_cook(COOK, "harvest table", cook_id="wings")
        owner = await made.owner()
        for path in ("record", "record.json", "record.pdf"):
            answer = await owner.get(f"/cook/wings/{path}")
            assert answer.status_code == 503, path
            assert "has died" in answer.text


async def test_a_record_that_is_not_there_yet_looks_again_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pitreckon.web.pages.record.WAIT_S", 0.0)
    monkeypatch.setattr("pitreckon.web.pages.record.FILE_WAIT_S", 0.0)
    slow = Slow()
    monkeypatch.setattr("pitreckon.web.app.crew_of", lambda _: crew_with(slow))
    async with town(settings(tmp_path)) as made:
        house = made.app.state.app_state
        house.store.add_cook(COOK, "harvest table", cook_id="wings")
        owner = await made.owner()
        for path, status in (("record", 200), ("record", 200), ("record.json", 503), ("record.pdf", 503)):
            answer = await owner.get(f"/cook/wings/{path}")
            assert answer.status_code == status, (path, answer.text)
        page = (await owner.get("/cook/wings/record")).text
        assert "http-equiv" not in page  # it asks without loading anew
        assert 'data-again="3"' in page
        assert "Being reckoned" in page
        slow.progress = "reckoning wings, 256 times each"
        assert "reckoning wings, 256 times each" in (await owner.get("/cook/wings/record")).text
        assert len(slow.asked) == 1, "five looks, one reckoning"
        assert slow.asked[0][0].cook_id == "wings"
