"""A program that takes a broker's readings into a store until it is killed: ``mqtt_child.py PORT FOLDER``."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.intake.day import COOK

from pitreckon.intake.mqtt import client as mqtt
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap
from pitreckon.ledger.store import Entry, Store

TOPICS = (
    TopicMap("barn/pit", "pit air", "big box", None, "C"),
    TopicMap("barn/probes", "probe", "racks", 1, "C", "t", "at"),
)


async def main(port: int, folder: Path) -> None:
    """Take in for ever."""
    with Store.open(folder / "ledger.sqlite") as store:

        async def append(entries: Sequence[Entry]) -> None:
            # Long enough before and after it is kept for a kill to come between.
            await asyncio.sleep(0.02)
            await asyncio.wrap_future(store.append_soon("supper", entries))
            await asyncio.sleep(0.05)

        settings = MqttConfig("127.0.0.1", COOK, TOPICS, port, "barn", notes=folder / "notes.jsonl")
        await mqtt.run_mqtt(settings, append, asyncio.Event(), report=lambda words: print(words, flush=True))  # noqa: T201


if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]), Path(sys.argv[2])))
