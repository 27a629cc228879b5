"""`pitreckon alerts`: what the cook should be told at a moment, printed or sent."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import LOG, Call

from pitreckon.alerts import send as sending

pytestmark = pytest.mark.kernel

SILENT = LOG + "17:40,look,wings,4,spot temperature,160 F,\n"
FAST = ("--members", "8")


@pytest.fixture
def silent(tmp_path: Path) -> Path:
    """A log in which the pit says nothing more from 17:05 on."""
    path = tmp_path / "silent.csv"
    path.write_text(SILENT, encoding="utf-8")
    return path


def settings_of(folder: Path, text: str) -> Path:
    path = folder / "settings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_dry_run_prints_them(pitreckon: Call, cook_file: Path, silent: Path) -> None:
    answer = pitreckon("alerts", cook_file, "--log", silent, "--dry-run", *FAST)
    assert (answer.code, answer.err) == (0, "")
    assert "barn kettle: no reading for 35 min\n  The last was 327 °F at 17:05." in answer.out
    celsius = pitreckon("alerts", cook_file, "--log", silent, "--dry-run", "--degrees", "C", *FAST)
    assert "The last was 164 °C at 17:05." in celsius.out


def test_nothing_to_tell(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    answer = pitreckon("alerts", cook_file, "--log", log_file, "--at", "16:31", "--dry-run", *FAST)
    assert (answer.code, answer.out) == (0, "Nothing to tell at 16:31.\n")


def test_settings_count(pitreckon: Call, cook_file: Path, silent: Path, tmp_path: Path) -> None:
    patient = settings_of(tmp_path, '[alerts]\nsilent = "2 h"\n')
    answer = pitreckon("alerts", cook_file, "--log", silent, "--settings", patient, "--dry-run", *FAST)
    assert answer.code == 0
    assert "no reading" not in answer.out


def test_without_an_address_nothing_is_reckoned(pitreckon: Call, cook_file: Path, silent: Path, tmp_path: Path) -> None:
    answer = pitreckon("alerts", cook_file, "--log", silent, *FAST)
    assert (answer.code, answer.out) == (2, "")
    assert "--dry-run" in answer.err
    bad = settings_of(tmp_path, '[alerts]\nurls = ["carrier://pigeon"]\n')
    answer = pitreckon("alerts", cook_file, "--log", silent, "--settings", bad, *FAST)
    assert (answer.code, answer.out) == (2, "")
    assert "address 1 (carrier://...)" in answer.err


class Stub:
    def __init__(self, *, works: bool) -> None:
        self.works = works
        self.got: list[str] = []

    def notify(self, *, body: str, title: str) -> bool:
        self.got.append(json.dumps([title, body]))
        return self.works


@pytest.mark.parametrize("works", [True, False])
def test_sent(
    pitreckon: Call, cook_file: Path, silent: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, works: bool
) -> None:
    stub = Stub(works=works)
    given: list[Any] = []
    monkeypatch.setattr(sending, "_sender", lambda urls, field="urls": given.append(tuple(urls)) or stub)
    where = settings_of(tmp_path, '[alerts]\nurls = ["json://127.0.0.1"]\n')
    answer = pitreckon("alerts", cook_file, "--log", silent, "--settings", where, *FAST)
    assert given[-1] == ("json://127.0.0.1",)
    assert any("no reading for 35 min" in message for message in stub.got)
    assert answer.code == (0 if works else 2)
    assert (f"{len(stub.got)} of {len(stub.got)} sent." in answer.out) is works
