"""``pitreckon plan`` and ``pitreckon sheet`` on a day that is still to be planned, as the how-to has it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import Call

HOWTO = (Path(__file__).parents[2] / "docs" / "how-to" / "plan-the-day.md").read_text(encoding="utf-8")
(DAY,) = re.findall(r"```toml\n(.*?)```", HOWTO, re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "supper.toml").write_text(DAY, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_day_is_printed_and_can_be_followed(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("plan", "supper.toml", "-o", "day.toml")
    assert (got.code, got.err) == (0, "")
    assert "All of it ready to serve together" in got.out
    for act in ("big box: light", "racks: put on", "racks: take off", "serve"):
        assert act in got.out
    assert "health department" in got.out
    followed = pitreckon("reckon", "day.toml", "--members", "64")
    assert followed.code == 0
    assert "racks" in followed.out


def test_as_json_and_the_same_again(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("plan", "supper.toml", "--json")
    answer = json.loads(got.out)
    assert answer["possible"]
    assert answer["schedule"]["chance"] > 0.6
    assert answer["schedule"]["items"][0]["pieces"] >= 2
    assert pitreckon("plan", "supper.toml", "--json").out == got.out


def test_a_day_that_cannot_be_says_why_and_what_would_help(pitreckon: Call, folder: Path) -> None:
    (folder / "late.toml").write_text(DAY.replace('chance = "70 %"', 'earliest = "2026-10-10 15:30"'), "utf-8")
    got = pitreckon("plan", "late.toml")
    assert got.code == 0
    assert got.out.count("  why ") >= 1
    assert got.out.count("  instead ") >= 1
    assert json.loads(pitreckon("plan", "late.toml", "--json").out)["possible"] is False


def test_the_sheet_of_a_planned_day(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("sheet", "supper.toml", "--members", "64")
    assert got.code == 0
    assert "light, and let it settle" in got.out
    assert "season" in got.out
    assert "pellets" in got.out.lower()
    buying = pitreckon("sheet", "supper.toml", "--buying")
    assert "meat in all" in buying.out
    assert "USD" in buying.out
    assert pitreckon("sheet", "supper.toml", "-o", "day.ics", "--members", "64").code == 0
    assert (folder / "day.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("adults   = 6", "adults   = -6", "adults is -6"),
        ('cut   = "st-louis-ribs"', 'cut   = "st-louis-rib"', "st-louis-rib"),
        ('longest_hold = "5h"', 'longest_hold = "40h"', "longest_hold"),
        ('longest_hold = "5h"', "pieces = 10000", "10000"),
    ],
)
def test_bad_input_gets_one_message(pitreckon: Call, folder: Path, old: str, new: str, says: str) -> None:
    (folder / "bad.toml").write_text(DAY.replace(old, new), encoding="utf-8")
    got = pitreckon("plan", "bad.toml", "-o", "day.toml")
    assert got.code != 0
    assert says in got.err
    assert got.err.count("\n") == 1
    assert not (folder / "day.toml").exists()


def test_what_does_not_go_together_is_refused(pitreckon: Call, folder: Path) -> None:
    assert pitreckon("plan", "supper.toml", "-o", "day.toml").code == 0
    got = pitreckon("sheet", "day.toml", "--buying")
    assert got.code != 0
    assert "no longer says who eats" in got.err
