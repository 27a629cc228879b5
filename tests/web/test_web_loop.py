"""What is on the loop and what is not; what pages are told of a look, and when; two phones of one person."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi import Request
from tests.conftest import COOK
from tests.patience import PATIENCE_S
from tests.patience import comes as holds
from tests.web.crews import crew_with
from tests.web.house import NOW, Door, Town, off_the_loop, settings, town
from tests.web.test_web_strips import outlook

from pitreckon.errors import StoreError
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry
from pitreckon.reckon import Outlook
from pitreckon.reckon.whatif import WhatIf
from pitreckon.web.access.sessions import Visitor
from pitreckon.web.live import live as live_module
from pitreckon.web.live import plans
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.giveway import GaveWayError
from pitreckon.web.live.live import HELD_S
from pitreckon.web.live.questions import Reckoned, reckoned_now, supposed
from pitreckon.web.live.stream import stream_of
from pitreckon.web.live.watched import News
from pitreckon.web.pages.day import save_day, text_of_day
from pitreckon.web.pages.visit import Visit
from pitreckon.web.settings import Clock

pytestmark = pytest.mark.asyncio
OUTLOOK = Outlook("harvest table", "America/Chicago", NOW, None, 8, 1, (), ())
DAY = """\
[cook]
name = "harvest supper"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[guests]
adults = 6

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = ["250 F"]

