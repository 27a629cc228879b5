"""A real server on a port, as a process of its own: ``python -m tests.web.pit_server PORT STORE SPEED BEGUN SHOWS``.

``PIT_RECKONS=0``: nothing is reckoned. ``PIT_FULL`` names a file: while that is there, the database may grow no more.
``PIT_CLOCK`` names one that says the time, ``PIT_SETTINGS`` the settings of a house.
``PIT_MEMBERS=usual``: ensembles as large as ``serve`` makes them, and not as small as tests want them.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from tests.patience import PATIENCE_S
from tests.ports import free_port

from pitreckon.ledger import Act, Reading
from pitreckon.ledger.store import Entry, Store
from pitreckon.web.access.secrets import Passwords
from pitreckon.web.settings import Clock, WebSettings

ROOT = Path(__file__).parents[2]
PASSWORD = "wood smoke and patience"  # of an invented house, and of no other
SLOWLY = 0.1
"""So fast goes a test's day: however slow the machine, what is seen of a minute of it is of that minute."""
PUT_ON = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)  # 13:00 in Chicago
NOW = PUT_ON + timedelta(minutes=50)
COOK = """\
[cook]
name = "harvest table"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "275 F"

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 4
weight = "2 lb 10 oz"
put_on = "2026-10-17 13:00"

[[item]]
name = "wings"
cut = "chicken-wing"
pieces = 24
weight = "3 oz"
put_on = "2026-10-17 16:45"
"""


def fill(path: Path, plan: str = COOK) -> None:
    """A cook whose racks have been on for three quarters of an hour, in a fresh store."""
    with Store.open(path) as store:
        store.add_cook(plan, "harvest table", cook_id="supper")
        events: list[Act | Reading] = [Act(PUT_ON, "racks", "put on")]
        events += [
            Reading(PUT_ON + timedelta(minutes=m), "pit air", "barn pit", None, 134.0 + m % 3) for m in range(0, 50, 5)
        ]
        store.append("supper", [Entry(f"e{n}", event, "barn box") for n, event in enumerate(events)])


@dataclass
class Server:
    """The process, its store and its port. begun: when its day began; it goes on where the server is killed.

    shows: what its clock showed then; speed: how fast that goes
    """

    store: Path
    port: int = field(default_factory=free_port)
    speed: float = SLOWLY
    begun: datetime = field(default_factory=lambda: datetime.now(UTC))
    environment: dict[str, str] = field(default_factory=dict)
    shows: datetime = NOW
    process: subprocess.Popen[bytes] | None = None

    @property
    def place(self) -> str:
        return f"http://localhost:{self.port}"

    @property
    def arguments(self) -> list[str]:
        """Of its process."""
        times = (self.begun.isoformat(), self.shows.isoformat())
        return [str(self.port), str(self.store), str(self.speed), *times]

    def start(self) -> Server:
        """Start it and wait until it answers."""
        command = [sys.executable, "-m", "tests.web.pit_server", *self.arguments]
        environment = {**os.environ, **self.environment, "PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
        self.process = subprocess.Popen(command, cwd=ROOT, env=environment)
        process = self.process
        self.wait(lambda: process.poll() is None)
        return self

    def wait(self, lives: Callable[[], bool], pause_s: float = 0.1) -> None:
        """Until it answers. lives: whether there is anything to wait for"""
        ends = time.monotonic() + PATIENCE_S
        with httpx.Client(trust_env=False) as client:  # one for all: making one takes longer than asking
            while time.monotonic() < ends:
                assert lives(), "the server has ended by itself"
                try:
                    if client.get(f"{self.place}/health").status_code == 200:
                        return
                except httpx.TransportError:
                    time.sleep(pause_s)
        self.close()
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        """As when the power goes."""
        self.stop(signal.SIGKILL)

    def stop(self, sign: int = signal.SIGTERM) -> float:
        """Tell it to end; how long it took [s]."""
        assert self.process is not None
        begun = time.monotonic()
        self.process.send_signal(sign)
        self.process.wait(PATIENCE_S)
        self.process = None
        return time.monotonic() - begun

    def close(self) -> None:
        """End it if it still runs."""
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait(PATIENCE_S)


class HeldClock(Clock):
    """A clock that is set by a file, and goes on slowly: a test leads it through a day without waiting."""

    def __init__(self, file: Path) -> None:
        super().__init__(SLOWLY)
        object.__setattr__(self, "_file", file)

    def now(self) -> datetime:
        """What the file says, and a little of what has gone since it was written."""
        file: Path = self._file  # type: ignore[attr-defined]
        gone_s = max(time.time() - file.stat().st_mtime, 0.0)
        return datetime.fromisoformat(file.read_text(encoding="utf-8")) + timedelta(seconds=gone_s * self.speed)


def main(arguments: list[str]) -> None:
    """The process. arguments: port, store, speed, when it begun, what its clock showed then"""
    from pitreckon.ledger.store import Store
    from pitreckon.web.access.accounts import Accounts
    from pitreckon.web.app import utc_now
    from pitreckon.web.serve import serve

    port, path, speed, begun = int(arguments[0]), arguments[1], float(arguments[2]), arguments[3]
    with Store.open(path) as store:
        keep = Accounts(store, utc_now)
        if keep.owner() is None:
            keep.set_owner(Passwords(64).hash(PASSWORD))
    if "PIT_FULL" in os.environ:
        _may_be_full(Path(os.environ["PIT_FULL"]))
    clock = Clock(speed, datetime.fromisoformat(begun), datetime.fromisoformat(arguments[4]))
    if "PIT_CLOCK" in os.environ:
        clock = HeldClock(Path(os.environ["PIT_CLOCK"]))
    reckons = os.environ.get("PIT_RECKONS", "1") == "1"
    small = {"argon_memory_kib": 64}
    if os.environ.get("PIT_MEMBERS") != "usual":
        small |= {"members": 32, "supposing": 16, "explaining": 16}
    file = Path(os.environ["PIT_SETTINGS"]) if "PIT_SETTINGS" in os.environ else None
    serve(WebSettings(path, host="localhost", port=port, clock=clock, reckons=reckons, settings_file=file, **small))


def _may_be_full(mark: Path) -> None:
    """As on a full disk while the mark is there; the engine is the real one."""
    from sqlalchemy import Engine, event

    @event.listens_for(Engine, "begin")
    def limit(connection: Any) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {1 if mark.exists() else 1_000_000}")


if __name__ == "__main__":
    main(sys.argv[1:])
