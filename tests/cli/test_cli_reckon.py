"""``pitreckon reckon`` on the screen: what a cook must find there, whatever the words around it."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from conftest import LOG, Call

from pitreckon.cli import show
from pitreckon.cli.screen import Screen, print_hung
from pitreckon.cli.supposed import _window
from pitreckon.reckon import Quantiles

pytestmark = pytest.mark.kernel

FEW = ("--members", "8")
CLOCK = re.compile(r"\b[0-2]\d:[0-5]\d\b")


def _line(text: str, *words: str) -> str:
    found = [line for line in text.splitlines() if all(word in line for word in words)]
    assert found, f"no line with {words} in\n{text}"
    return found[0]


def test_a_plan_alone(pitreckon: Call, cook_file: Path) -> None:
    answer = pitreckon("reckon", cook_file, *FEW)
    assert (answer.code, answer.err) == (0, "")
    assert len(CLOCK.findall(_line(answer.out, "ready", "to"))) == 3  # the median and its 5 and 95 %
    assert CLOCK.search(_line(answer.out, "open", "until"))
    assert "16:30" in _line(answer.out, "wings", "24")
    assert "8 members" in answer.out
    assert re.search(r"seed 1\b", answer.out)
    words = " ".join(answer.out.split())
    assert "not a promise of safety" in words
    assert "food code" in words
    assert "health department" in words
    assert re.search("[░▒▓█]", answer.out)  # the windows are drawn


def test_on_forty_columns_no_time_is_lost(
    pitreckon: Call, cook_file: Path, log_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A phone held upright: the serving time was cut off the title, times wrapped to the margin, bands broke."""
    monkeypatch.setenv("COLUMNS", "40")
    lines = pitreckon("reckon", cook_file, "--log", log_file, *FEW).out.splitlines()
    assert lines[1] == "serve 18:00"
    assert max(map(len, lines)) <= 40
    at = lines.index("  ready")
    assert re.fullmatch(r"    likely \d\d:\d\d, may be \d\d:\d\d to \d\d:\d\d", lines[at + 1])
    assert not re.search("[░▒▓█]", "".join(lines))
    monkeypatch.setenv("COLUMNS", "80")
    assert max(map(len, pitreckon("reckon", cook_file, "--log", log_file, *FEW).out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((3600.0, 7200.0, 10800.0, 1.0), "likely 14:00, may be 13:00 to 15:00"),
        ((3600.0, 7200.0, math.inf, 0.8), "likely 14:00, 13:00 at the earliest"),
        ((3600.0, math.inf, math.inf, 0.3), "unlikely, 13:00 at the earliest"),
        ((math.inf, math.inf, math.inf, 0.01), "not in sight"),
    ],
)
def test_what_is_not_reached_is_said_in_words(ends: tuple[float, float, float, float], words: str) -> None:
    """It was "likely –, may be 13:00 to –"."""
    noon = datetime(2026, 10, 17, 12, tzinfo=UTC)
    p05, p50, p95, reached = ends
    spread = SimpleNamespace(p05=p05, p50=p50, p95=p95, reached=reached)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(show, "readable", lambda quantiles, _: quantiles)
        assert show.span(SimpleNamespace(put_on_utc=noon), spread, ZoneInfo("UTC"), noon) == words


def test_what_goes_on_in_the_next_line_is_set_in(capsys: pytest.CaptureFixture[str]) -> None:
    print_hung(Screen("C", width=40), "how: turn its setting up to 300 °F; it is there in about 10 min")
    assert capsys.readouterr().out == "   how: turn its setting up to 148.9 °C;\n     it is there in about 10 min\n"


