"""The server killed at random while entries come from everywhere: nothing acknowledged is lost, nothing is doubled.

A device posts readings, a phone its taps, a page without a script its forms, a broker its messages; what is not
acknowledged is sent again, under the same id. ``PITRECKON_KILLS=1000`` makes the long run of the usual short one.
"""

from __future__ import annotations

import asyncio
import os
import random
import re
import threading
import time
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

import aiomqtt
import httpx
import pytest
from tests.intake.broker import Broker
from tests.intake.toll import Toll, note, toll_of
from tests.patience import PATIENCE_S, until
from tests.web.nursery import Forked, Nursery
from tests.web.pit_server import NOW, PASSWORD, PUT_ON, fill

from pitreckon.ledger import Look, Reading
from pitreckon.ledger.store import Correction, Store, StoredEntry
from pitreckon.web.access.accounts import Accounts
from pitreckon.web.app import utc_now

pytestmark = pytest.mark.servers

KILLS = int(os.environ.get("PITRECKON_KILLS", "4"))
EACH = 50
"""Kills of one house; then another begins, so that a ledger stays as long as a day's."""
BATCH, LONGEST_S, AGAIN_S = 4, 0.3, 0.05
SETTINGS = """[mqtt]
host = "127.0.0.1"
port = {port}
client = "house"
notes = "notes.jsonl"
[[mqtt.topic]]
topic = "barn/pit"
on = "barn pit"
unit = "C"
[[mqtt.topic]]
topic = "barn/probe"
on = "racks"
piece = 1
unit = "C"
value = "t"
at = "at"
"""


class Sender(ABC):
    """Sends one thing after the other, each again and again until it is acknowledged.

    sure: what was; known: how many were acknowledged as known already, their first answer having been lost
    """

    pause_s = 0.01

    def __init__(self, place: str, client: httpx.Client) -> None:
        self.place, self.client = place, client
        self.sure: list[object] = []
        self.retries = self.known = 0
        self.refused = ""
        self.ends = threading.Event()
        self.thread = threading.Thread(target=self._run)

    def _run(self) -> None:
        n = 0
        while not self.ends.wait(self.pause_s):
            while not self._got_through(n):
                self.retries += 1
                if self.ends.wait(AGAIN_S):
                    return
            self.sure += self.said(n)
            n += 1

    def _got_through(self, n: int) -> bool:
        try:
            answer = self.send(n)
        except httpx.TransportError:
            return False
        if answer.status_code >= 400 and answer.status_code != 503:
            self.refused = answer.text
            self.ends.set()
        elif "json" in answer.headers.get("content-type", "") and answer.status_code == 200:
            self.known += sum(not receipt["new"] for receipt in answer.json()["receipts"])
        return answer.status_code < 400

    def goes_on(self) -> None:
        """Wait until another one has got through."""
        before = len(self.sure)
        until(lambda: len(self.sure) > before or self.refused, f"more from {type(self).__name__}", every_s=0.005)
        assert not self.refused

    @abstractmethod
    def send(self, n: int) -> httpx.Response:
        """The n-th."""

    @abstractmethod
    def said(self, n: int) -> list[object]:
        """What tells the n-th apart in the ledger."""


class Device(Sender):
    """Posts readings with a token."""

    def __init__(self, place: str, token: str) -> None:
        super().__init__(place, httpx.Client(timeout=10.0, trust_env=False))
        self.client.headers["Authorization"] = f"Bearer {token}"

    def send(self, n: int) -> httpx.Response:
        readings = []
        for key in self.said(n):
            at = PUT_ON + timedelta(seconds=n % int((NOW - PUT_ON).total_seconds()))
            readings.append({"id": key, "at": at.isoformat(), "on": "barn pit", "value": 270 + n % 5, "unit": "F"})
        return self.client.post(f"{self.place}/api/readings", json={"readings": readings})

    def said(self, n: int) -> list[object]:
        return [f"r{n}-{k}" for k in range(BATCH)]