[[item]]
cut = "st-louis-ribs"
share = 1
"""


class Quick:
    """In place of the reckoning process: an outlook without anything in it, at once or when ``finish`` says so.

    lingers: it is at its answer until then; leaves: whether it leaves what it is at, when it is told to
    extras: what it is to be at until then besides
    """

    def __init__(self) -> None:
        self.lingers = False
        self.threads, self.progress = 1, ""
        self.fault: StoreError | None = None
        self.seqs: list[int] = []
        self.leaves = False
        self.extras = self.supposed = 0
        self.options: tuple[WhatIf, ...] | None = None
        self.left: list[str] = []
        self._ends = asyncio.Event()
        self._left = False

    async def ask(self, question: Any, asked: Asked, *_given: Any, **_named: Any) -> Any:
        self._ends.clear()
        self.supposed += question is supposed
        if question is supposed and self.extras:
            self.extras -= 1
            await self._at(question)
        if question is not reckoned_now:
            return self.options if question is supposed else None
        self.seqs.append(asked.seq)
        if self.lingers:
            await self._at(question)
        if self.fault is not None:
            raise self.fault
        return Reckoned(OUTLOOK, (), Again(NOW, 8))

    async def _at(self, question: Any) -> None:
        self._left = False
        async with asyncio.timeout(PATIENCE_S):
            await self._ends.wait()
        if self._left:
            self.left.append(question.__name__)
            raise GaveWayError("it was left")

    def finish(self) -> None:
        """It has an answer to what it is at, and to what comes next at once."""
        self.lingers = False
        self._ends.set()

    def give_way(self) -> None:
        """Leave it."""
        if self.leaves:
            self._left = True
            self._ends.set()

    def forget(self, key: str) -> None:
        """It keeps nothing."""

    def close(self) -> None:
        """Nothing runs."""


@asynccontextmanager
async def reckoning(
    folder: Path, monkeypatch: pytest.MonkeyPatch, speed: float = 1.0, others: Sequence[Quick] = ()
) -> AsyncIterator[tuple[Town, Quick]]:
    quick = Quick()
    monkeypatch.setattr("pitreckon.web.app.crew_of", lambda _: crew_with(quick, *others))
    async with town(settings(folder, reckons=True, clock=Clock(speed, datetime.now(UTC), NOW))) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made, quick


async def look(door: Door, name: str, value: str = "amber", cook: str = "wings") -> None:
    event = {"id": name, "at": NOW.isoformat(), "kind": "look", "on": "wings", "what": "colour", "value": value}
    answer = await door.send(f"/api/cooks/{cook}/events", {"events": [event]})
    assert answer.status_code == 200, answer.text


async def until(news: asyncio.Queue[News | None], kind: str, seq: int = 0) -> list[News]:
    """What is told up to and with the next news of a kind that are of this number or a later one."""
    found: list[News] = []
    async with asyncio.timeout(PATIENCE_S):
        while not found or found[-1].kind != kind or found[-1].seq < seq:
            each = await news.get()
            assert each is not None
            found.append(each)
    return found


def fetched(news: list[News]) -> list[News]:
    """Those for which a page fetches its part (stream.ts)."""
    return [each for each in news if each.kind == "outlook" or (each.kind == "ledger" and each.data["urgent"])]


# --- the loop


async def test_no_page_asks_the_store_on_the_loop(tmp_path: Path) -> None:
    """``town`` itself asserts it in the end, here and in every other test of the page."""
    async with town(settings(tmp_path)) as pit:
        state = pit.app.state.app_state
        state.store.add_cook(COOK, "harvest table", cook_id="wings")
        owner = await pit.owner()
        for path in ("now", "now/part", "look", "look/part", "plan", "plan/part", "ledger", "export.csv"):
            assert (await owner.get(f"/cook/wings/{path}")).status_code == 200, path
        for path in ("setup", "mixes", "mixes/new", "day/new", "why", "api", "api/cooks", "api/cooks/wings/chart"):
            assert (await owner.get(f"/{path}")).status_code == 200, path
        assert (await owner.post("/cook/wings/record", {"record": "act|sauced|", "on": "wings"})).status_code == 303
        assert state.store.last_seq("wings") == 1
        assert (await pit.somebody("viewer", "aunt")).token


@pytest.mark.slow
async def test_news_are_made_off_the_loop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with reckoning(tmp_path, monkeypatch, speed=30.0) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        lines = (await stream_of(state, "wings", Visitor(state.accounts.owner(), "", ""))).body_iterator
        told = [await asyncio.wait_for(anext(lines), PATIENCE_S)]
        assert "event: hello" in told[0]
        await look(owner, "one")
        assert (await owner.post("/cook/wings/seen", {"key": "pit low"})).status_code == 303
        assert (await owner.post("/cook/wings/plan/text", {"plan": COOK + "# dry\n"})).status_code == 303
        async with asyncio.timeout(PATIENCE_S):
            while not told[-1].startswith("id: 1\nevent: outlook"):
                told.append(await anext(lines))
        many = len(quick.seqs)
        await holds(lambda: len(quick.seqs) > many)  # by the clock alone: it was asked whether something is new
        await lines.aclose()
        assert quick.seqs[-1] == 1
        assert state.store.replaced_plans("wings")[0].replaced_by == "owner"


async def test_the_watch_on_the_loop_sees_what_is_on_it(tmp_path: Path) -> None:
    """It would be no test that cannot fail."""
    async with town(settings(tmp_path)) as pit:
        store = pit.app.state.app_state.store
        with off_the_loop() as found:
            store.cooks()
            await asyncio.to_thread(store.cooks)
            assert found == [], "a test's own question, and one in a thread"
            done = asyncio.Event()
            loop = asyncio.get_running_loop()
            inner, parsed = store.cooks, plans.cook_of.__wrapped__
        with off_the_loop() as found:
            loop.call_soon(inner)
            loop.call_soon(parsed, COOK)
            loop.call_soon(done.set)
            await done.wait()
    assert [each.split(" < ")[0] for each in found] == ["Store.read", "loads"]


async def test_a_plan_is_read_once_for_each_of_its_texts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    parse = plans.cook_from_text
    monkeypatch.setattr(plans, "cook_from_text", lambda text, name: read.append(text) or parse(text, name))
    plans.cook_of.cache_clear()
    async with reckoning(tmp_path, monkeypatch) as (pit, _):
        owner = await pit.owner()
        for name in ("one", "two", "three"):
            assert (await owner.get("/api/cooks/wings/chart")).status_code == 200
            await look(owner, name)
        assert read == [COOK]
        assert (await owner.post("/cook/wings/plan/text", {"plan": COOK + "# dry\n"})).status_code == 303
        await look(owner, "four")
    assert read == [COOK, COOK + "# dry\n"]
    plans.cook_of.cache_clear()


# --- what a page is told of a look


async def test_a_page_fetches_a_look_and_its_outlook_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)  # the machine may be busy
    async with reckoning(tmp_path, monkeypatch) as (pit, _):
        state = pit.app.state.app_state
        owner = await pit.owner()
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await until(news, "outlook")
            await look(owner, "one")
            told = await until(news, "outlook", 1)
            assert [(each.kind, each.seq) for each in told if each.kind == "ledger"] == [("ledger", 1)]
            assert [(each.kind, each.seq) for each in fetched(told)] == [("outlook", 1)]
            assert watched.shown.seq == 1


async def test_an_outlook_of_another_hour_says_of_when_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As when a laptop has slept: a page shows the last outlook until the next is there."""
    async with reckoning(tmp_path, monkeypatch) as (pit, _):
        owner = await pit.owner()
        watched = await pit.app.state.app_state.live.watched("wings")
        await holds(lambda: watched.shown.outlook is not None)
        full = outlook()
        told = replace(full, now_utc=NOW, items=(replace(full.items[0], label="wings"),), trips=())
        watched.shown = replace(watched.shown, outlook=told)
        assert 'data-behind="no"' in (await owner.get("/cook/wings/now/part")).text
        watched.shown = replace(watched.shown, outlook=replace(told, now_utc=NOW - timedelta(hours=2)))
        part = (await owner.get("/cook/wings/now/part")).text
        assert 'data-behind="yes">Thinking again: below is how it stood at 14:35.' in part


