"""``pitreckon new``: six questions through standard input, each asked again on a fault, and a file that plans."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from conftest import Answer, Call
from tests.cli.test_cli_schema import held

from pitreckon.cli.new import QUESTIONS, planned_name
from pitreckon.plan.read import wishes_from_text

Typed = Callable[..., Answer]
ZONE = ("--zone", "America/Chicago")
ALL = ("--cut", "chicken-wing", "--amount", "24 x 3 oz", "--pit", "kettle", "--set", "325 F", "--wrap", "none")
WHEN = ("--serve", "2040-10-17 18:00")


@pytest.fixture
def typed(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Call it with lines typed at its questions, in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def call(lines: str, *arguments: object) -> Answer:
        monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
        return pitreckon("new", *arguments)

    return call


def test_empty_lines_take_what_is_usual(typed: Typed) -> None:
    told = typed("\n" * len(QUESTIONS), *ZONE)
    assert told.code == 0, told.err
    assert told.out == "supper.toml is written. Next: pitreckon plan supper.toml -o supper-planned.toml\n"
    assert told.err.count("]: ") == len(QUESTIONS) == 6
    wishes = wishes_from_text(Path("supper.toml").read_text(), "supper.toml")
    (item,), (pit,) = wishes.items, wishes.pits
    assert (item.cut, item.pieces, pit.kind) == ("st-louis-ribs", 3, "kettle")
    assert item.mass_kg == pytest.approx(1.22, abs=0.03)
    assert pit.sets_c[0] == pytest.approx(121.1, abs=0.1)
    assert wishes.serve_utc.astimezone(wishes.zone_info).hour == 18


def test_a_fault_is_said_with_its_reason_and_asked_again(typed: Typed) -> None:
    lines = ["brisckt", "brisket whole", "1 x heavy", "1 x 13 lb", "grill", "offset-log-burner", "lukewarm", "600 F"]
    lines += ["250", "tinfoil", "paper", "yesterday", "2001-01-01 18:00", "2040-10-17 18:00"]
    told = typed("\n".join(lines) + "\n", *ZONE)
    assert told.code == 0, told.err
    faults = [line for line in told.err.splitlines() if line.startswith("  ") or "]:   " in line]
    assert len(faults) == 8
    for words in ("'brisckt'", "'heavy'", "'grill'", "'lukewarm'", "600 F", "'tinfoil'", "'yesterday'", "is over"):
        assert words in told.err, words
    wishes = wishes_from_text(Path("supper.toml").read_text(), "supper.toml")
    (item,) = wishes.items
    assert (item.cut, item.pieces, item.wrapping, item.wrap) == ("brisket-whole", 1, "usual", None)
    assert wishes.pits[0].sets_c[0] == pytest.approx(121.1, abs=0.1)


def test_what_an_option_says_is_not_asked(typed: Typed) -> None:
    told = typed("", "wings.toml", *ALL, *WHEN, *ZONE, "--json")
    assert (told.code, told.err) == (0, "")
    answer = held("new", told.out)
    assert answer["written"] == "wings.toml"
    assert answer["next"] == f"pitreckon plan wings.toml -o {planned_name(Path('wings.toml'))}"
    wishes = wishes_from_text(Path("wings.toml").read_text(), "wings.toml")
    assert wishes.serve_utc.isoformat() == "2040-10-17T23:00:00+00:00"
    told = typed("8 people\n\n", "-", *ALL[:2], *ALL[4:8], *WHEN, *ZONE)
    assert told.err.count("]: ") == 2  # how many, and the wrap
    wishes = wishes_from_text(told.out, "the pipe")
    assert wishes.guests is not None
    assert (wishes.guests.adults, wishes.items[0].pieces) == (8, None)


def test_a_clock_time_is_the_next_and_a_bare_number_is_in_the_units_asked_for(typed: Typed) -> None:
    from datetime import UTC, datetime

    before = datetime.now(UTC).replace(second=0, microsecond=0)
    told = typed("\n4 x 1.2\n\n120\n\n18:00\n", *ZONE, "--degrees", "C", "-")
    assert told.code == 0, told.err
    assert "[3 x 1.22 kg]" in told.err
    wishes = wishes_from_text(told.out, "the pipe")
    assert (wishes.items[0].pieces, wishes.items[0].mass_kg) == (4, 1.2)
    assert wishes.pits[0].sets_c == (120.0,)
    assert timedelta(0) <= wishes.serve_utc - before < timedelta(days=1, hours=2)


def test_nothing_is_overwritten_unless_it_is_said_and_then_it_is_kept(typed: Typed, tmp_path: Path) -> None:
    (tmp_path / "supper.toml").write_text("mine")
    told = typed("\n" * 6, *ZONE)
    assert told.code == 2
    assert "supper.toml: it is there already. Name another file, or say --over." in told.err
    assert (tmp_path / "supper.toml").read_text() == "mine"
    assert typed("\n" * 6, *ZONE, "--over").code == 0
    assert (tmp_path / "supper.toml.before").read_text() == "mine"


@pytest.mark.parametrize(
    ("lines", "more", "words"),
    [
        ("\n\n", (), "the answers ended before 'On which kind of pit"),
        ("", ("--cut", "unicorn"), "field '--cut'"),
        ("\n" * 6, ("--zone", "Mars/Base"), "Mars/Base"),
        ("", (*ALL[:8], "--wrap", "silk"), "field '--wrap'"),
        ("", ("-", "--json"), "two answers"),
    ],
)
def test_what_cannot_be_leaves_nothing(
    typed: Typed, tmp_path: Path, lines: str, more: tuple[str, ...], words: str
) -> None:
    told = typed(lines, *(() if "--zone" in more else ZONE), *more)
    assert (told.code, told.out) == (2, "")
    assert words in told.err
    assert not list(tmp_path.iterdir())


def test_what_is_far_from_usual_is_said(typed: Typed) -> None:
    told = typed("", *ALL[:2], "--amount", "3 x 26 lb", *ALL[4:], *WHEN, *ZONE)
    assert told.code == 0
    assert "field 'item 1: weight'): 26 lb" in told.err.replace("': ", "'): ")


@pytest.mark.kernel
@pytest.mark.slow
def test_the_next_command_is_one_that_works(typed: Typed, pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PITRECKON_LEDGER", "none.sqlite")
    told = typed("", *ALL, *WHEN, *ZONE)
    command = told.out.strip().partition("Next: pitreckon ")[2].split()
    planned = pitreckon(*command)
    assert planned.code == 0, planned.err
    assert pitreckon("reckon", command[-1], "--members", "8").code == 0
