"""A real broker that is gone for a while: all that it kept for us is taken in when it is back, once.

``PITRECKON_OUTAGE_S=600`` makes it ten minutes, with the pauses and the keep-alive of real use; a few seconds by
default, with short ones.
"""

from __future__ import annotations

import asyncio
import json
import os
import time
from collections.abc import Sequence
from pathlib import Path

import aiomqtt
import pytest
from tests.intake.broker import Broker
from tests.intake.day import COOK, after
from tests.intake.test_intake_mqtt import probes
from tests.intake.toll import note, toll_of
from tests.patience import PATIENCE_S, comes, until

from pitreckon.intake.mqtt import client as mqtt
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers

OUTAGE_S = float(os.environ.get("PITRECKON_OUTAGE_S", "2"))
SHORT_S = 30.0
KNOWN, KEPT, LATER = 40, 400, 40
"""Messages taken in before, kept by the broker while we are slow and then while it is gone, and sent afterwards."""
TOPICS = (
    TopicMap("barn/pit", "pit air", "big box", None, "C"),
    TopicMap("barn/+/probes", "probe", "racks", 1, "C", "probes.0.t", "time"),
)


class Intake:
    """What the server does with a broker: the real store, behind a gate that can be shut."""

    def __init__(self, store: Store, broker: Broker) -> None:
        self.store, self.told = store, list[str]()
        self.open, self.closing = asyncio.Event(), asyncio.Event()
        self.open.set()
        notes = broker.folder / "notes.jsonl"
        config = MqttConfig("127.0.0.1", COOK, TOPICS, port=broker.port, client="barn", notes=notes)
        self.task = asyncio.create_task(mqtt.run_mqtt(config, self._append, self.closing, report=self.told.append))

    async def _append(self, entries: Sequence[Entry]) -> None:
        await self.open.wait()
        await asyncio.wrap_future(self.store.append_soon("supper", entries))

    async def has(self, count: int) -> None:
        await comes(lambda: self.store.last_seq("supper") >= count, f"{count} readings", every_s=0.05)

    def heard(self, words: str) -> int:
        return sum(words in line for line in self.told)

    async def hears(self, words: str, times: int) -> None:
        await comes(lambda: self.heard(words) >= times, words)

    async def end(self) -> None:
        self.closing.set()
        await self.task


async def publish(port: int, first: int, last: int) -> None:
    """Undated and dated by turns; each is acknowledged by the broker before this returns."""
    async with aiomqtt.Client("127.0.0.1", port, timeout=PATIENCE_S) as client:
        for n in range(first, last):
            if n % 2:
                await client.publish("barn/pit", f"{100 + n / 1000:.3f}".encode(), qos=1)
            else:
                body = json.dumps(probes(n, 40.0 + n / 1000)).encode()
                await client.publish("barn/left/probes", body, qos=1)


async def says(port: int, words: str) -> None:
    """What the broker keeps for whoever may ask; nobody does."""
    async with aiomqtt.Client("127.0.0.1", port, timeout=PATIENCE_S) as client:
        await client.publish("elsewhere", words.encode(), qos=1, retain=True)


def goes(broker: Broker, how: str) -> None:
    """It is told to end, its power goes, or the network between us does: it stands still and answers nobody."""
    if how == "ended":
        broker.stop()
    elif how == "killed":
        asyncio.run(says(broker.port, "saved so far"))
        file = broker.folder / "mosquitto.db"  # it is written anew, whole, after each change
        until(lambda: file.exists() and b"saved so far" in file.read_bytes(), "all of it on its disk")
        broker.kill()
    else:
        broker.freeze()


def comes_back(broker: Broker, how: str) -> None:
    if how == "silent":
        broker.thaw()
    else:
        broker.start()


@pytest.mark.parametrize("how", ["ended", "killed", "silent"])
def test_a_broker_that_is_gone_for_a_while(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    if OUTAGE_S < SHORT_S:
        monkeypatch.setattr(mqtt, "KEEPALIVE_S", 2 if how == "silent" else mqtt.KEEPALIVE_S)
        monkeypatch.setattr(mqtt, "FIRST_PAUSE_S", 0.1)
        monkeypatch.setattr(mqtt, "LONGEST_PAUSE_S", 0.5)
    broker = Broker(tmp_path).start()
    begun = time.monotonic()

    async def work(store: Store) -> None:
        intake = Intake(store, broker)
        await intake.hears("connected to", 1)
        await publish(broker.port, 0, KNOWN)
        await intake.has(KNOWN)
        intake.open.clear()  # what comes now stays with the broker, some of it on its way to us
        await publish(broker.port, KNOWN, KNOWN + KEPT)
        before = intake.heard("no connection")  # on a busy machine one may break off by itself
        await asyncio.to_thread(goes, broker, how)
        gone = time.monotonic()
        intake.open.set()
        await intake.hears("no connection", before + 1)
        assert store.last_seq("supper") < KNOWN + KEPT, "the broker kept nothing, so nothing was tried"
        await asyncio.sleep(max(OUTAGE_S - (time.monotonic() - gone), 0.0))
        tries = intake.heard("no connection")
        was_gone_s = time.monotonic() - gone
        await asyncio.to_thread(comes_back, broker, how)
        back = time.monotonic()
        await intake.has(KNOWN + KEPT)
        caught_up_s = time.monotonic() - back
        await publish(broker.port, KNOWN + KEPT, KNOWN + KEPT + LATER)
        await intake.has(KNOWN + KEPT + LATER)
        await asyncio.sleep(0.5)  # what would be doubled comes now
        await intake.end()
        assert was_gone_s >= OUTAGE_S
        base = {"pit air": 100.0, "probe": 40.0}
        kept = [round((each.value_c - base[each.channel]) * 1000.0) for each in store.ledger("supper").all_readings]
        toll = toll_of(range(KNOWN + KEPT + LATER), kept)
        more = {"gone_s": round(was_gone_s), "tries": tries, "caught_up_s": round(caught_up_s, 1)}
        note(f"readings by MQTT, the broker {how}", toll, begun, **more)
        assert (toll.lost, toll.doubled, toll.extra) == (0, 0, 0)
        dated = store.ledger("supper").readings("probe")
        assert all(each.at_utc == after(60.0 * round((each.value_c - 40.0) * 1000.0)) for each in dated)

    try:
        with Store.open(tmp_path / "ledger.sqlite") as store:
            store.add_cook("[cook]", "supper", cook_id="supper")
            asyncio.run(work(store))
    finally:
        broker.stop()
