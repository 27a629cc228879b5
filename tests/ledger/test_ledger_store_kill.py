"""A program killed at random while it takes entries in: none that it acknowledged is lost, none is there twice.

Each killed program is followed by one that sends again whatever was not acknowledged, under the same ids.
``PITRECKON_KILLS=200`` makes the long run of the usual short one.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import threading
import time
from datetime import UTC, datetime, timedelta
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest
from tests.patience import PATIENCE_S

from pitreckon.errors import StoreError
from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers

KILLS = int(os.environ.get("PITRECKON_KILLS", "20"))
SENDERS = 3
NOON = datetime(2026, 10, 10, 12, tzinfo=UTC)

# A server that has everything imported forks the programs: each is there in milliseconds and has no thread of ours.
SPAWN = multiprocessing.get_context("forkserver")
SPAWN.set_forkserver_preload(["pitreckon.ledger.store", "pitreckon.ledger.store.engine", "alembic.command"])


def batch_size(sender: int, batch: int) -> int:
    return (7 * sender + 3 * batch) % 12 + 1


def batch_of(sender: int, batch: int) -> list[Entry]:
    """What a sender sends, the same each time that it is sent."""
    at = NOON + timedelta(seconds=batch)
    kinds = (
        Reading(at, "pit air", "big box", None, 100.0 + batch % 40),
        Look(at, "racks", 1, "colour", 0.55, "amber"),
        Act(at, "big box", "lid open", duration_s=60.0),
    )
    return [Entry(f"{sender}-{batch}-{n}", kinds[n % 3], f"sender {sender}") for n in range(batch_size(sender, batch))]


def program(address: str, start: list[int], told: Connection) -> None:
    """Append batch after batch from several threads, and tell of each one that was acknowledged, until killed."""
    store = Store.open(address)
    store.add_cook("", "supper", cook_id="supper")
    lock = threading.Lock()

    def send(sender: int) -> None:
        for batch in range(start[sender], 1_000_000):
            store.append("supper", batch_of(sender, batch))
            with lock:
                told.send((sender, batch))

    threads = [threading.Thread(target=send, args=(sender,)) for sender in range(SENDERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def run_and_kill(address: str, start: list[int], after_s: float, least: int = 0) -> None:
    """One program's life; ``start`` goes up by what it acknowledged. least: of each sender before it is killed"""
    ear, mouth = SPAWN.Pipe(duplex=False)
    child = SPAWN.Process(target=program, args=(address, list(start), mouth))
    child.start()
    mouth.close()
    ends = time.monotonic() + after_s
    gives_up = ends + PATIENCE_S
    killed = False
    try:
        while True:
            now = time.monotonic()
            if not killed and now >= ends and (min(start) >= least or now > gives_up):
                os.kill(child.pid, signal.SIGKILL)
                killed = True
            if ear.poll(None if killed else max(0.01, ends - now)):
                sender, batch = ear.recv()
                assert batch == start[sender]
                start[sender] = batch + 1
    except (EOFError, OSError):  # OSError: it was killed halfway through a word
        pass
    finally:
        ear.close()
        child.join()
    assert child.exitcode == -signal.SIGKILL, "it ended by itself"


def check(address: str, start: list[int]) -> None:
    """Every acknowledged entry once, each sender's in order; of what was under way all of a batch or nothing."""
    with Store.open(address) as store:
        before, last = -1, store.last_seq("supper")
        while before != last:  # a database server may still be ending what a program that is gone had begun
            entries = store.entries("supper", limit=10_000_000)
            before, last = last, store.last_seq("supper")
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    assert last == len(entries)
    for sender in range(SENDERS):
        own = [(entry.id, entry.event) for entry in entries if entry.id.startswith(f"{sender}-")]
        sure = [(sent.id, sent.event) for batch in range(start[sender]) for sent in batch_of(sender, batch)]
        under_way = [(sent.id, sent.event) for sent in batch_of(sender, start[sender])]
        assert own in (sure, sure + under_way)


@pytest.mark.parametrize(("kind", "kills"), [("sqlite", KILLS), ("postgresql", max(KILLS // 4, 3))])
def test_killed_while_taking_in(kind: str, kills: int, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    if kind == "sqlite":
        address = str(tmp_path / "ledger.sqlite")
    else:
        address = request.getfixturevalue("postgres_server").new_database()
    chance = random.Random(20261010)
    start = [0] * SENDERS
    run_and_kill(address, start, 0.0, least=2)
    for _ in range(kills - 1):
        run_and_kill(address, start, chance.uniform(0.02, 0.5))
        check(address, start)
    assert min(start) > 0, "nothing was ever acknowledged, so nothing was tried"


def test_killed_while_the_store_is_made(tmp_path: Path) -> None:
    chance = random.Random(1)
    for n in range(max(KILLS // 3, 5)):
        address = str(tmp_path / f"ledger{n}.sqlite")
        start = [0] * SENDERS
        run_and_kill(address, start, chance.uniform(0.0, 0.25))
        with Store.open(address) as store:
            store.add_cook("", "supper", cook_id="supper")
        check(address, start)


def server_program(address: str, told: Connection) -> None:
    """As ``program`` with one sender, but it lives on when the server dies, and sends again until it is back."""
    store = Store.open(address)
    store.add_cook("", "supper", cook_id="supper")
    for batch in range(1_000_000):
        while True:
            try:
                store.append("supper", batch_of(0, batch))
                break
            except StoreError:
                time.sleep(0.02)
        told.send((0, batch))


def test_the_server_is_killed_while_taking_in(postgres_server: Any) -> None:
    """The database's own processes die; the program lives on and sends again."""
    address = postgres_server.new_database()
    ear, mouth = SPAWN.Pipe(duplex=False)
    child = SPAWN.Process(target=server_program, args=(address, mouth))
    child.start()
    mouth.close()
    known = -1
    try:
        for _ in range(3):
            goal = known + 40
            while known < goal:
                assert ear.poll(PATIENCE_S)
                known = ear.recv()[1]
            postgres_server.stop(signal.SIGQUIT)
            postgres_server.start()
    finally:
        child.kill()
        child.join()
    while ear.poll(0):
        try:
            known = ear.recv()[1]
        except EOFError:
            break
    check(address, [known + 1, 0, 0])
