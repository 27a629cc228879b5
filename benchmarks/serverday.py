"""A day of a server: three cooks of four items, from before the fires to an hour after supper, and its memory.

A real server (``serve`` as it is started by hand: 256 members, its usual workers) by a clock that runs fast. A device
sends each pit's air and a probe; people put on, look, wrap, take off and serve; a page of each cook is open all day and
fetches what it is told of. Counted is what the system gives the server and all its processes together: proportional
set size, in which a page that several share is counted once.
"""

from __future__ import annotations

import argparse
import math
import os
import re
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from tests.web.pit_server import Server

from benchmarks.page import _children, _Phone
from pitreckon.ledger.store import Store

COOKS = 3
SPEED = 120.0
"""Hours of the day in half a minute each."""
BEGINS, HOURS = datetime(2026, 10, 17, 12, 0, tzinfo=UTC), 14.0
READING_EVERY_S = 60.0
LOOK_EVERY_S = 40 * 60.0
TARGET_MB = 600.0
PLAN = """\
[cook]
name = "harvest table {n}"
zone = "UTC"
serve = "2026-10-18 00:00"

[[pit]]
name = "barn pit {n}"
kind = "pellet-cooker"
set = "250 F"
"""
ITEM = """
[[item]]
name = "{name}"
cut = "{cut}"
pieces = {pieces}
weight = "{weight}"
put_on = "2026-10-17 {at}"
"""
ITEMS = {
    "butt": ("boston-butt", 1, "7 lb", "12:30"),
    "flat": ("brisket-flat", 1, "6 lb", "13:00"),
    "racks": ("st-louis-ribs", 4, "2 lb 10 oz", "17:30"),
    "thighs": ("chicken-thigh", 12, "6 oz", "21:30"),
}
WRAPPED_H, OFF_H = {"butt": 6.0, "flat": 5.5, "racks": 3.0}, {"butt": 10.5, "flat": 10.0, "racks": 5.5, "thighs": 1.5}
"""Hours after it was put on."""
COLOURS = ("tan", "amber", "red-brown", "mahogany")
FEELS = ("hard", "firm", "some drag", "slides in")
SERVED_H = 12.0


@dataclass
class Seen:
    """What was counted. mb: when [h of the day], the server's and its processes' memory"""

    mb: list[tuple[float, float, float]] = field(default_factory=list)
    sent: int = 0
    looks: int = 0
    acts: int = 0
    fetched: int = 0
    outlooks: int = 0
    refused: list[str] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)


def plan_of(n: int) -> str:
    """A cook's file."""
    items = (
        ITEM.format(name=name, cut=cut, pieces=pieces, weight=weight, at=at)
        for name, (cut, pieces, weight, at) in ITEMS.items()
    )
    return PLAN.format(n=n) + "".join(items)


def script(n: int) -> Iterator[tuple[datetime, dict[str, str]]]:
    """What people do at a cook, and when: a cook after the other is a few minutes late."""
    late = timedelta(minutes=7 * n)
    for name, (_, _, _, at) in ITEMS.items():
        on = datetime.fromisoformat(f"2026-10-17 {at}+00:00") + late
        off = on + timedelta(hours=OFF_H[name])
        yield on, {"kind": "act", "on": name, "what": "put on"}
        if name in WRAPPED_H:
            yield on + timedelta(hours=WRAPPED_H[name]), {"kind": "act", "on": name, "what": "wrapped", "value": "foil"}
        yield off, {"kind": "act", "on": name, "what": "took off"}
        yield BEGINS + timedelta(hours=SERVED_H) + late, {"kind": "act", "on": name, "what": "served"}
        count = int((off - on).total_seconds() / LOOK_EVERY_S)
        for k in range(1, count):
            done = k / count
            wrapped = name in WRAPPED_H and k * LOOK_EVERY_S > WRAPPED_H[name] * 3600.0
            words = FEELS if wrapped else COLOURS
            what = "probe feel" if wrapped else "colour"
            value = words[min(int(done * len(words)), len(words) - 1)]
            yield on + timedelta(seconds=k * LOOK_EVERY_S), {"kind": "look", "on": name, "what": what, "value": value}


def _readings(server: Server, n: int, token: str, clock: _Clock, seen: Seen) -> None:
    """A device: the pit's air and a probe in the butt, once a minute, sent as the day goes on."""
    head, at = {"Authorization": f"Bearer {token}"}, BEGINS
    put_on = datetime.fromisoformat(f"2026-10-17 {ITEMS['butt'][3]}+00:00") + timedelta(minutes=7 * n)
    with httpx.Client(base_url=server.place, timeout=60.0, trust_env=False) as client:
        while not clock.over.wait(1.0):
            sent = []
            while at <= clock.now():
                hours = (at - put_on).total_seconds() / 3600.0
                air = 121.0 + 4.0 * math.sin(at.timestamp() / 700.0 + n)
                sent.append({"at": at.isoformat(), "on": f"barn pit {n}", "value": air, "unit": "C"})
                if 0.1 < hours < OFF_H["butt"]:
                    core = 4.0 + 90.0 * -math.expm1(-hours / 3.6)
                    sent.append({"at": at.isoformat(), "on": "butt", "value": core, "unit": "C"})
                at += timedelta(seconds=READING_EVERY_S)
            for first in range(0, len(sent), 100):
                some = [{"id": os.urandom(10).hex(), **each} for each in sent[first : first + 100]]
                answer = client.post("/api/readings", params={"cook": f"c{n}"}, json={"readings": some}, headers=head)
                with seen.lock:
                    seen.sent += len(some) if answer.status_code == 200 else 0
                    if answer.status_code != 200:
                        seen.refused.append(answer.text[:300])


