"""A logger's file into the ledger of a cook, from the command line."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from conftest import COOK, LOG, Answer, Call

from pitreckon.ledger.store import Store

ROWS = [f"2026-10-17 16:{30 + n},{300 + n},{60 + n}" for n in range(8)]
TABLE = "Time,Pit,Probe 3\n" + "\n".join(ROWS) + "\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "logger.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "ledger.sqlite"
    monkeypatch.setenv("PITRECKON_LEDGER", str(path))
    return path


def kept(place: Path, cook: str = "wings") -> int:
    with Store.open(place) as store:
        return len(store.ledger(cook))


def test_take_in_and_again(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    first = pitreckon("take-in", table, "--plan", cook_file)
    assert (first.code, first.err) == (0, "")
    assert "pit air of barn kettle in F" in first.out
    assert "probe of wings 3 in F" in first.out
    assert "16 readings, 2026-10-17 16:30 to 2026-10-17 16:37; 0 of them are kept and not used." in first.out
    assert "16 new ones recorded in cook 'wings'" in first.out
    assert "0 new ones" in pitreckon("take-in", table).out  # the only cook there is, and nothing doubled
    assert kept(place) == 16


def test_a_dry_run_records_nothing(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    answer = pitreckon("take-in", table, "--plan", cook_file, "--dry-run")
    assert answer.code == 0
    assert "Nothing was recorded." in answer.out
    assert kept(place) == 0


def test_what_cannot_be_true_is_shown_and_kept(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    table.write_text(TABLE.replace(",303,", ",900,").replace(",64", ",150"), encoding="utf-8")
    out = pitreckon("take-in", table, "--plan", cook_file).out
    assert "2 of them are kept and not used" in out
    assert "line 5, pit air of barn kettle: 900 °F is outside" in out
    assert "line 6, probe of wings: it jumps from 63 °F to 150 °F" in out
    with Store.open(place) as store:
        assert len(store.ledger("wings").rejected) == 2


def unsure(pitreckon: Call, table: Path, cook_file: Path, *more: str) -> Answer:
    table.write_text("Time,Thing\n2026-10-17 16:30,38\n", encoding="utf-8")
    return pitreckon("take-in", table, "--plan", cook_file, *more)


def test_unsure_off_a_terminal_names_the_option(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    answer = unsure(pitreckon, table, cook_file)
    assert answer.code == 2
    assert "--column 'Thing=...'" in answer.err
    answer = unsure(pitreckon, table, cook_file, "--column", "Thing=wings 2")
    assert answer.code == 2
    assert "with --unit" in answer.err
    answer = unsure(pitreckon, table, cook_file, "--column", "Thing=wings 2", "--unit", "F")
    assert (answer.code, answer.err) == (0, "")
    assert kept(place) == 1


def test_unsure_on_a_terminal_asks(
    pitreckon: Call, table: Path, cook_file: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed = io.StringIO("wings 2\nkelvin\nf\n")
    monkeypatch.setattr(typed, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys, "stdin", typed)
    answer = unsure(pitreckon, table, cook_file)
    assert answer.code == 0
    assert "what 'Thing' measures" in answer.err
    assert answer.err.count("in F or in C") == 2  # kelvin is not one of the two
    assert "probe of wings 2 in F" in answer.out
    assert kept(place) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--cook", "none"), "no cook"),
        (("--column", "Pit"), "--column"),
        (("--start", "noon"), "--start"),
        ((), "no cook yet"),
    ],
    ids=str,
)
def test_a_slip_is_one_line(
    pitreckon: Call, table: Path, cook_file: Path, place: Path, arguments: tuple[str, ...], words: str
) -> None:
    plan = ("--plan", str(cook_file)) if "--column" in arguments or "--start" in arguments else ()
    answer = pitreckon("take-in", table, *plan, *arguments)
    assert (answer.code, answer.out) == (2, "")
    assert words in answer.err
    assert answer.err.count("\n") == 1


def test_a_log_by_hand_is_sent_to_where_it_is_read(
    pitreckon: Call, tmp_path: Path, cook_file: Path, place: Path
) -> None:
    """It was asked which meat its column 'value' measures, and with an answer all pit air would have been meat."""
    for sign in ",;\t":
        (tmp_path / "day.csv").write_text(LOG.replace(",", sign), encoding="utf-8")
        told = pitreckon("take-in", tmp_path / "day.csv", "--plan", cook_file)
        assert told.code == 2
        assert (
            f"Give it to the commands that reckon: pitreckon reckon COOK.toml --log {tmp_path / 'day.csv'}." in told.err
        )


def test_a_file_without_readings_is_not_passed_over_in_silence(
    pitreckon: Call, tmp_path: Path, cook_file: Path, place: Path
) -> None:
    (tmp_path / "notes.csv").write_text("nothing yet\n", encoding="utf-8")
    told = pitreckon("watch", tmp_path / "notes.csv", "--plan", cook_file, "--once")
    assert told.err == f"warning: {tmp_path / 'notes.csv'}: no row with a time and a reading is in it yet.\n"


def test_which_of_several_cooks(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    second = cook_file.with_name("more-wings.toml")
    second.write_text(COOK.replace("harvest table", "more wings"), encoding="utf-8")
    pitreckon("take-in", table, "--plan", cook_file)
    pitreckon("take-in", table, "--plan", second)
    answer = pitreckon("take-in", table)
    assert answer.code == 2
    assert "2 cooks" in answer.err
    assert "more-wings" in answer.err
    assert "0 new ones recorded in cook 'more-wings'" in pitreckon("take-in", table, "--cook", "more-wings").out


def test_a_file_that_is_not_there(pitreckon: Call, tmp_path: Path, cook_file: Path, place: Path) -> None:
    answer = pitreckon("take-in", tmp_path / "none.csv", "--plan", cook_file)
    assert answer.code == 2
    assert "no such file" in answer.err


def test_watch_to_the_present_end(pitreckon: Call, table: Path, cook_file: Path, place: Path) -> None:
    table.write_text(TABLE + "half a li", encoding="utf-8")
    answer = pitreckon("watch", table, "--plan", cook_file, "--once")
    assert (answer.code, answer.err) == (0, "")
    assert "16 new, up to 2026-10-17 16:37" in answer.out
    with table.open("a", encoding="utf-8") as out:
        out.write("ne\n2026-10-17 16:38,308,68\n")
    again = pitreckon("watch", table, "--once")
    assert "2 new, up to 2026-10-17 16:38" in again.out
    assert "line 10, field 'Time'" in again.err
    assert "2 new, up to" not in pitreckon("watch", table, "--once").out
    assert kept(place) == 18


def test_watch_until_it_is_interrupted(
    pitreckon: Call, table: Path, cook_file: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pauses between looks stand for a logger that writes on, then for the cook's interrupt."""
    from pitreckon.cli import takein

    lines = iter(["2026-10-17 16:38,308,68\n", "2026-10-17 16:39,3", "09,69\n"])

    def pause(_: float) -> None:
        line = next(lines, None)
        if line is None:
            raise KeyboardInterrupt
        with table.open("a", encoding="utf-8") as out:
            out.write(line)

    monkeypatch.setattr(takein.time, "sleep", pause)
    answer = pitreckon("watch", table, "--plan", cook_file)
    assert answer.code == 0
    assert answer.err == "No longer watching.\n"
    assert [line.split(",")[0] for line in answer.out.splitlines()[3:]] == ["16 new", "2 new", "2 new"]
    assert kept(place) == 20
