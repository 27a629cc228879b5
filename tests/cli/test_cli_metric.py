"""Metric throughout: with ``--degrees C`` no command prints a degree Fahrenheit, a pound, an ounce or an inch."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.cards import made_once
from tests.cli.test_cli_schema import MIX, every_command
from validation.readers.cards import HERE

from pitreckon.cli.demo import COOK_FILE

OTHER_UNITS = re.compile(r"°F|[0-9] F\b|[0-9] (?:lb|lbs|oz)\b|\b(?:lb|oz)\b|[0-9]/[0-9]+ in\b|\bpounds?\b|\bsq in\b")
EXPORTED = """\
time,kind,on,piece,what,value,note
2026-10-17 11:30,act,racks,,put on,,
2026-10-17 11:35,reading,barn pit,,pit air,255 F,
2026-10-17 13:00,look,racks,1,spot temperature,150 F,
"""
PLANNED = """\
[cook]
name = "supper for twelve"
zone = "America/Chicago"
serve = "2026-10-17 18:00"
earliest = "2026-10-17 04:00"
air = "95 F"

[guests]
adults = 12

[[pit]]
name = "big box"
kind = "offset-log-burner"
set = ["200 F", "250 F"]

[[item]]
name = "racks"
cut = "st-louis-ribs"
state = "frozen"

[[item]]
name = "butt"
cut = "boston-butt"
"""
SUNDAYS = Path(__file__).parents[2] / "examples"
LAST = f"{SUNDAYS}/sunday-racks/sunday-racks.toml={SUNDAYS}/sunday-racks/day.csv"
CALLS = {
    "cuts": (),
    "pits": (),
    "reckon": ("supper.toml", "--log", "day.csv", "--since", "12:00", "--members", "8"),
    "suppose": ("supper.toml", "--log", "day.csv", "--members", "8"),
    "alerts": ("supper.toml", "--log", "day.csv", "--members", "8", "--dry-run"),
    "sheet": ("supper.toml", "--log", "day.csv", "--members", "8"),
    "record": ("supper.toml", "--log", "day.csv", "--members", "8"),
    "card": (
        HERE / "orchard-supper.toml",
        "--log",
        HERE / "orchard-supper.csv",
        "--item",
        "thighs",
        "--readers",
        "100",
    ),
    "card take-in": (f"{SUNDAYS}/sunday-racks/answers",),
    "mix": ("rub.toml", "--heat", "supper.toml", "--item", "racks", "--label"),
    "cool": ("boston-butt", "--weight", "2.7 kg"),
    "plan": ("day.toml", "--limit", "1"),
    "lessons": ("lessons.json",),
    "against": (f"{SUNDAYS}/next-sunday/next-sunday.toml={SUNDAYS}/next-sunday/day.csv", LAST),
    "explain": (f"{SUNDAYS}/sunday-racks/sunday-racks.toml", "--log", f"{SUNDAYS}/sunday-racks/day.csv"),
    "batch": ("rub.toml", "--jars", "20", "--fill", "100 g"),
    "export": ("supper", "--csv"),
    "study": (f"{SUNDAYS}/how-hot/how-hot.toml", "--workers", "1"),
}
NOT_TRIED = {"demo": "prints what reckon does", "new": "writes a file in them, and has a test of its own"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, pitreckon: Call) -> Path:
    monkeypatch.chdir(tmp_path)
    made_once(monkeypatch)
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "ledger.sqlite"))
    for name, text in {"supper.toml": COOK_FILE, "day.csv": EXPORTED, "rub.toml": MIX, "day.toml": PLANNED}.items():
        (tmp_path / name).write_text(text)
    return tmp_path


def test_what_is_looked_for_is_found() -> None:
    """The check itself."""
    for text in ("275 °F", "275 F", "2 lb 3 oz", "a 3/4 in probe"):
        assert OTHER_UNITS.search(text), text
    for text in ("135 °C", "9 in 10", "4 to go", "2026-10-17 for A. Cook", "0.9 kg"):
        assert not OTHER_UNITS.search(text), text


def test_every_command_with_a_scale_is_tried() -> None:
    have = {name for name, command in every_command().items() if any("--degrees" in p.opts for p in command.params)}
    assert have == {*CALLS, *NOT_TRIED}


@pytest.mark.kernel
@pytest.mark.slow
@pytest.mark.parametrize("command", CALLS)
def test_metric(pitreckon: Call, folder: Path, command: str) -> None:
    if command == "export":
        (folder / "logger.csv").write_text("time,barn pit F,racks F\n2026-10-17 12:00,255,60\n")
        assert pitreckon("take-in", "logger.csv", "--plan", "supper.toml").code == 0
    if command == "lessons":
        assert pitreckon("lessons", "lessons.json", "--learn", "supper.toml=day.csv").code == 0
    told = pitreckon(*command.split(), *CALLS[command], "--degrees", "C")
    assert told.code in {0, 3}, told.err
    assert len(told.out) > 50
    lines = [line for line in (told.out + told.err).splitlines() if OTHER_UNITS.search(line)]
    assert not lines


@pytest.mark.kernel
@pytest.mark.slow
def test_metric_on_paper(pitreckon: Call, folder: Path) -> None:
    """The sheets of a planned day, in words of the planner and the rules."""
    for more in ((), ("--buying",)):
        told = pitreckon("sheet", "day.toml", "--members", "8", "--degrees", "C", "-o", "-", "--form", "md", *more)
        assert told.code == 0, told.err
        assert not [line for line in told.out.splitlines() if OTHER_UNITS.search(line)]
