"""A PostgreSQL server of the tests' own: made in a folder of its own, reached by a socket there, gone afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import psycopg
from tests.patience import PATIENCE_S

PACKAGE = "postgresql"
_USER = "postgres"  # Debian's package makes it; the server refuses to run as root


def programs() -> Path | None:
    """The folder of the newest server's programs, if one is installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda path: float(path.parts[-3]))
    if found:
        return found[-1].parent
    elsewhere = shutil.which("postgres")
    return Path(elsewhere).resolve().parent if elsewhere else None


class Server:
    """A running server; :meth:`new_database` gives the address of an empty database."""

    def __init__(self, folder: Path, binaries: Path) -> None:
        self.folder = folder
        self._binaries = binaries
        self._data = folder / "data"
        self._numbers = count(1)
        self._user = _USER if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        if os.geteuid() == 0:
            shutil.chown(folder, _USER)
        self._run("initdb", "-D", self._data, "-A", "trust", "-E", "UTF8", "--no-sync", "-U", "cook")
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        """Start it and wait until it answers."""
        command = ["postgres", "-D", self._data, "-k", self.folder, "-c", "listen_addresses=", "-c", "fsync=off"]
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [self._binaries / command[0], *command[1:]], stdout=log, stderr=log, cwd=self.folder, **self._as_user()
            )
        ends = time.monotonic() + PATIENCE_S
        while self._process.poll() is None and time.monotonic() < ends:
            try:
                psycopg.connect(host=str(self.folder), user="cook", dbname="postgres", connect_timeout=60).close()
            except psycopg.OperationalError:
                time.sleep(0.05)
            else:
                return
        raise RuntimeError((self.folder / "log").read_text())

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        """SIGINT ends it in order; SIGQUIT at once, as if the plug were pulled."""
        assert self._process is not None
        self._process.send_signal(how)
        self._process.wait(PATIENCE_S)

    def new_database(self) -> str:
        """The address of a new database."""
        name = f"ledger{next(self._numbers)}"
        with psycopg.connect(host=str(self.folder), user="cook", dbname="postgres", autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return f"postgresql://cook@/{name}?host={self.folder}"

    def _run(self, program: str, *arguments: object) -> None:
        done = subprocess.run(
            [self._binaries / program, *map(str, arguments)],
            capture_output=True,
            text=True,
            check=False,
            cwd=self.folder,
            **self._as_user(),
        )
        if done.returncode:
            raise RuntimeError(done.stdout + done.stderr)

    def _as_user(self) -> dict[str, object]:
        if os.geteuid() != 0:
            return {}
        found = pwd.getpwnam(_USER)
        return {"user": found.pw_uid, "group": found.pw_gid, "extra_groups": []}


@contextmanager
def running(binaries: Path) -> Iterator[Server]:
    """A server for as long as the block lasts. Its folder's name is short: a socket's path has a limit."""
    with tempfile.TemporaryDirectory(prefix="pg", ignore_cleanup_errors=True) as folder:
        server = Server(Path(folder), binaries)
        try:
            yield server
        finally:
            server.stop()
