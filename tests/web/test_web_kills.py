"""The server killed at random while a device posts: nothing acknowledged is lost, nothing is doubled."""

from __future__ import annotations

import os
import random
import threading
import time
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from tests.intake.toll import note, toll_of
from tests.web.pit_server import NOW, PUT_ON, Server, fill

from pitreckon.ledger.store import Store
from pitreckon.web.access.accounts import Accounts
from pitreckon.web.app import utc_now

pytestmark = pytest.mark.servers

KILLS = int(os.environ.get("PITRECKON_KILLS", "3"))
BATCH = 20
LONGEST_S = 0.6


class Device:
    """Sends batches one after the other, each again and again under the same ids until it is acknowledged."""

    def __init__(self, server: Server, token: str) -> None:
        self.server, self.token = server, token
        self.acknowledged: list[str] = []
        self.sent = self.retries = 0
        self.ends = threading.Event()
        self.thread = threading.Thread(target=self._run)

    def _run(self) -> None:
        head = {"Authorization": f"Bearer {self.token}"}
        with httpx.Client(timeout=10.0, trust_env=False) as client:
            while not self.ends.is_set():
                ids = [f"r{self.sent + k}" for k in range(BATCH)]
                body = {"readings": [self._reading(n, i) for n, i in enumerate(ids, self.sent)]}
                while not self._posted(client, body, head):
                    self.retries += 1
                    if self.ends.wait(0.05):
                        return
                self.acknowledged += ids
                self.sent += BATCH

    def _posted(self, client: httpx.Client, body: object, head: dict[str, str]) -> bool:
        try:
            answer = client.post(f"{self.server.place}/api/readings", json=body, headers=head)
        except httpx.TransportError:
            return False
        assert answer.status_code < 500 or answer.status_code == 503, answer.text
        return answer.status_code < 300

    @staticmethod
    def _reading(n: int, key: str) -> dict[str, object]:
        at = PUT_ON + timedelta(seconds=n % int((NOW - PUT_ON).total_seconds()))
        return {"id": key, "at": at.isoformat(), "on": "barn pit", "value": 270 + n % 5, "unit": "F"}


def test_killed_while_a_device_posts(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    fill(path)
    with Store.open(path) as store:
        token = Accounts(store, utc_now).put_device("box", "supper")
        before = {entry.id for entry in store.entries("supper", limit=100_000)}
    dice, begun = random.Random(20261017), time.monotonic()
    server = Server(path).start()
    device = Device(server, token)
    device.thread.start()
    try:
        for _ in range(KILLS):
            threading.Event().wait(dice.uniform(0.05, LONGEST_S))
            server.kill()
            server.start()
        threading.Event().wait(LONGEST_S)
    finally:
        device.ends.set()
        device.thread.join(30.0)
        server.close()
    assert device.acknowledged, "nothing was ever taken in"
    with Store.open(path) as store:
        kept = [entry.id for entry in store.entries("supper", limit=10_000_000) if entry.id not in before]
    toll = toll_of(device.acknowledged, kept)
    note("readings by HTTP", toll, begun, kills=KILLS, retries=device.retries)
    assert (toll.lost, toll.doubled) == (0, 0)
    assert toll.extra <= BATCH  # at most the batch whose answer was lost
