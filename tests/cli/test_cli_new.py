"""``pitreckon new``: six questions through standard input, each asked again on a fault, and a file to follow."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from conftest import Answer, Call
from tests.cli.test_cli_schema import held

from pitreckon.cli.firstcook import Timed, begun, warnings_of
from pitreckon.cli.new import QUESTIONS, ask, started
from pitreckon.cook.read import cook_from_text
from pitreckon.plan.read import wishes_from_text

Typed = Callable[..., Answer]
ZONE = ("--zone", "America/Chicago")
ALL = ("--cut", "chicken-wing", "--amount", "20 x 3 oz", "--pit", "kettle", "--set", "325 F", "--wrap", "none")
WHEN = ("--serve", "2040-10-17 18:00")
ON = ("--put-on", "2040-10-17 12:00")
"""Said, so that no meat is cooked to find it."""


@pytest.fixture
def typed(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Call it with lines typed at its questions, in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def call(lines: str, *arguments: object) -> Answer:
        monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
        return pitreckon("new", *arguments)

    return call


@pytest.mark.kernel
def test_the_first_three_commands_of_the_readme_go_on_from_each_other(typed: Typed, pitreckon: Call) -> None:
    """Empty lines take what is usual; the file can be reckoned at once, with nothing but the core."""
    readme = (Path(__file__).parents[2] / "README.md").read_text().partition("```sh\n")[2].partition("```")[0]
    install, new, reckon = (line.partition("#")[0].split() for line in readme.splitlines())
    assert (install, new) == (["pip", "install", "pitreckon"], ["pitreckon", "new"])
    told = typed("\n" * len(QUESTIONS), *ZONE)
    assert told.code == 0, told.err
    assert told.err.count("]: ") == len(QUESTIONS) == 6
    assert "warning" not in told.err, "there is room on the pit that is offered, and time enough"
    assert told.out.endswith(f"Next: {' '.join(reckon)}\n")
    cook = cook_from_text(Path("supper.toml").read_text(), "supper.toml")
    (item,), (pit,) = cook.items, cook.pits
    assert (item.cut, item.pieces, pit.kind, item.stages[-1].kind) == ("st-louis-ribs", 3, "pellet-cooker", "hold")
    assert item.mass_kg == pytest.approx(1.22, abs=0.03)
    assert pit.set_c == pytest.approx(121.1, abs=0.1)
    assert cook.serve_utc is not None
    assert cook.serve_utc.astimezone(cook.zone_info).hour == 18
    assert timedelta(hours=4) < cook.serve_utc - item.put_on_utc < timedelta(hours=8)
    outlook = held("reckon", pitreckon(*reckon[1:], "--members", "64", "--json").out)
    assert outlook["items"][0]["ready_by"] > 0.85
    assert outlook["items"][0]["at_best"] > 0.85


def test_a_fault_is_said_with_its_reason_and_asked_again(typed: Typed) -> None:
    lines = ["brisckt", "brisket whole", "1 x heavy", "1 x 13 lb", "grill", "offset-log-burner", "lukewarm", "600 F"]
    lines += ["250", "tinfoil", "paper", "yesterday", "2001-01-01 18:00", "2040-10-17 18:00"]
    told = typed("\n".join(lines) + "\n", *ZONE, *ON)
    assert told.code == 0, told.err
    faults = [line for line in told.err.splitlines() if line.startswith("  ") or "]:   " in line]
    assert len(faults) == 8
    for words in ("'brisckt'", "'heavy'", "'grill'", "'lukewarm'", "600 F", "'tinfoil'", "'yesterday'", "is over"):
        assert words in told.err, words
    wishes = wishes_from_text(Path("supper.toml").read_text(), "supper.toml")
    (item,) = wishes.items
    assert (item.cut, item.pieces, item.wrapping, item.wrap) == ("brisket-whole", 1, "usual", None)
    assert wishes.pits[0].sets_c[0] == pytest.approx(121.1, abs=0.1)


@pytest.mark.parametrize(
    ("said", "offered"),
    [("ribs", "st-louis-ribs"), ("ribz", "beef-plate-ribs"), ("pork shoulder", "boston-butt"), ("brisckt", "brisket")],
)
def test_a_word_of_a_name_is_enough_to_be_offered_it(typed: Typed, said: str, offered: str) -> None:
    """Whoever wrote "ribz" was offered pork-chop alone."""
    told = typed("", "--cut", said, *ALL[2:], *WHEN, *ON, *ZONE)
    assert f"'{said}' is no cut that we know. Write " in told.err
    assert offered in told.err.partition(";")[0]
    assert told.err.partition(";")[0].count(" or ") <= 5


def test_what_an_option_says_is_not_asked(typed: Typed) -> None:
    told = typed("", "wings.toml", *ALL, *WHEN, *ON, *ZONE, "--json")
    assert (told.code, told.err) == (0, "")
    answer = held("new", told.out)
    assert answer["written"] == "wings.toml"
    assert answer["next"] == "pitreckon reckon wings.toml"
    assert (answer["put_on"], answer["chance"]) == ("2040-10-17T17:00:00+00:00", None)
    wishes = wishes_from_text(Path("wings.toml").read_text(), "wings.toml")
    assert wishes.serve_utc.isoformat() == "2040-10-17T23:00:00+00:00"
    told = typed("8 people\n\n", "-", *ALL[:2], *ALL[4:8], *WHEN, *ON, *ZONE)
    assert told.err.count("]: ") == 2  # how many, and the wrap
    assert "\n# For 8 people.\n" in told.out
    (item,) = cook_from_text(told.out, "the pipe").items
    assert 20 <= item.pieces <= 80
    assert item.put_on_utc.isoformat() == answer["put_on"]


def test_a_clock_time_is_the_next_and_a_bare_number_is_in_the_units_asked_for(typed: Typed) -> None:
    from datetime import UTC, datetime

    before = datetime.now(UTC).replace(second=0, microsecond=0)
    told = typed("\n4 x 1.2\n\n120\n\n18:00\n", *ZONE, "--degrees", "C", "--put-on", "2020-01-01 00:00", "-")
    assert told.code == 0, told.err
    assert "[3 x 1.22 kg]" in told.err
    wishes = wishes_from_text(told.out, "the pipe")
    assert (wishes.items[0].pieces, wishes.items[0].mass_kg) == (4, 1.2)
    assert wishes.pits[0].sets_c == (120.0,)
    assert 'air = "74 C"' in told.out
    assert not re.search(r"\d F", told.out)
    assert "which is over. Serve it at 20" in told.err
    assert timedelta(0) <= wishes.serve_utc - before < timedelta(days=1, hours=2)


def test_nothing_is_overwritten_unless_it_is_said_and_then_it_is_kept(typed: Typed, tmp_path: Path) -> None:
    (tmp_path / "supper.toml").write_text("mine")
    on = ("--put-on", "2020-01-01 00:00")
    told = typed("\n" * 6, *ZONE, *on)
    assert told.code == 2
    assert "supper.toml: it is there already. Name another file, or say --over." in told.err
    assert (tmp_path / "supper.toml").read_text() == "mine"
    assert typed("\n" * 6, *ZONE, *on, "--over").code == 0
    assert (tmp_path / "supper.toml.before").read_text() == "mine"
    assert typed("\n" * 6, *ZONE, *on, "--over").code == 0
    assert (tmp_path / "supper.toml.before").read_text() == "mine", "what gave way first is not lost by the second"
    assert "st-louis-ribs" in (tmp_path / "supper.toml.before-2").read_text()


@pytest.mark.parametrize(
    ("lines", "more", "words"),
    [
        ("\n\n", (), "the answers ended before 'On which kind of pit"),
        ("", ("--cut", "unicorn"), "field '--cut'"),
        ("\n" * 6, ("--zone", "Mars/Base"), "Mars/Base"),
        ("", (*ALL[:8], "--wrap", "silk"), "field '--wrap'"),
        ("", ("-", "--json"), "two answers"),
        ("", ("nowhere/supper.toml",), "there is no folder nowhere. Make it first"),
        ("", (".",), "it is a folder"),
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
    told = typed("", *ALL[:2], "--amount", "3 x 26 lb", *ALL[4:], *WHEN, *ON, *ZONE)
    assert told.code == 0
    assert "field 'item 1: weight'): 26 lb" in told.err.replace("': ", "'): ")
    assert "1 finds room" in told.err


@pytest.mark.parametrize(
    ("wrap", "words"), [("none", "A wrap makes its time surer."), ("foil", "A meal that can wait")]
)
def test_a_time_that_cannot_be_sure_is_said_with_what_helps(wrap: str, words: str) -> None:
    answers = started("F", ZoneInfo("America/Chicago"))
    said = {"cut": "boston-butt", "amount": "1 x 8 lb", "pit": "kettle", "set": "250 F", "serve": "2040-10-17 18:00"}
    ask(answers, said | {"wrap": wrap})
    cook = begun(answers)
    at = datetime(2040, 10, 17, 10, tzinfo=UTC)
    assert warnings_of(cook, Timed("", at, 0.85), "supper.toml") == []
    (told,) = warnings_of(cook, Timed("", at, 0.67), "supper.toml")
    assert "ready and still good at 2040-10-17 18:00 with 67 % at the most. " + words in told


@pytest.mark.parametrize(
    ("put_on", "words"),
    [("noon-ish", "field '--put-on'"), ("2040-10-17 19:00", "field '--put-on': it goes on after it is served")],
)
def test_a_put_on_that_cannot_be(typed: Typed, put_on: str, words: str) -> None:
    told = typed("", *ALL, *WHEN, *ZONE, "--put-on", put_on)
    assert (told.code, told.out) == (2, "")
    assert words in told.err


@pytest.mark.kernel
@pytest.mark.slow
def test_the_planner_takes_it_from_there(typed: Typed, pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PITRECKON_LEDGER", "none.sqlite")
    assert typed("", *ALL, *WHEN, *ZONE).code == 0
    planned = pitreckon("plan", "supper.toml", "-o", "planned.toml")
    assert planned.code == 0, planned.err
    assert pitreckon("reckon", "planned.toml", "--members", "8").code == 0
