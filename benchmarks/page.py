"""The live page under load: readings by HTTP with the page open, and how soon another phone has a new look.

A real server in a process of its own, one sender that posts batches with a device's token, one phone that records looks
and one whose stream tells it; six items. What the sender and the phones cost is on the same machine.
"""

from __future__ import annotations

import os
import re
import statistics
import tempfile
import threading
import time
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
from tests.web.pit_server import COOK, NOW, PASSWORD, Server, fill

TARGET = 5000  # readings a second, for a minute
BATCH = 500
LOOK_EVERY_S = 3.0
ITEMS = """
[[item]]
name = "item {n}"
cut = "{cut}"
pieces = 3
weight = "{weight}"
put_on = "2026-10-17 {at}"
"""
MORE = (("spareribs", "3 lb", "12:45"), ("chicken-thigh", "6 oz", "16:15"), ("pork-loin", "3 lb", "15:00"))
MORE += (("turkey-breast", "3 lb", "14:30"),)


def _plan() -> str:
    more = "".join(ITEMS.format(n=n, cut=cut, weight=weight, at=at) for n, (cut, weight, at) in enumerate(MORE))
    return COOK + more


class _Phone:
    def __init__(self, server: Server) -> None:
        self.client = httpx.Client(base_url=server.place, timeout=60.0, trust_env=False)
        self.client.post("/login", data={"password": PASSWORD})
        self.token = re.findall(r'data-token="(\w+)"', self.client.get("/setup").text)[0]

    def device(self) -> str:
        page = self.client.post("/setup/device", data={"label": "box", "form_token": self.token}).text
        return str(re.findall(r"<code>([\w-]{40,})</code>", page)[0])


def _send(server: Server, token: str, per_s: float, for_s: float, took: list[float], until: list[float]) -> None:
    """Post batches at a steady rate, each when it is due; ``until`` gets the seconds up to the last answer."""
    head = {"Authorization": f"Bearer {token}"}
    with httpx.Client(base_url=server.place, timeout=60.0, trust_env=False) as client:
        begun = time.perf_counter()
        for n in range(round(for_s * per_s / BATCH)):
            time.sleep(max(0.0, begun + n * BATCH / per_s - time.perf_counter()))
            base = NOW - timedelta(minutes=5) + timedelta(milliseconds=n)
            readings = [
                {
                    "id": os.urandom(12).hex(),
                    "at": base.isoformat(),
                    "on": "barn pit",
                    "value": 270 + k % 7,
                    "unit": "F",
                }
                for k in range(BATCH)
            ]
            start = time.perf_counter()
            client.post("/api/readings", json={"readings": readings}, headers=head).raise_for_status()
            took.append(time.perf_counter() - start)
        until.append(max(time.perf_counter() - begun, for_s))


def _updates(server: Server, for_s: float) -> list[float]:
    """From the tap on one phone until the other has fetched a page that shows it [s]."""
    one, two = _Phone(server), _Phone(server)
    news = threading.Event()

    def listen() -> None:
        with suppress(httpx.TransportError), two.client.stream("GET", "/cook/supper/stream") as stream:
            for line in stream.iter_lines():  # until the server is closed
                if line.startswith("event: "):
                    news.set()

    threading.Thread(target=listen, daemon=True).start()
    reader = _Phone(server)
    took = []
    begun = time.perf_counter()
    n = 0
    while time.perf_counter() - begun < for_s:
        n += 1
        note = f"look {n} {os.urandom(3).hex()}"
        event = {"id": os.urandom(12).hex(), "at": NOW.isoformat(), "kind": "look", "on": "racks", "what": "colour"}
        start = time.perf_counter()
        news.clear()
        sent = {"events": [{**event, "value": "amber", "note": note}]}
        one.client.post(
            "/api/cooks/supper/events", json=sent, headers={"X-Pitreckon-Form": one.token}
        ).raise_for_status()
        while news.wait(30.0):
            news.clear()
            if note in reader.client.get("/cook/supper/now/part").text:
                break
        took.append(time.perf_counter() - start)
        time.sleep(LOOK_EVERY_S)
    return took


def _resident_mb(pid: int) -> float:
    return int(re.findall(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())[0]) / 1024.0


def _children(pid: int) -> list[int]:
    tasks = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(child) for task in tasks for child in task.read_text().split()]


def page_rows(quick: bool) -> list[dict[str, Any]]:
    """One row for a quiet house and one under the stream of readings."""
    for_s = 10.0 if quick else 60.0
    rows = []
    for per_s in (0.0, float(TARGET)):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "ledger.sqlite"
            fill(path, _plan())
            server = Server(path, speed=1.0).start()
            try:
                rows.append(_row(server, per_s, for_s))
            finally:
                server.close()
    return rows


def _row(server: Server, per_s: float, for_s: float) -> dict[str, Any]:
    phone = _Phone(server)
    phone.client.get("/api/cooks/supper/outlook").raise_for_status()
    posts: list[float] = []
    sent_s: list[float] = []
    sending = (server, phone.device(), per_s, for_s, posts, sent_s)
    sender = threading.Thread(target=_send, args=sending) if per_s else None
    if sender is not None:
        sender.start()
    updates = _updates(server, for_s)
    if sender is not None:
        sender.join()
    assert server.process is not None
    children = _children(server.process.pid)
    return {
        "asked_per_s": per_s,
        "readings": len(posts) * BATCH,
        "per_s": len(posts) * BATCH / sent_s[0] if sent_s else 0.0,
        "post_ms_median": statistics.median(posts) * 1e3 if posts else None,
        "looks": len(updates),
        "update_ms_median": statistics.median(updates) * 1e3,
        "update_ms_p95": sorted(updates)[min(len(updates) - 1, int(0.95 * len(updates)))] * 1e3,
        "server_mb": _resident_mb(server.process.pid),
        "reckoning_mb": max((_resident_mb(child) for child in children), default=0.0),
    }


if __name__ == "__main__":
    for row in page_rows(quick=True):
        print(row)
