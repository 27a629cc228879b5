"""Two servers on one database: what comes in by one is told live by the other, and the ledger's chain holds."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from tests.conftest import COOK
from tests.patience import PATIENCE_S
from tests.patience import comes as holds
from tests.web.house import NOW, Door, Town, settings, town

from pitreckon.ledger.keeping.check import look_over
from pitreckon.web.live import shelf as shelf_module
from pitreckon.web.live.watched import News

pytestmark = [pytest.mark.asyncio, pytest.mark.servers]


@pytest.fixture
def address(postgres_server: Any) -> str:
    return str(postgres_server.new_database())


@pytest_asyncio.fixture
async def both(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[tuple[Town, Town]]:
    monkeypatch.setattr(shelf_module, "READ_EVERY_S", 0.1)
    async with AsyncExitStack() as stack:
        one = await stack.enter_async_context(town(settings(tmp_path, store=address)))
        await asyncio.to_thread(one.app.state.app_state.store.add_cook, COOK, "harvest table", cook_id="wings")
        other = await stack.enter_async_context(town(settings(tmp_path, store=address)))
        other.password = one.password  # of one house
        yield one, other


async def look(door: Door, name: str) -> None:
    event = {"id": name, "at": NOW.isoformat(), "kind": "look", "on": "wings", "what": "colour", "value": "amber"}
    answer = await door.send("/api/cooks/wings/events", {"events": [event]})
    assert answer.status_code == 200, answer.text


async def heard(news: asyncio.Queue[News | None], door: Door, name: str) -> News:
    """What is told of looks that come in elsewhere, one after the other until something is: who listens began late."""
    n = 0
    async with asyncio.timeout(PATIENCE_S):
        while news.empty():
            await look(door, f"{name}-{n}")
            n += 1
            for _ in range(20):
                if news.empty():
                    await asyncio.sleep(0.05)
    found = news.get_nowait()
    assert found is not None
    return found


async def test_what_comes_in_by_one_is_told_by_the_other_and_the_chain_holds(
    both: tuple[Town, Town], address: str
) -> None:
    doors = [await each.owner() for each in both]
    live = [each.app.state.app_state.live for each in both]
    for here, there in ((0, 1), (1, 0)):
        with live[there].listening(await live[there].watched("wings")) as news:
            told = await heard(news, doors[here], f"from-{here}")
        assert (told.kind, told.data) == ("ledger", {"urgent": True})
        assert told.seq >= 1
        page = await doors[there].get("/cook/wings/ledger")
        assert page.text.count("amber") >= told.seq, "each of them stands on the page of the other"
    before = await asyncio.to_thread(both[0].app.state.app_state.store.last_seq, "wings")
    await asyncio.gather(*(look(doors[n % 2], f"both-{n}") for n in range(24)))
    entries = await asyncio.to_thread(both[1].app.state.app_state.store.entries, "wings")
    assert [each.seq for each in entries] == list(range(1, before + 25))
    assert (await asyncio.to_thread(look_over, address)).faults == ()


async def test_a_cook_called_off_by_one_is_off_for_the_other(both: tuple[Town, Town]) -> None:
    one, other = (each.app.state.app_state.shelf for each in both)
    assert not other.is_over("wings")
    await asyncio.to_thread(one.call_off, "wings", NOW, "owner")
    await holds(lambda: other.is_over("wings"))
