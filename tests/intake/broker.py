"""A real MQTT broker for tests: Debian's mosquitto on a free port, with its messages on disk, to be killed at will."""

from __future__ import annotations

import getpass
import os
import shutil
import signal
import socket
import subprocess
from pathlib import Path

import pytest
from tests.patience import PATIENCE_S, until
from tests.ports import free_port


def program() -> str:
    """Where mosquitto is. Without one the test is skipped, and with CI set it fails."""
    found = shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
    if found is None:
        message = "there is no mosquitto; install Debian's package of that name"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    return found


class Broker:
    """One broker with a folder of its own; what it has taken on is kept there at once if it is to be killed."""

    def __init__(self, folder: Path, *, anonymous: bool = True, to_be_killed: bool = True) -> None:
        self.folder = folder
        self.program = program()
        self.port = free_port()
        self._running: subprocess.Popen[bytes] | None = None
        self._config = folder / "broker.conf"
        self._config.write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous {str(anonymous).lower()}\nuser {getpass.getuser()}\n"
            f"persistence true\npersistence_location {folder}/\n"
            + ("autosave_on_changes true\nautosave_interval 1\n" if to_be_killed else "")
            + "max_queued_messages 0\n",
            encoding="utf-8",
        )

    def start(self) -> Broker:
        """Run it, and wait until it listens."""
        self._running = subprocess.Popen(
            [self.program, "-c", str(self._config)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        until(self._listens, "a broker that listens")
        return self

    def _listens(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=PATIENCE_S).close()
        except OSError:
            assert self._running is not None
            assert self._running.poll() is None, "the broker did not start"
            return False
        return True

    def kill(self) -> None:
        """As when its power goes."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """As when it is told to end."""
        self._end(signal.SIGTERM)

    def freeze(self) -> None:
        """As when the network between us goes: it keeps its place and answers nobody."""
        if self._running is not None:
            self._running.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """The network is back."""
        if self._running is not None:
            self._running.send_signal(signal.SIGCONT)

    def _end(self, how: signal.Signals) -> None:
        if self._running is not None:
            self._running.send_signal(how)
            self._running.send_signal(signal.SIGCONT)  # whoever is frozen hears of it only so
            self._running.wait(PATIENCE_S)
            self._running = None
