"""Servers that are there at once: forked off a process that has imported everything, for tests that start hundreds.

A start of ``pit_server`` is imports for nine tenths (numba, scipy, the web framework), the same each time. What is
forked opens its store, binds its port and is killed as any other program is.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from tests.patience import PATIENCE_S
from tests.web.pit_server import ROOT, Server, main


class Nursery:
    """The process that has everything imported. environment: of all its servers"""

    def __init__(self, environment: Mapping[str, str]) -> None:
        paths = {"PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.web.nursery"],
            cwd=ROOT, env={**os.environ, **environment, **paths}, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip

    def __enter__(self) -> Nursery:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        self._process.communicate(timeout=PATIENCE_S)

    def born(self, arguments: list[str]) -> int:
        """Another server; its process."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write("\t".join(arguments) + "\n")
        self._process.stdin.flush()
        return int(self._process.stdout.readline())


@dataclass
class Forked(Server):
    """A server of a nursery."""

    nursery: Nursery | None = None
    number: int | None = None

    def start(self) -> Forked:
        """Start it and wait until it answers."""
        assert self.nursery is not None
        self.number = self.nursery.born(self.arguments)
        self.wait(lambda: _is_there(self.number), 0.01)
        return self

    def stop(self, sign: int = signal.SIGTERM) -> float:
        """Tell it to end; how long it took [s]."""
        assert self.number is not None
        begun = time.monotonic()
        os.kill(self.number, sign)
        while _is_there(self.number):
            assert time.monotonic() < begun + PATIENCE_S, "it does not end"
            time.sleep(0.002)
        self.number = None
        return time.monotonic() - begun

    def close(self) -> None:
        """End it if it still runs."""
        if _is_there(self.number):
            self.kill()


def _is_there(number: int | None) -> bool:
    if number is None:
        return False
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


def _fork_as_told() -> None:
    import pitreckon.intake.mqtt.client
    import pitreckon.web.serve  # noqa: F401
    from pitreckon.ledger.store import Store

    with tempfile.TemporaryDirectory() as folder:  # it loads what a database needs
        Store.open(Path(folder) / "ledger.sqlite").close()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # who has ended is gone at once
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            main(line.rstrip("\n").split("\t"))
            os._exit(0)
        sys.stdout.write(f"{child}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    _fork_as_told()