class Phone(Sender):
    """Sends its taps as the page's script does: looks, acts, and every third takes the look before it back."""

    def __init__(self, place: str, client: httpx.Client, token: str) -> None:
        super().__init__(place, client)
        self.head = {"X-Pitreckon-Form": token}

    def send(self, n: int) -> httpx.Response:
        event = {"id": f"t{n}", "at": (NOW - timedelta(minutes=n % 40)).isoformat(), "kind": "look", "on": "racks"}
        match n % 3:
            case 0:
                event |= {"what": "colour", "value": "amber"}
            case 1:
                event |= {"kind": "act", "what": "sauced"}
            case _:
                event |= {"kind": "correction", "on": "", "of": f"t{n - 2}", "note": "a slip"}
        return self.client.post(f"{self.place}/api/cooks/supper/events", json={"events": [event]}, headers=self.head)

    def said(self, n: int) -> list[object]:
        return [f"t{n}"]


class Forms(Sender):
    """Fills in a page without a script; where no answer comes the same form is sent again, as a browser asks to."""

    def __init__(self, place: str, client: httpx.Client, token: str) -> None:
        super().__init__(place, client)
        self.token, self.opened = token, (-1, "")

    def send(self, n: int) -> httpx.Response:
        if self.opened[0] != n:
            page = self.client.get(f"{self.place}/cook/supper/look")
            if page.status_code != 200:
                return page
            self.opened = (n, re.findall(r'name="key" value="(\w+)"', page.text)[0])
        form = {"record": "look|colour|amber", "on": "racks", "note": f"f{n}", "key": self.opened[1]}
        return self.client.post(f"{self.place}/cook/supper/record", data={**form, "form_token": self.token})

    def said(self, n: int) -> list[object]:
        return [f"f{n}"]


class Instrument(threading.Thread):
    """Publishes to a broker, which keeps it for the house: a plain number, and one that has its time."""

    def __init__(self, port: int) -> None:
        super().__init__()
        self.port, self.ends = port, threading.Event()
        self.sure: list[object] = []

    def run(self) -> None:
        asyncio.run(self._publish())

    async def _publish(self) -> None:
        n = 0
        async with aiomqtt.Client("127.0.0.1", self.port, timeout=PATIENCE_S) as client:
            while not self.ends.is_set():
                await client.publish("barn/pit", f"{100 + n / 1000:.3f}", qos=1)
                at = (PUT_ON + timedelta(seconds=n % 2400)).isoformat()
                await client.publish("barn/probe", f'{{"t": {40 + n / 1000:.3f}, "at": "{at}"}}', qos=1)
                self.sure += [("pit air", n), ("probe", n)]
                n += 1
                await asyncio.sleep(0.05)


def came(entries: Iterable[StoredEntry]) -> dict[str, list[object]]:
    """What the ledger has, by the way that it came and by what its sender calls it."""
    ways: dict[str, list[object]] = {"HTTP": [], "taps": [], "forms": [], "MQTT": []}
    for entry in entries:
        event = entry.event
        if isinstance(event, Reading) and entry.by == "house":
            base = 100.0 if event.channel == "pit air" else 40.0
            ways["MQTT"].append((event.channel, round((event.value_c - base) * 1000.0)))
        elif isinstance(event, Reading):
            ways["HTTP"].append(entry.id)
        elif isinstance(event, Look) and event.note.startswith("f"):
            ways["forms"].append(event.note)
        else:
            assert isinstance(event, Correction) or entry.id.startswith("t")
            ways["taps"].append(entry.id)
    return ways


