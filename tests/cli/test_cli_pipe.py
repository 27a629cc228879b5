"""``-o -``: what would be a file goes to standard output, alone."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.test_cli_schema import PLAN

from pitreckon.cook.read import cook_from_text

FEW = ("--members", "8")


@pytest.mark.kernel
def test_a_sheet_and_a_record_go_down_a_pipe(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    told = pitreckon("sheet", cook_file, *FEW, "-o", "-", "--form", "md")
    file = tmp_path / "sheet.md"
    assert pitreckon("sheet", cook_file, *FEW, "-o", file).code == 0
    lines = [text.splitlines() for text in (told.out, file.read_text("utf-8"))]
    assert told.err == ""
    assert len(lines[0]) == len(lines[1]) > 10  # the same but for the minute at which it was made
    record = pitreckon("record", cook_file, *FEW, "-o", "-", "--form", "json", "--sources")
    assert json.loads(record.out)["kind"] == "pitreckon safety record"
    assert "Sources of this run" in record.err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["sheet.md", "wings.toml"]


@pytest.mark.parametrize("command", ["reckon", "suppose", "sheet", "alerts", "record", "card", "explain"])
def test_one_file_comes_down_a_pipe(pitreckon: Call, command: str) -> None:
    """The log was read as the cook, and was no TOML."""
    told = pitreckon(command, "-", "--log", "-")
    assert told.code == 2
    assert told.err == (
        "pitreckon: -: the cook and its log cannot both come from standard input. Name the file of one of them.\n"
    )


@pytest.mark.kernel
@pytest.mark.slow
def test_a_planned_cook_goes_down_a_pipe(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "none.sqlite"))
    (tmp_path / "day.toml").write_text(PLAN)
    told = pitreckon("plan", tmp_path / "day.toml", "--limit", "2", "-o", "-")
    assert tomllib.loads(told.out)
    assert cook_from_text(told.out, "the pipe").items[0].label == "wings"
    assert "serve" in told.err  # the day on the screen goes beside it


@pytest.mark.parametrize(
    ("command", "options", "words"),
    [
        ("sheet", ("-o", "-"), "--form"),
        ("sheet", ("-o", "-", "--form", "docx"), "'docx' is no kind of sheet"),
        ("sheet", ("--form", "pdf"), "Give -o as well"),
        ("sheet", ("-o", "-", "--form", "md", "--json"), "two answers"),
        ("record", ("-o", "record"), "no ending"),
        ("plan", ("-o", "-", "--json"), "two answers"),
    ],
)
def test_what_cannot_be_is_said_before_anything_is_reckoned(
    pitreckon: Call, cook_file: Path, command: str, options: tuple[str, ...], words: str
) -> None:
    told = pitreckon(command, cook_file, *options)
    assert (told.code, told.out) == (2, "")
    assert words in told.err
