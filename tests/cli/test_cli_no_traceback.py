"""No traceback, whatever is typed: every option and argument of every command with what makes no sense there."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import COOK, LOG, Call
from tests.cli.test_cli_schema import LOGGER, MIX, every_command

LONG = "9" * 400
"""Longer than a file's name may be, and a number that no float holds."""
NONSENSE = ("", LONG, "é\udcff", "2026-13-45", "a=b", "/", "bytes.bin")
"""Nothing; too much; a byte that is no letter, as a shell hands it on; no day; a pair; a folder; no text."""
BASE = {
    "take-in": ("logger.csv", "--plan", "cook.toml", "--ledger", "l.sqlite"),
    "watch": ("logger.csv", "--plan", "cook.toml", "--ledger", "l.sqlite", "--once"),
    "cooks": ("--ledger", "l.sqlite"),
    "export": ("cook", "--ledger", "l.sqlite"),
    "import": ("x.jsonl", "--ledger", "m.sqlite"),
    "mix": ("rub.toml",),
    "lessons": ("les.json",),
    "cuts": (),
    "schema": ("cuts",),
    "ledger check": ("--ledger", "l.sqlite"),
    "ledger backup": ("c.sqlite", "--ledger", "l.sqlite"),
    "ledger restore": ("c.sqlite", "--ledger", "r.sqlite"),
    "ledger salvage": ("c.sqlite", "s.sqlite"),
    "ledger key": ("--ledger", "l.sqlite"),
}
RECKONED = ("reckon", "suppose", "alerts", "sheet", "record", "plan", "card", "cool", "why")
"""Only what they read is tried: what they would reckon takes its time."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, pitreckon: Call) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "usual.sqlite"))
    for name, text in {"cook.toml": COOK, "log.csv": LOG, "rub.toml": MIX, "logger.csv": LOGGER, "x.jsonl": ""}.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "bytes.bin").write_bytes(bytes(range(256)))
    assert pitreckon("take-in", *BASE["take-in"]).code == 0
    assert pitreckon("ledger", "backup", *BASE["ledger backup"]).code == 0
    return tmp_path


@pytest.mark.parametrize("command", BASE)
def test_options_and_arguments(pitreckon: Call, folder: Path, command: str) -> None:
    given = BASE[command]
    calls = 0
    for each in every_command()[command].params:
        if each.name == "help" or getattr(each, "is_flag", False):
            continue
        option = each.opts[0].startswith("-")
        for value in NONSENSE:
            arguments = (*given, each.opts[0], value) if option else (value, *given[1:])
            told = pitreckon(*command.split(), *arguments)  # what is not foreseen is raised in the tests
            assert told.code in {0, 1, 2}, arguments
            assert told.code or not told.err.startswith("pitreckon:"), arguments
            calls += 1
    assert calls >= len(NONSENSE)


@pytest.mark.parametrize("command", RECKONED)
def test_files_that_are_none(pitreckon: Call, folder: Path, command: str) -> None:
    for value in NONSENSE:
        logs = ("--log", value) if command in {"reckon", "suppose", "alerts", "sheet", "record", "card"} else ()
        for arguments in {(value, *logs), ("cook.toml", *logs)} if logs else {(value,)}:
            more = ("--weight", "3 oz") if command == "cool" else ("--came-out", "dry") if command == "why" else ()
            told = pitreckon(command, *arguments, *more)
            assert (told.code, told.out) == (2, ""), arguments
            assert len(told.err.splitlines()) >= 1


@pytest.mark.parametrize("option", ["--seed", "--members", "--at", "--since", "--degrees", "--lessons"])
def test_options_of_what_is_reckoned(pitreckon: Call, folder: Path, option: str) -> None:
    for value in NONSENSE:
        told = pitreckon("reckon", "cook.toml", option, value)
        assert (told.code, told.out) == (2, ""), value