def house(folder: Path, kills: int, dice: random.Random) -> dict[str, tuple[Toll, Counter[str]]]:
    """One house that is killed so often: what became of each way's entries, and how many were sent again and known."""
    path, file = folder / "ledger.sqlite", folder / "settings.toml"
    fill(path)
    with Store.open(path) as store:
        bearer = Accounts(store, utc_now).put_device("box", "supper")
        before = store.last_seq("supper")
    broker = Broker(folder, to_be_killed=False).start()
    file.write_text(SETTINGS.format(port=broker.port), encoding="utf-8")
    try:
        with Nursery({"PIT_RECKONS": "0", "PIT_SETTINGS": str(file)}) as nursery:
            server = Forked(path, nursery=nursery).start()
            try:
                senders = [Device(server.place, bearer), *_people(server)]
                instrument = Instrument(broker.port)
                _wait_for_broker(broker.port, folder)
                for each in (*(sender.thread for sender in senders), instrument):
                    each.start()
                for n in range(kills):
                    senders[n % len(senders)].goes_on()  # however slow the machine, something of each comes in
                    time.sleep(dice.uniform(0.0, LONGEST_S))
                    server.kill()
                    server.start()
                time.sleep(LONGEST_S)
                for ends in (*(sender.ends for sender in senders), instrument.ends):
                    ends.set()
                for each in (*(sender.thread for sender in senders), instrument):
                    each.join(PATIENCE_S)
                for sender in senders:
                    sender.client.close()
                    assert not sender.refused
                entries = _all_there(path, before, set(instrument.sure))
            finally:
                server.close()
    finally:
        broker.stop()
    ways = came(entries)
    sure = [*(sender.sure for sender in senders), instrument.sure]
    more = [Counter(retries=sender.retries, known=sender.known) for sender in senders]
    del more[2]["known"]  # what a form is answered does not say so
    told = zip(("HTTP", "taps", "forms", "MQTT"), sure, [*more, Counter()], strict=True)
    return {way: (toll_of(one, ways[way]), each) for way, one, each in told}


def _people(server: Forked) -> tuple[Phone, Forms]:
    people = []
    for _ in range(2):
        client = httpx.Client(timeout=PATIENCE_S, trust_env=False)
        assert client.post(f"{server.place}/login", data={"password": PASSWORD}).status_code == 303
        token = re.findall(r'data-token="(\w+)"', client.get(f"{server.place}/setup").text)[0]
        people.append((client, token))
    return Phone(server.place, *people[0]), Forms(server.place, *people[1])


def _wait_for_broker(port: int, folder: Path) -> None:
    """Until the broker knows the house: only then it keeps for it what comes while it is dead."""

    async def send() -> None:
        async with aiomqtt.Client("127.0.0.1", port, timeout=PATIENCE_S) as client, asyncio.timeout(PATIENCE_S):
            while not _has_reading(folder / "ledger.sqlite"):
                await client.publish("barn/pit", "99.0", qos=1)
                await asyncio.sleep(0.2)

    asyncio.run(send())


def _has_reading(path: Path) -> bool:
    with Store.open(path) as store:
        return any(entry.by == "house" for entry in store.entries("supper", limit=10_000))


def _all_there(path: Path, before: int, sent: set[object]) -> list[StoredEntry]:
    """The ledger, when the broker's last message has come, and what would be doubled too; trials left out."""
    with Store.open(path) as store:

        def there() -> set[object]:
            return set(came(_true(store.entries("supper", before, limit=10_000_000)))["MQTT"])

        until(lambda: sent <= there(), "the broker's last message", every_s=0.1)
        time.sleep(0.3)
        return _true(store.entries("supper", before, limit=10_000_000))


def _true(entries: Iterable[StoredEntry]) -> list[StoredEntry]:
    return [each for each in entries if not (isinstance(each.event, Reading) and each.event.value_c == 99.0)]


NAMES = {
    "HTTP": "readings by HTTP",
    "taps": "taps of the page",
    "forms": "forms of the page without a script",
    "MQTT": "readings by MQTT, QoS 1",
}


def test_killed_while_entries_come_from_everywhere(tmp_path: Path) -> None:
    dice, left, retries = random.Random(20261017), KILLS, 0
    while left:
        kills, begun = min(EACH, left), time.monotonic()
        folder = tmp_path / f"house{left}"
        folder.mkdir()
        for way, (toll, more) in house(folder, kills, dice).items():
            assert toll.acknowledged >= kills // 3, f"{way}: too little was ever taken in"
            assert (toll.lost, toll.doubled) == (0, 0), (way, toll)
            assert toll.extra <= BATCH, "at most what was under way when all ended"
            note(NAMES[way], toll, begun, kills=kills, **more)
            retries += more["retries"]
        left -= kills
    assert retries > KILLS // 2, "kills hit what was under way"
