"""Readings from a real broker: nothing acknowledged before it is kept, nothing lost, nothing doubled."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Coroutine, Iterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import aiomqtt
import pytest
from tests.intake.broker import Broker
from tests.intake.day import COOK, after
from tests.patience import PATIENCE_S
from tests.patience import comes as until

from pitreckon.errors import InputError, StoreError
from pitreckon.intake.mqtt import client as mqtt
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry, Store

TOPICS = (
    TopicMap("barn/pit", "pit air", "big box", None, "F"),
    TopicMap("barn/+/probes", "probe", "racks", 1, "C", "probes.0.t", "time"),
    TopicMap("barn/+/probes", "probe", "butt", None, "C", "probes.1.t", "time"),
)


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    running = Broker(tmp_path).start()
    yield running
    running.stop()


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mqtt, "FIRST_PAUSE_S", 0.05)
    monkeypatch.setattr(mqtt, "LONGEST_PAUSE_S", 0.2)
    monkeypatch.setattr(mqtt, "STORE_PAUSE_S", 0.05)


class Kept:
    """Takes entries as a store does; can fail before or after it has them."""

    def __init__(self) -> None:
        self.calls: list[list[Entry]] = []
        self.by_id: dict[str, Entry] = {}
        self.fail_before = 0
        self.fail_after = 0
        self.refused: set[float] = set()

    async def append(self, entries: Sequence[Entry]) -> None:
        await asyncio.sleep(0)
        self.calls.append(list(entries))
        if self.fail_before:
            self.fail_before -= 1
            raise StoreError("the disk is full", "Make room", "here")
        if any(isinstance(e.event, Reading) and e.event.value_c in self.refused for e in entries):
            raise InputError("the id stands for something else", "Give another")
        for entry in entries:
            assert self.by_id.setdefault(entry.id, entry) == entry
        if self.fail_after:
            self.fail_after -= 1
            raise StoreError("the answer got lost", "Try again", "here")

    @property
    def values(self) -> list[float]:
        return [round(e.event.value_c, 3) for e in self.by_id.values() if isinstance(e.event, Reading)]


class Told(list[str]):
    """What was reported."""

    def count_of(self, words: str) -> int:
        return sum(words in line for line in self)


def config(broker: Broker, **changes: Any) -> MqttConfig:
    usual = MqttConfig("127.0.0.1", COOK, TOPICS, port=broker.port, client="barn", notes=broker.folder / "notes.jsonl")
    return replace(usual, **changes)


@asynccontextmanager
async def listening(settings: MqttConfig, kept: Kept, told: Told) -> AsyncIterator[None]:
    closing = asyncio.Event()
    task = asyncio.create_task(mqtt.run_mqtt(settings, kept.append, closing, report=told.append))
    try:
        yield
    finally:
        closing.set()
        async with asyncio.timeout(PATIENCE_S):
            await task


async def publish(broker: Broker, *messages: tuple[str, Any], retain: bool = False) -> None:
    async with aiomqtt.Client("127.0.0.1", broker.port, timeout=PATIENCE_S) as client:
        for topic, payload in messages:
            body = payload if isinstance(payload, bytes) else json.dumps(payload).encode()
            await client.publish(topic, body, qos=1, retain=retain)


def run(work: Coroutine[Any, Any, None]) -> None:
    async def bounded() -> None:
        async with asyncio.timeout(2 * PATIENCE_S):
            await work

    asyncio.run(bounded())


def probes(n: int, *celsius: float) -> dict[str, Any]:
    return {"time": after(60.0 * n).isoformat(), "probes": [{"t": value} for value in celsius]}


@pytest.mark.servers
def test_plain_numbers_and_json(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
            await publish(broker, ("barn/pit", b"268.5"), ("barn/left/probes", probes(1, 41.0, 52.0)))
            await until(lambda: len(kept.by_id) == 3)
        racks, butt = [
            e.event for e in kept.by_id.values() if isinstance(e.event, Reading) and e.event.channel == "probe"
        ]
        assert (racks.on, racks.piece, racks.value_c, racks.at_utc) == ("racks", 1, 41.0, after(60))
        assert (butt.on, butt.piece, butt.value_c) == ("butt", None, 52.0)
        assert {entry.by for entry in kept.by_id.values()} == {"barn"}
        assert 131.388 in kept.values or 131.389 in kept.values

    run(work())


@pytest.mark.servers
def test_what_cannot_be_read_is_told_and_does_not_come_back(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        bad = [
            ("barn/pit", b"hot"),
            ("barn/x/probes", b"{"),
            ("barn/x/probes", {"probes": [{"t": 50.0}, {"t": "n/a"}]}),
        ]
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
            await publish(broker, *bad, ("barn/pit", b"200"))
            await until(lambda: len(kept.by_id) == 1)
        assert told.count_of("left out") == 1 + 2 + 2
        again = Told()
        async with listening(config(broker), kept, again):
            await until(lambda: again.count_of("connected to") >= 1)
            await publish(broker, ("barn/pit", b"201"))
            await until(lambda: len(kept.by_id) == 2)
        assert again.count_of("left out") == 0

    run(work())


@pytest.mark.servers
def test_nothing_is_acknowledged_before_it_is_kept(broker: Broker) -> None:
    """The store fails three times: the broker delivers again until it has them, and an undated one keeps its time."""

    async def work() -> None:
        kept, told = Kept(), Told()
        kept.fail_before = 3
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
            await publish(broker, ("barn/pit", b"268"), ("barn/pit", b"268"), ("barn/pit", b"270"))
            await until(lambda: len(kept.by_id) == 3)
        assert told.count_of("cannot be kept") == 3
        assert kept.calls[0][0] == kept.calls[-1][0]  # its first arrival, each time

    run(work())


@pytest.mark.servers
def test_a_second_delivery_doubles_nothing(broker: Broker) -> None:
    """Kept, and gone before it was acknowledged: delivered again to a new program that has only the notes."""

    async def work() -> None:
        kept = Kept()
        for n in range(5):
            kept.fail_after, calls, told = 1, len(kept.calls), Told()
            async with listening(config(broker), kept, told):
                await until(lambda told=told: told.count_of("connected to") >= 1)  # type: ignore[misc]
                await publish(broker, ("barn/pit", b"268"), ("barn/left/probes", probes(n, 40.0 + n, 50.0)))
                await until(lambda calls=calls, n=n: len(kept.by_id) == 3 * (n + 1))  # type: ignore[misc]
            assert len(kept.calls) > calls
        told = Told()
        async with listening(config(broker), kept, told):
            await publish(broker, ("barn/pit", b"269"))
            await until(lambda: len(kept.by_id) == 16)
        assert len(kept.by_id) == 16

    run(work())


@pytest.mark.servers
def test_what_the_broker_kept_while_we_were_away_comes_once(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
        await publish(broker, *((f"barn/{n}/probes", probes(n, 40.0 + n / 10, 50.0)) for n in range(60)))
        async with listening(config(broker), kept, told):
            await until(lambda: len(kept.by_id) == 120)
        async with listening(config(broker), kept, told):
            await publish(broker, ("barn/pit", b"250"))
            await until(lambda: len(kept.by_id) == 121)
        assert len(kept.by_id) == 121

    run(work())


@pytest.mark.servers
def test_a_broker_that_is_killed_and_comes_back(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        async with listening(config(broker), kept, told):
            for n in range(4):
                await until(lambda n=n: told.count_of("connected to") == n + 1)  # type: ignore[misc]
                await publish(broker, ("barn/pit", b"260"), ("barn/left/probes", probes(n, 40.0 + n, 50.0)))
                await until(lambda n=n: len(kept.by_id) >= 3 * (n + 1))  # type: ignore[misc]
                await asyncio.to_thread(broker.kill)
                await until(lambda n=n: told.count_of("no connection") > n)  # type: ignore[misc]
                await asyncio.to_thread(broker.start)
            await until(lambda: told.count_of("connected to") == 5)
            await publish(broker, ("barn/pit", b"261"))
            await until(lambda: 127.222 in kept.values)
        assert len(kept.by_id) == 13

    run(work())


@pytest.mark.servers
def test_a_broker_that_forgot_everything_counts_its_messages_from_one_again(broker: Broker) -> None:
    """The same number for a message that says the same, and yet it is another one."""

    async def work() -> None:
        kept, told = Kept(), Told()
        async with listening(config(broker), kept, told):
            for n in range(3):
                await until(lambda n=n: told.count_of("connected to") == n + 1)  # type: ignore[misc]
                await publish(broker, ("barn/pit", b"260"))
                await until(lambda n=n: len(kept.by_id) == n + 1)  # type: ignore[misc]
                await asyncio.to_thread(broker.kill)
                (broker.folder / "mosquitto.db").unlink()
                await until(lambda n=n: told.count_of("no connection") > n)  # type: ignore[misc]
                await asyncio.to_thread(broker.start)

    run(work())


@pytest.mark.servers
def test_a_broker_that_dies_with_undelivered_messages_on_disk(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
        await publish(broker, *((f"barn/{n}/probes", probes(n, 40.0 + n, 50.0)) for n in range(20)))
        await asyncio.to_thread(broker.stop)
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("no connection") >= 2)
            await asyncio.to_thread(broker.start)
            await until(lambda: len(kept.by_id) == 40)

    run(work())


@pytest.mark.servers
def test_an_old_retained_number_is_no_reading_of_now(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        await publish(broker, ("barn/pit", b"100"), ("barn/left/probes", probes(1, 40.0, 50.0)), retain=True)
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
            await publish(broker, ("barn/pit", b"250"))
            await until(lambda: len(kept.by_id) == 3)
        assert kept.values.count(121.111) == 1
        assert 37.778 not in kept.values

    run(work())


@pytest.mark.servers
def test_one_that_the_store_refuses_for_good_takes_none_with_it(broker: Broker) -> None:
    async def work() -> None:
        kept, told = Kept(), Told()
        kept.refused = {50.5}
        async with listening(config(broker), kept, told):
            await until(lambda: told.count_of("connected to") >= 1)
        await publish(broker, *(("barn/left/probes", probes(n, 40.0 + n, 50.0 + n / 2)) for n in range(4)))
        async with listening(config(broker), kept, told):
            await until(lambda: len(kept.by_id) == 7)
        assert told.count_of("left out") == 1

    run(work())


@pytest.mark.servers
def test_a_broker_that_lets_nobody_in_is_told_and_tried_again(tmp_path: Path) -> None:
    async def work() -> None:
        locked = Broker(tmp_path, anonymous=False).start()
        told = Told()
        try:
            async with listening(config(locked), Kept(), told):
                await until(lambda: told.count_of("no connection") >= 2)
        finally:
            locked.stop()
        assert told.count_of("connected to") == 0

    run(work())


def test_closing_does_not_wait_for_a_broker(tmp_path: Path) -> None:
    async def work() -> None:
        there = Broker(tmp_path)  # never started
        told = Told()
        async with listening(config(there), Kept(), told):
            await until(lambda: told.count_of("no connection") >= 1)

    run(work())


@pytest.mark.servers
def test_into_a_real_store(broker: Broker) -> None:
    async def work() -> None:
        with Store.open(broker.folder / "ledger.sqlite") as store:
            cook = store.add_cook("[cook]", "supper")
            told, lost = Told(), iter([True, False, True])

            async def append(entries: Sequence[Entry]) -> None:
                await asyncio.wrap_future(store.append_soon(cook.id, entries))
                if next(lost, False):
                    raise StoreError("the answer got lost", "Try again", "here")

            closing = asyncio.Event()
            task = asyncio.create_task(mqtt.run_mqtt(config(broker), append, closing, report=told.append))
            await until(lambda: told.count_of("connected to") >= 1)
            await publish(broker, *(("barn/pit", str(250 + n % 3).encode()) for n in range(30)))
            await until(lambda: store.last_seq(cook.id) >= 30)
            await publish(broker, ("barn/pit", b"299"))
            await until(lambda: any(r.value_c > 148.0 for r in store.ledger(cook.id).readings("pit air")))
            closing.set()
            await task
            assert store.last_seq(cook.id) == 31

    run(work())


def test_a_password_file_that_is_not_there(tmp_path: Path) -> None:
    settings = MqttConfig("127.0.0.1", COOK, TOPICS, user="barn", password_file=tmp_path / "none.txt")
    with pytest.raises(InputError, match="no such file"):
        asyncio.run(mqtt.run_mqtt(settings, Kept().append, asyncio.Event()))


@pytest.mark.parametrize(("ci", "end"), [("true", pytest.fail.Exception), ("", pytest.skip.Exception)])
def test_a_missing_broker_fails_where_ci_is_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ci: str, end: type[BaseException]
) -> None:
    monkeypatch.setenv("CI", ci)
    monkeypatch.setattr("shutil.which", lambda *_, **__: None)
    with pytest.raises(end, match="mosquitto"):
        Broker(tmp_path)
