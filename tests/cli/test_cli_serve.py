"""``pitreckon serve``: what is wrong is said before anything runs, and the first start says how to get in."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import Call
from tests.patience import PATIENCE_S
from tests.ports import free_port

from pitreckon.errors import InputError
from pitreckon.web.serve import bound
from pitreckon.web.settings import WebSettings

COMMAND = "from pitreckon.cli.main import run; run()"


def test_a_port_that_is_taken(pitreckon: Call, tmp_path: Path) -> None:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        one.listen()
        answer = pitreckon("serve", "--ledger", tmp_path / "ledger.sqlite", "--port", one.getsockname()[1])
    assert (answer.code, answer.out) == (2, "")
    assert "--port" in answer.err


def test_two_that_begin_at_once_on_one_port() -> None:
    """Both could bind it, as long as neither listened; the second heard of it from the operating system, too late."""
    settings = WebSettings(store="", port=free_port())
    with bound(settings), pytest.raises(InputError, match="cannot listen") as caught:
        bound(settings)
    assert "--port" in str(caught.value)


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--public-url", "barn.lan", "--public-url"),
        ("--settings", "none.toml", "none.toml"),
        ("--host", "8.8.8.8", "host"),
    ],
)
def test_what_cannot_be_served(pitreckon: Call, tmp_path: Path, option: str, value: str, words: str) -> None:
    answer = pitreckon("serve", "--ledger", tmp_path / "ledger.sqlite", "--port", free_port(), option, value)
    assert answer.code == 2
    assert words in answer.err
    assert len(answer.err.strip().splitlines()) <= 2  # the second, where the page's script was not built


def _serve_until_told(path: Path, *more: str) -> str:
    command = [sys.executable, "-u", "-c", COMMAND, "serve", "--ledger", str(path), "--port", str(free_port()), *more]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert server.stdout is not None
    said = ""
    try:
        for line in server.stdout:
            said += line
            if "Only this machine" in line:
                break
        if "shown this once" not in said:
            # The first start says its password once the store is open; a later one says nothing more.
            for line in server.stdout if not more and not path.with_suffix(".again").exists() else ():
                said += line
                if "Or open this" in line:
                    break
    finally:
        server.send_signal(signal.SIGTERM)
        said += server.communicate(timeout=PATIENCE_S)[0]
    return said


def test_an_interrupt_says_that_what_was_recorded_is_kept(
    pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("pitreckon.web.serve.serve", interrupted)
    answer = pitreckon("serve", "--ledger", tmp_path / "ledger.sqlite", "--port", free_port())
    assert "kept: all that was recorded" in answer.err
    assert "nothing was written" not in answer.err


@pytest.mark.servers
def test_the_first_start_says_the_password_and_the_second_does_not(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    first = _serve_until_told(path)
    (password,) = re.findall(r"shown this once: (\S+)", first)
    assert re.fullmatch(r"(\w{4}-){3}\w{4}", password)
    assert re.search(r"http://127\.0\.0\.1:\d+/pair/\S+", first)
    path.with_suffix(".again").touch()
    again = _serve_until_told(path)
    assert "password" not in again
    assert "/pair/" not in again
    (new,) = re.findall(r"new password: (\S+)", _serve_until_told(path, "--new-owner-password"))
    assert new != password
