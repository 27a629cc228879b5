"""The program is killed again and again while messages come: each is recorded once, dated or not.

``PITRECKON_KILLS`` says how often; a few by default, as each costs the start of a program.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import aiomqtt
from tests.intake.broker import PATIENCE_S, Broker
from tests.intake.day import after

from pitreckon.ledger.store import Store

ROOT = Path(__file__).parents[2]
KILLS = int(os.environ.get("PITRECKON_KILLS", "4"))
EACH = 120


def run_child(port: int, folder: Path) -> subprocess.Popen[str]:
    """Start it and wait until it is connected."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    command = [sys.executable, "-m", "tests.intake.mqtt_child", str(port), str(folder)]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment, cwd=ROOT)
    assert child.stdout is not None
    assert "connected to" in child.stdout.readline()
    return child


def end(child: subprocess.Popen[str]) -> None:
    """As when its power goes."""
    child.kill()
    child.communicate()


async def publish(port: int, first: int, last: int) -> None:
    """Each number once as a plain one and once with its time, the pit's and the probe's."""
    async with aiomqtt.Client("127.0.0.1", port) as client:
        for n in range(first, last):
            await client.publish("barn/pit", f"{100 + n / 1000:.3f}".encode(), qos=1)
            body = json.dumps({"t": 40 + n / 1000, "at": after(n).isoformat()})
            await client.publish("barn/probes", body.encode(), qos=1)


def test_killed_while_it_takes_in(tmp_path: Path) -> None:
    broker = Broker(tmp_path, to_be_killed=False).start()
    chance = random.Random(5)
    try:
        with Store.open(tmp_path / "ledger.sqlite") as store:
            store.add_cook("[cook]", "supper", cook_id="supper")
        end(run_child(broker.port, tmp_path))  # the broker knows us from here on
        for k in range(KILLS):
            child = run_child(broker.port, tmp_path)
            sending = threading.Thread(
                target=lambda k=k: asyncio.run(publish(broker.port, k * EACH, (k + 1) * EACH))  # type: ignore[misc]
            )
            sending.start()
            time.sleep(chance.uniform(0.05, 0.5))
            end(child)
            sending.join()
        child = run_child(broker.port, tmp_path)
        until = time.monotonic() + 2 * PATIENCE_S
        with Store.open(tmp_path / "ledger.sqlite") as store:
            while store.last_seq("supper") < 2 * KILLS * EACH and time.monotonic() < until:
                time.sleep(0.05)
            time.sleep(0.3)  # what would be doubled comes now
            end(child)
            ledger = store.ledger("supper")
        for channel, base in (("pit air", 100.0), ("probe", 40.0)):
            found = Counter(round(reading.value_c, 3) for reading in ledger.readings(channel))
            assert found == Counter(round(base + n / 1000, 3) for n in range(KILLS * EACH))
    finally:
        broker.stop()


def test_the_sender_sends(tmp_path: Path) -> None:
    """So that the count above is not one of nothing."""
    broker = Broker(tmp_path, to_be_killed=False).start()

    async def work() -> list[bytes]:
        async with aiomqtt.Client("127.0.0.1", broker.port) as client, asyncio.timeout(PATIENCE_S):
            await client.subscribe("barn/#", qos=1)
            await publish(broker.port, 3, 5)
            return [bytes(str((await anext(client.messages)).payload), "utf-8") for _ in range(4)]

    try:
        assert len(asyncio.run(work())) == 4
    finally:
        broker.stop()
