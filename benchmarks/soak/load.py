"""A house under load: forty phones, twelve devices that send a thousand readings a second together, three cooks.

Each phone has a stream open and looks at pages; each cook has six items. Counted are answers of the program's own
trouble, how soon another phone has a look, and memory.
"""

from __future__ import annotations

import os
import random
import tempfile
import threading
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
from tests.web.pit_server import NOW, Server, fill

from benchmarks.page import _children, _Phone, _plan, _resident_mb
from pitreckon.ledger.store import Store

PHONES, DEVICES, PER_S, COOKS = 40, 12, 1000.0, 3
BATCH = 50
PAGES = ("now", "now/part", "look", "plan", "ledger", "plan/part")
LOOKS_EVERY_S = 3.0


@dataclass
class Counts:
    """What was seen, by all threads together."""

    statuses: Counter[int] = field(default_factory=Counter)
    broken: Counter[str] = field(default_factory=Counter)
    seen_s: list[float] = field(default_factory=list)
    pages_s: list[float] = field(default_factory=list)
    memory_mb: list[tuple[float, float, float]] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def note(self, answer: httpx.Response, took_s: float) -> None:
        """An answer to a page."""
        with self.lock:
            self.statuses[answer.status_code] += 1
            self.pages_s.append(took_s)

    def status(self, code: int) -> None:
        """Any other answer."""
        with self.lock:
            self.statuses[code] += 1

    def fault(self, error: Exception) -> None:
        """A call that had no answer."""
        with self.lock:
            self.broken[type(error).__name__] += 1


def _device(server: Server, token: str, cook: str, per_s: float, counts: Counts, ends: threading.Event) -> None:
    head, n, begun = {"Authorization": f"Bearer {token}"}, 0, time.perf_counter()
    with httpx.Client(base_url=server.place, timeout=60.0, trust_env=False) as client:
        while not ends.wait(max(0.0, begun + n * BATCH / per_s - time.perf_counter())):
            at = (NOW - timedelta(minutes=4) + timedelta(milliseconds=n)).isoformat()
            values = [
                {"id": os.urandom(10).hex(), "at": at, "on": "barn pit", "value": 270 + k % 5} for k in range(BATCH)
            ]
            sent = {"readings": [{**each, "unit": "F"} for each in values]}
            n += 1
            try:
                counts.status(client.post("/api/readings", params={"cook": cook}, json=sent, headers=head).status_code)
            except httpx.TransportError as error:
                counts.fault(error)


def _phone(
    server: Server, phone: _Phone, cook: str, chance: random.Random, counts: Counts, ends: threading.Event
) -> None:
    """Its stream stays open; now and then it looks at a page."""

    def listen() -> None:
        while not ends.is_set():
            with suppress(httpx.TransportError), phone.client.stream("GET", f"/cook/{cook}/stream") as stream:
                for _ in stream.iter_lines():
                    if ends.is_set():
                        return

    threading.Thread(target=listen, daemon=True).start()
    with httpx.Client(base_url=server.place, timeout=60.0, trust_env=False, cookies=phone.client.cookies) as client:
        while not ends.wait(chance.uniform(2.0, 8.0)):
            begun = time.perf_counter()
            try:
                counts.note(client.get(f"/cook/{cook}/{chance.choice(PAGES)}"), time.perf_counter() - begun)
            except httpx.TransportError as error:
                counts.fault(error)


def _looker(one: _Phone, two: _Phone, cook: str, counts: Counts, ends: threading.Event) -> None:
    """From the tap on one phone until another, told by its stream, has fetched a page that shows it [s]."""
    news = threading.Event()

    def listen() -> None:
        with suppress(httpx.TransportError), two.client.stream("GET", f"/cook/{cook}/stream") as stream:
            for line in stream.iter_lines():
                if line.startswith("event: "):
                    news.set()

    threading.Thread(target=listen, daemon=True).start()
    reader = httpx.Client(base_url=two.client.base_url, timeout=60.0, trust_env=False, cookies=two.client.cookies)
    while not ends.wait(LOOKS_EVERY_S):
        note = f"look {os.urandom(5).hex()}"
        event = {"id": os.urandom(12).hex(), "at": NOW.isoformat(), "kind": "look", "on": "racks", "what": "colour"}
        begun = time.perf_counter()
        news.clear()
        try:
            sent = {"events": [{**event, "value": "amber", "note": note}]}
            answer = one.client.post(f"/api/cooks/{cook}/events", json=sent, headers={"X-Pitreckon-Form": one.token})
            counts.status(answer.status_code)
            while news.wait(30.0):
                news.clear()
                if note in reader.get(f"/cook/{cook}/now/part").text:
                    break
        except httpx.TransportError as error:
            counts.fault(error)
            continue
        with counts.lock:
            counts.seen_s.append(time.perf_counter() - begun)