def _people(phone: _Phone, n: int, clock: _Clock, seen: Seen) -> None:
    for at, event in sorted(script(n), key=lambda each: each[0]):
        while clock.now() < at and not clock.over.is_set():
            time.sleep(0.05)
        if clock.over.is_set():
            return
        sent = {"events": [{"id": os.urandom(12).hex(), "at": at.isoformat(), **event}]}
        answer = phone.client.post(f"/api/cooks/c{n}/events", json=sent, headers={"X-Pitreckon-Form": phone.token})
        with seen.lock:
            seen.looks += event["kind"] == "look"
            seen.acts += event["kind"] == "act"
            if answer.status_code != 200:
                seen.refused.append(f"{event}: {answer.text[:300]}")


def _watching(server: Server, phone: _Phone, n: int, clock: _Clock, seen: Seen) -> None:
    """A page: its stream is open, and what it is told of is fetched, by turns of what a page may show."""
    with (
        httpx.Client(base_url=server.place, timeout=60.0, trust_env=False, cookies=phone.client.cookies) as reader,
        suppress(httpx.TransportError),
        reader.stream("GET", f"/cook/c{n}/stream") as stream,
    ):
        for line in stream.iter_lines():
            if clock.over.is_set():
                return
            if not line.startswith("event: "):
                continue
            part = ("now/part", "plan/part", "look")[seen.fetched % 3]
            answer = phone.client.get(f"/cook/c{n}/{part}")
            with seen.lock:
                seen.fetched += answer.status_code == 200
                seen.outlooks += "outlook" in line


class _Clock:
    """The server's, as those around it read it. over: the day is"""

    def __init__(self, server: Server) -> None:
        self._server, self.over = server, threading.Event()

    def now(self) -> datetime:
        gone = datetime.now(UTC) - self._server.begun
        return self._server.shows + gone * self._server.speed


def descendants(pid: int) -> list[int]:
    """A process's children and theirs."""
    found = []
    for child in _children(pid):
        found += [child, *descendants(child)]
    return found


def pss_mb(pid: int) -> float:
    """Proportional set size of a process; 0 where it has just ended [MB]."""
    try:
        text = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii")
    except (FileNotFoundError, ProcessLookupError):
        return 0.0
    return int(re.findall(r"^Pss:\s+(\d+)", text, re.MULTILINE)[0]) / 1024.0


def day_rows(quick: bool = False, speed: float = SPEED, hours: float = HOURS) -> list[dict[str, Any]]:
    """One row: a day. ``quick``: two hours of it."""
    hours = 2.0 if quick else hours
    seen = Seen()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ledger.sqlite"
        with Store.open(path) as store:
            for n in range(COOKS):
                store.add_cook(plan_of(n), f"harvest table {n}", cook_id=f"c{n}")
        server = Server(path, speed=speed, shows=BEGINS, environment={"PIT_MEMBERS": "usual"})
        server.begun = datetime.now(UTC) + timedelta(seconds=8.0)
        server.start()
        clock = _Clock(server)
        try:
            assert server.process is not None
            phones = [(_Phone(server), _Phone(server)) for _ in range(COOKS)]
            threads = []
            for n, (one, other) in enumerate(phones):
                threads += [
                    threading.Thread(target=_readings, args=(server, n, one.device(), clock, seen)),
                    threading.Thread(target=_people, args=(one, n, clock, seen)),
                    threading.Thread(target=_watching, args=(server, other, n, clock, seen), daemon=True),
                ]
            for thread in threads:
                thread.start()
            while (hour := (clock.now() - BEGINS).total_seconds() / 3600.0) < hours:
                of_workers = sum(pss_mb(pid) for pid in descendants(server.process.pid))
                seen.mb.append((hour, pss_mb(server.process.pid), of_workers))
                time.sleep(1.0)
            clock.over.set()
            for thread in threads:
                thread.join(20.0)
        finally:
            server.close()
    return [_row(seen, hours)]


def _row(seen: Seen, hours: float) -> dict[str, Any]:
    peak = max(seen.mb, key=lambda each: each[1] + each[2])
    end = seen.mb[-1]
    return {
        "cooks": COOKS,
        "items": len(ITEMS) * COOKS,
        "hours": hours,
        "readings": seen.sent,
        "looks": seen.looks,
        "acts": seen.acts,
        "outlooks": seen.outlooks,
        "fetched": seen.fetched,
        "refused": len(seen.refused),
        "peak_mb": peak[1] + peak[2],
        "peak_h": peak[0],
        "server_peak_mb": max(each[1] for each in seen.mb),
        "workers_peak_mb": max(each[2] for each in seen.mb),
        "end_mb": end[1] + end[2],
        "target_mb": TARGET_MB,
        "by_hour": [[round(value, 2) for value in each] for each in seen.mb[:: max(len(seen.mb) // 60, 1)]],
        "why": sorted(set(seen.refused))[:3],
    }


def main() -> None:
    """Play it and show what came, hour by hour."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.serverday", description=__doc__)
    parser.add_argument("--speed", type=float, default=SPEED, help="of the clock")
    parser.add_argument("--hours", type=float, default=HOURS)
    given = parser.parse_args()
    (row,) = day_rows(speed=given.speed, hours=given.hours)
    for hour, server_mb, workers_mb in row.pop("by_hour"):
        print(f"{hour:6.2f} h  server {server_mb:6.1f} MB, workers {workers_mb:6.1f} MB")
    print(row)


if __name__ == "__main__":
    main()