@pytest.mark.slow
async def test_a_look_is_shown_without_its_outlook_where_that_takes_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await until(news, "outlook")
            quick.lingers = True
            begun = time.monotonic()
            await look(owner, "one")
            told = await until(news, "ledger", 1)
            assert time.monotonic() - begun >= HELD_S
            assert [each.kind for each in fetched(told)] == ["ledger"]
            quick.finish()
            assert [each.kind for each in fetched(await until(news, "outlook", 1))] == ["outlook"]


@pytest.mark.slow
async def test_an_outlook_of_before_a_look_does_not_tell_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await until(news, "outlook")
            quick.lingers = True
            await look(owner, "one")
            await holds(lambda: quick.seqs[-1] == 1)
            await look(owner, "two")
            await holds(lambda: watched.held_seq == 2)
            quick.finish()
            told = await until(news, "outlook", 2)
    assert [(each.kind, each.seq) for each in told if each.kind in {"ledger", "outlook"}] == [
        *(("outlook", 1), ("ledger", 2), ("outlook", 2))
    ]
    assert not [each for each in told if each.kind == "ledger" and each.data["urgent"]]


async def test_what_can_wait_gives_way_to_a_look(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        quick.leaves, quick.extras = True, 1
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await until(news, "outlook")
            await holds(lambda: quick.extras == 0)  # it is at its what-ifs, and would be for long
            await look(owner, "one")
            told = await until(news, "outlook", 1)
            assert quick.left == ["supposed"]
            assert [each.seq for each in fetched(told)] == [1]
            assert watched.shown.trouble == ""


async def test_what_nothing_has_moved_is_not_asked_for_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_module, "READINGS_EVERY_S", 0.0)
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        owner, quick.options = await pit.owner(), ()
        watched = await pit.app.state.app_state.live.watched("wings")
        with pit.app.state.app_state.live.listening(watched):
            await holds(lambda: watched.extras_for is not None)
            assert quick.supposed == 1
            entry = Entry("r", Reading(NOW, "pit air", "barn pit", None, 116.0), "barn box")
            await asyncio.to_thread(pit.app.state.app_state.store.append, "wings", [entry])
            await holds(lambda: watched.shown.seq == watched.shown.what_ifs_seq == 1)
            assert quick.supposed == 1
            await look(owner, "one")
            await holds(lambda: watched.shown.seq == watched.shown.what_ifs_seq == 2)
            assert quick.supposed == 2