def _family(server: Server, count: int) -> list[_Phone]:
    """So many phones of people of their own, let in by links of the owner."""
    owner = _Phone(server)
    phones = []
    for n in range(count):
        page = owner.client.post("/setup/pairing", data={"role": "cook", "form_token": owner.token}).text
        path = page.split("/pair/", 1)[1].split("<", 1)[0]
        phone = object.__new__(_Phone)
        phone.client = httpx.Client(base_url=server.place, timeout=60.0, trust_env=False)
        phone.client.post(f"/pair/{path}", data={"name": f"phone {n}"})
        phone.token = phone.client.get("/setup").text.split('data-token="', 1)[1].split('"', 1)[0]
        phones.append(phone)
    return phones


def load_rows(
    minutes: float, phones: int = PHONES, devices: int = DEVICES, per_s: float = PER_S
) -> list[dict[str, Any]]:
    """One row: what came of so many minutes."""
    counts, ends = Counts(), threading.Event()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ledger.sqlite"
        fill(path, _plan())
        cooks = ["supper", *(f"supper-{n}" for n in range(1, COOKS))]
        with Store.open(path) as store:
            for cook in cooks[1:]:
                store.add_cook(_plan(), cook, cook_id=cook)
        server = Server(path, speed=1.0).start()
        try:
            assert server.process is not None
            family = _family(server, phones + 2)
            tokens = [_Phone(server).device() for _ in range(devices)]
            threads = [
                threading.Thread(target=_device, args=(server, token, cooks[n % COOKS], per_s / devices, counts, ends))
                for n, token in enumerate(tokens)
            ]
            threads += [
                threading.Thread(target=_phone, args=(server, one, cooks[n % COOKS], random.Random(n), counts, ends))
                for n, one in enumerate(family[2:])
            ]
            threads.append(threading.Thread(target=_looker, args=(family[0], family[1], cooks[0], counts, ends)))
            for thread in threads:
                thread.start()
            begun = time.monotonic()
            while time.monotonic() - begun < minutes * 60.0:
                ends.wait(min(15.0, minutes * 10.0))
                children = sum(_resident_mb(child) for child in _children(server.process.pid))
                counts.memory_mb.append((time.monotonic() - begun, _resident_mb(server.process.pid), children))
            ends.set()
            for thread in threads:
                thread.join(70.0)
            took_s = time.monotonic() - begun
        finally:
            server.close()
        with Store.open(path) as store:
            entries = sum(store.last_seq(cook) for cook in cooks)
    return [_row(counts, minutes, took_s, entries)]


def _row(counts: Counts, minutes: float, took_s: float, entries: int) -> dict[str, Any]:
    half = [each for each in counts.memory_mb if each[0] > took_s / 2.0] or counts.memory_mb
    return {
        "minutes": minutes,
        "calls": sum(counts.statuses.values()),
        "5xx": sum(n for status, n in counts.statuses.items() if status >= 500),
        "unanswered": sum(counts.broken.values()),
        "entries": entries,
        "per_s": entries / took_s,
        "looks": len(counts.seen_s),
        "look_s_median": _share(counts.seen_s, 0.5),
        "look_s_p95": _share(counts.seen_s, 0.95),
        "page_s_p95": _share(counts.pages_s, 0.95),
        "server_mb_half": half[0][1],
        "server_mb_end": counts.memory_mb[-1][1],
        "reckoning_mb_half": half[0][2],
        "reckoning_mb_end": counts.memory_mb[-1][2],
    }


def _share(values: list[float], part: float) -> float | None:
    return sorted(values)[min(int(part * len(values)), len(values) - 1)] if values else None


if __name__ == "__main__":
    import sys

    print(load_rows(float(sys.argv[1])))
