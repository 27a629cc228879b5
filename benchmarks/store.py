"""What the store takes in and gives back: one sender by batch, many at a steady pace, and reading it all again.

SQLite is asked to be sure (a full sync at each commit), as it is in use. A sender's ids are random, the worst order for
their index.
"""

from __future__ import annotations

import os
import resource
import statistics
import tempfile
import threading
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry, Store

NOON = datetime(2026, 10, 10, 12, tzinfo=UTC)
TARGET = 5000  # readings a second, for a minute: what the whole service has to reach


def batch(first: int, size: int) -> list[Entry]:
    """Readings a millisecond apart."""
    return [
        Entry(
            os.urandom(16).hex(),
            Reading(NOON + timedelta(milliseconds=n), "pit air", "big box", None, 120.0 + n % 97 / 10),
            "logger",
        )
        for n in range(first, first + size)
    ]


def _quantile(of: Sequence[float], share: float) -> float:
    return sorted(of)[min(len(of) - 1, int(share * len(of)))]


def by_batch(store: Store, size: int, for_s: float) -> dict[str, Any]:
    """One sender that waits for each receipt before it sends again."""
    cook_id = store.add_cook("", "bench").id
    took: list[float] = []
    sent = 0
    begun = time.perf_counter()
    while time.perf_counter() - begun < for_s:
        entries = batch(sent, size)
        start = time.perf_counter()
        store.append(cook_id, entries)
        took.append(time.perf_counter() - start)
        sent += size
    return {
        "what": "one sender",
        "senders": 1,
        "batch": size,
        "readings": sent,
        "per_s": sent / sum(took),
        "ms_median": statistics.median(took) * 1e3,
        "ms_p95": _quantile(took, 0.95) * 1e3,
        "ms_most": max(took) * 1e3,
    }


def paced(store: Store, cook_id: str, senders: int, size: int, per_s: float, for_s: float) -> dict[str, Any]:
    """Several senders at a steady pace together; how long each waits for its receipts.

    A sender that is late sends the next batch at once, so that a store that cannot follow shows as a rate below
    the one asked for.
    """
    each_s = senders * size / per_s
    rounds = round(for_s / each_s)
    took: list[list[float]] = [[] for _ in range(senders)]
    begun = time.perf_counter()

    def send(sender: int) -> None:
        for n in range(rounds):
            due = begun + (n + sender / senders) * each_s
            time.sleep(max(0.0, due - time.perf_counter()))
            entries = batch((sender * rounds + n) * size, size)
            start = time.perf_counter()
            store.append(cook_id, entries)
            took[sender].append(time.perf_counter() - start)

    threads = [threading.Thread(target=send, args=(sender,)) for sender in range(senders)]
    worked = time.process_time()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    wall = time.perf_counter() - begun
    waits = [one for sender in took for one in sender]
    sent = senders * size * rounds
    assert store.last_seq(cook_id) == sent
    return {
        "what": f"{per_s:,.0f} a second asked for",
        "senders": senders,
        "batch": size,
        "readings": sent,
        "per_s": sent / wall,
        "ms_median": statistics.median(waits) * 1e3,
        "ms_p95": _quantile(waits, 0.95) * 1e3,
        "ms_most": max(waits) * 1e3,
        "processor": (time.process_time() - worked) / wall,
    }


def store_rows(quick: bool) -> list[dict[str, Any]]:
    """All rows; the last are the whole ledger read, and exported, after the paced run."""
    for_s = 1.0 if quick else 5.0
    rows: list[dict[str, Any]] = []
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "ledger.sqlite") as store:
        rows += [by_batch(store, size, for_s) for size in (1, 10, 100, 1000)]
        cook_id = store.add_cook("", "bench").id
        rows.append(paced(store, cook_id, 20, 50, TARGET, 5.0 if quick else 60.0))
        readings = store.last_seq(cook_id)
        rows.append(_timed("ledger read", readings, lambda: len(store.ledger(cook_id))))
        rows.append(_timed("export", readings, lambda: sum(map(len, store.export_jsonl(cook_id)))))
        rows[-1]["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        files = sum(path.stat().st_size for path in Path(folder).iterdir())
        rows[-1]["file_bytes_reading"] = files / sum(row["readings"] for row in rows[:5])
    return rows


def _timed(what: str, readings: int, work: Any) -> dict[str, Any]:
    begun = time.perf_counter()
    work()
    return {"what": what, "readings": readings, "per_s": readings / (time.perf_counter() - begun)}
