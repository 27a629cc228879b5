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
from pathlib import Path

import aiomqtt
import pytest
from tests.intake.broker import Broker
from tests.intake.day import after
from tests.intake.toll import note, toll_of
from tests.patience import PATIENCE_S, until

from pitreckon.ledger.store import Store

pytestmark = pytest.mark.servers

ROOT = Path(__file__).parents[2]
KILLS = int(os.environ.get("PITRECKON_KILLS", "4"))
EACH = 120


def run_child(port: int, folder: Path) -> subprocess.Popen[str]:
    """Start it and wait until it is connected."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    command = [sys.executable, "-m", "tests.intake.mqtt_child", str(port), str(folder)]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment, cwd=ROOT)
    assert child.stdout is not None
    assert any("connected to" in line for line in child.stdout), "it has ended by itself"
    return child


def end(child: subprocess.Popen[str]) -> None:
    """As when its power goes."""
    child.kill()
    child.communicate()


async def publish(port: int, first: int, last: int) -> None:
    """Each number once as a plain one and once with its time, the pit's and the probe's."""
    async with aiomqtt.Client("127.0.0.1", port, timeout=PATIENCE_S) as client:
        for n in range(first, last):
            await client.publish("barn/pit", f"{100 + n / 1000:.3f}".encode(), qos=1)
            body = json.dumps({"t": 40 + n / 1000, "at": after(n).isoformat()})
            await client.publish("barn/probes", body.encode(), qos=1)


def test_killed_while_it_takes_in(tmp_path: Path) -> None:
    broker = Broker(tmp_path, to_be_killed=False).start()
    chance, begun = random.Random(5), time.monotonic()
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
        with Store.open(tmp_path / "ledger.sqlite") as store:
            until(lambda: store.last_seq("supper") >= 2 * KILLS * EACH, "all that was sent", every_s=0.05)
            time.sleep(0.3)  # what would be doubled comes now
            end(child)
            ledger = store.ledger("supper")
        sent = [(channel, n) for channel in ("pit air", "probe") for n in range(KILLS * EACH)]
        base = {"pit air": 100.0, "probe": 40.0}
        kept = [(each.channel, round((each.value_c - base[each.channel]) * 1000.0)) for each in ledger.all_readings]
        toll = toll_of(sent, kept)
        note("readings by MQTT, QoS 1", toll, begun, kills=KILLS)
        assert (toll.lost, toll.doubled, toll.extra) == (0, 0, 0)
    finally:
        broker.stop()


def test_the_sender_sends(tmp_path: Path) -> None:
    """So that the count above is not one of nothing."""
    broker = Broker(tmp_path, to_be_killed=False).start()

    async def work() -> list[bytes]:
        async with aiomqtt.Client("127.0.0.1", broker.port, timeout=PATIENCE_S) as client, asyncio.timeout(PATIENCE_S):
            await client.subscribe("barn/#", qos=1)
            await publish(broker.port, 3, 5)
            return [bytes(str((await anext(client.messages)).payload), "utf-8") for _ in range(4)]

    try:
        assert len(asyncio.run(work())) == 4
    finally:
        broker.stop()
