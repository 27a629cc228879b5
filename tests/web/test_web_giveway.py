"""Work that can wait is left in its middle, and what the process remembers is whole afterwards."""

from __future__ import annotations

import asyncio
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.patience import PATIENCE_S
from tests.web.pit_server import NOW, fill

from pitreckon.ledger import Look
from pitreckon.ledger.store import Entry, Store
from pitreckon.web.live.asked import Asked
from pitreckon.web.live.giveway import AT_WORK, SIGNAL, SIZE, WANTED, GaveWayError, GivesWay, Left, ask_to_give_way
from pitreckon.web.live.questions import Memory, answered_first, reckoned_now, supposed
from pitreckon.web.live.worker import Process


@pytest.fixture
def way() -> Iterator[GivesWay]:
    before = signal.getsignal(signal.SIGUSR1)
    made = GivesWay([0] * SIZE)
    made.begins(7)
    yield made
    signal.signal(signal.SIGUSR1, before)


def test_a_stretch_is_left_where_it_stands(way: GivesWay) -> None:
    shared = way._shared
    assert shared is not None

    def stretch() -> None:
        with way:
            assert shared[AT_WORK] == 7
            shared[WANTED] = 7
            signal.raise_signal(SIGNAL)
            pytest.fail("it went on")

    with pytest.raises(Left):
        stretch()
    assert shared[AT_WORK] == 0


def test_what_was_wanted_before_it_began_is_left_as_it_begins(way: GivesWay) -> None:
    shared = way._shared
    assert shared is not None
    ask_to_give_way(shared, 7)  # nobody is there to hear: no process is woken

    def stretch() -> None:
        with way:
            pytest.fail("it began")

    with pytest.raises(Left):
        stretch()


def test_no_other_question_and_no_other_stretch_is_left(way: GivesWay) -> None:
    shared = way._shared
    assert shared is not None
    shared[WANTED] = 6
    with way:
        signal.raise_signal(SIGNAL)  # of the one before
    shared[WANTED] = 7
    signal.raise_signal(SIGNAL)  # between two stretches
    way.begins(8)
    with way:
        signal.raise_signal(SIGNAL)


def test_where_nobody_asks_for_it_nothing_is_left() -> None:
    with Memory().gives_way:
        pass


@pytest.mark.kernel
@pytest.mark.servers
def test_the_process_leaves_what_it_is_at_and_knows_what_it_knew(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    fill(path)

    def asked() -> Asked:
        with Store.open(path) as store:
            row = store.cook("supper")
        return Asked(str(path), row.id, row.plan_toml, row.last_seq, 1)

    async def work() -> None:
        worker = Process()
        try:
            first = asked()
            await worker.ask(reckoned_now, first, NOW, 16)
            long = asyncio.create_task(worker.ask(supposed, first, 100_000))
            ends = time.monotonic() + PATIENCE_S
            while not long.done() and time.monotonic() < ends:  # it may not have begun
                worker.give_way()
                await asyncio.sleep(0.02)
            with pytest.raises(GaveWayError):
                await long
            with Store.open(path) as store:
                store.append("supper", [Entry("look", Look(NOW, "racks", None, "colour", 0.55, "amber"), "phone")])
            told = await worker.ask(answered_first, asked(), NOW)
            assert told is not None
            assert told.outlook.now_utc == NOW
            assert not told.outlook.thinking_again, "nothing had to be run for it"
            assert await worker.ask(supposed, asked(), 8)
        finally:
            worker.close()

    asyncio.run(work())