def test_a_time_without_spread_is_one_time() -> None:
    """It was "ready 16:04 (16:04 to 16:04)", and "16:04 (16:00 to –)"."""
    noon = datetime(2026, 10, 17, 12, tzinfo=UTC)
    item = SimpleNamespace(outlook=SimpleNamespace(put_on_utc=noon))
    cook = SimpleNamespace(zone_info=ZoneInfo("UTC"))
    told = [
        _window(Quantiles(*each), item, cook, noon)
        for each in ((60.0, 60.0, 60.0, 1.0), (60.0, 120.0, 180.0, 1.0), (60.0, 120.0, math.inf, 0.9))
    ]
    assert told == ["12:01", "12:02 (12:01 to 12:03)", "12:02, 12:01 at the earliest"]


def test_the_log_sets_the_moment(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    answer = pitreckon("reckon", cook_file, "--log", log_file, *FEW)
    assert "17:05" in answer.out.splitlines()[0]
    now = _line(answer.out, "core", "pit air")
    assert re.search(r"\d °F", now)
    assert re.search(r"water lost \d+ %", answer.out)


def test_at_leaves_out_what_comes_after(pitreckon: Call, cook_file: Path, log_file: Path, tmp_path: Path) -> None:
    short = tmp_path / "short.csv"
    short.write_text("\n".join(LOG.splitlines()[:4]) + "\n")
    early = pitreckon("reckon", cook_file, "--log", log_file, "--at", "16:45", *FEW)
    assert early.out == pitreckon("reckon", cook_file, "--log", short, *FEW).out
    assert early.out != pitreckon("reckon", cook_file, "--log", log_file, *FEW).out
    dated = pitreckon("reckon", cook_file, "--log", log_file, "--at", "2026-10-17 16:45", *FEW)
    assert dated.out == early.out


def test_seed_and_members_are_used_and_said(pitreckon: Call, cook_file: Path) -> None:
    one = pitreckon("reckon", cook_file, *FEW)
    two = pitreckon("reckon", cook_file, *FEW, "--seed", "2")
    more = pitreckon("reckon", cook_file, "--members", "16")
    assert re.search(r"seed 2\b", two.out)
    assert "16 members" in more.out
    ready = {_line(each.out, "ready", "to") for each in (one, two, more)}
    assert len(ready) == 3


def test_degrees_celsius(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    answer = pitreckon("reckon", cook_file, "--log", log_file, "--degrees", "C", *FEW)
    now = _line(answer.out, "core", "pit air")
    assert "°C" in now
    assert "°F" not in now
    pit_c = int(re.findall(r"pit air (\d+)", now)[0])
    assert 100 < pit_c < 200  # about 325 F


def test_a_rejected_reading_is_told_and_changes_nothing(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    rows = LOG.splitlines()
    plain, odd = tmp_path / "plain.csv", tmp_path / "odd.csv"
    plain.write_text("\n".join(rows) + "\n")
    odd.write_text("\n".join([*rows[:3], "16:40,reading,barn kettle,,pit air,900 F,", *rows[3:]]) + "\n")
    expected = pitreckon("reckon", cook_file, "--log", plain, *FEW)
    answer = pitreckon("reckon", cook_file, "--log", odd, *FEW)
    assert answer.code == 0
    told = _line(answer.out, "not used")
    assert "900 °F" in told
    assert "outside" in told
    assert "line 4" in " ".join(answer.out.split())
    head, _, tail = answer.out.partition("not used")
    assert expected.out.startswith(head)
    assert expected.out.endswith(tail[tail.index("\n\n") :])
    assert "not used" not in expected.out


@pytest.mark.parametrize("code", ["999 F", "NaN", ""])
def test_set_aside(pitreckon: Call, cook_file: Path, tmp_path: Path, code: str) -> None:
    log = tmp_path / "log.csv"
    log.write_text(LOG + f"17:10,reading,wings,1,probe,{code},\n17:11,reading,barn kettle,,pit air,325 F,\n")
    assert pitreckon("reckon", cook_file, "--log", log, *FEW).code == 2
    answer = pitreckon("reckon", cook_file, "--log", log, "--set-aside", *FEW)
    assert (answer.code, answer.err) == (0, "")
    assert "set aside" in _line(answer.out, "not used")