async def test_an_answer_is_left_for_one_that_knows_more_but_not_for_good(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await until(news, "outlook")
            quick.leaves = quick.lingers = True
            await look(owner, "one")
            await holds(lambda: quick.seqs[-1] == 1)
            await look(owner, "two")
            await holds(lambda: quick.seqs[-1] == 2)  # what knows of the first alone was left
            assert quick.left == ["reckoned_now"]
            assert watched.put_off_at is not None
            watched.put_off_at -= 2.0 * live_module.PUT_OFF_S  # as if they had tapped on and on
            await look(owner, "three")
            await holds(lambda: watched.held_seq == 3)
            assert quick.left == ["reckoned_now"]
            quick.finish()
            await until(news, "outlook", 3)
            assert watched.put_off_at is None


async def test_cooks_are_reckoned_side_by_side_and_what_waits_is_asked_with_the_latest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)
    other = Quick()
    async with reckoning(tmp_path, monkeypatch, others=(other,)) as (pit, quick):
        state = pit.app.state.app_state
        for cook in ("loin", "butts"):
            await asyncio.to_thread(state.store.add_cook, COOK, "harvest table", cook_id=cook)
        owner = await pit.owner()
        quick.lingers = other.lingers = True
        watched = [await state.live.watched(cook) for cook in ("wings", "loin", "butts")]
        await holds(lambda: quick.seqs == other.seqs == [0] and state.live.crew.told().waiting == 1)
        waits = next(each for each in watched if each.ticket is not None and each.ticket.seat is None)
        for name in ("one", "two"):
            await look(owner, name, cook=waits.cook_id)
        await holds(lambda: waits.held_seq == 2)
        quick.finish()
        await holds(lambda: waits.shown.seq == 2)
        other.finish()
        assert 1 not in quick.seqs, "it was asked once, and not without the second look"


async def test_a_look_is_told_with_the_trouble_of_an_outlook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_module, "HELD_S", PATIENCE_S)
    async with reckoning(tmp_path, monkeypatch) as (pit, quick):
        state = pit.app.state.app_state
        owner = await pit.owner()
        with state.live.listening(await state.live.watched("wings")) as news:
            await until(news, "outlook")
            quick.fault = StoreError("the disk is full", "Make room", "here")
            await look(owner, "one")
            told = await until(news, "ledger", 1) + await until(news, "outlook")
    assert "the disk is full" in str(told[-1].data["trouble"])


async def test_where_nobody_reckons_a_look_is_told_at_once(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as pit:
        state = pit.app.state.app_state
        state.store.add_cook(COOK, "harvest table", cook_id="wings")
        owner = await pit.owner()
        watched = await state.live.watched("wings")
        with state.live.listening(watched) as news:
            await look(owner, "one")
            told = await until(news, "ledger", 1)
    assert [each.data["urgent"] for each in told] == [True]
    assert watched.held is None


# --- two phones of one person


async def test_two_phones_of_the_owner_undo_nothing_of_each_other(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as pit:
        state = pit.app.state.app_state
        state.store.add_cook(COOK, "harvest table", cook_id="wings")
        one, two = await pit.owner(), await pit.owner()
        request = Request({"type": "http", "app": pit.app})
        visitors = [Visitor(state.accounts.owner(), "", "") for _ in range(2)]  # both read before either writes
        first, second = (Visit(request, visitor) for visitor in visitors)
        save_day(first, DAY)
        second.go_to(state.store.cook("wings"))
        assert (await one.post("/setup/me", {"degrees": "C"})).status_code == 303
        save_day(second, DAY.replace("= 6", "= 8"))
        assert (await two.post("/setup/me", {"theme": "sun"})).status_code == 303
        assert dict(state.accounts.owner().prefs) == {"cook": "wings", "degrees": "C", "theme": "sun"}
        assert text_of_day(first) == DAY.replace("= 6", "= 8")
        assert (await one.post("/day/undo")).status_code == 303
        assert text_of_day(second) == DAY
