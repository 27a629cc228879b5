"""A growing file: half lines, rotation, cutting short, marks; and the same ids however it is read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.day import SMALL, after

from pitreckon.errors import InputError
from pitreckon.intake.table.columns import Answers
from pitreckon.intake.table.read import TableFollower
from pitreckon.intake.table.tail import LONGEST_LINE, Follower
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry
from pitreckon.text.table import UnsureError

HEAD = "Time,Pit (F),Probe 1 (F)\n"
ROWS = [f"2026-10-10 13:{n:02},{240 + n},{40 + n}\n" for n in range(12)]


def add(path: Path, text: str | bytes) -> None:
    with path.open("ab") as out:
        out.write(text if isinstance(text, bytes) else text.encode())


def texts(follower: Follower) -> list[str]:
    return [line.text for line in follower.poll()]


def values(entries: list[Entry]) -> list[int]:
    """The pit's values in °F."""
    return [
        round(1.8 * entry.event.value_c + 32.0)
        for entry in entries
        if isinstance(entry.event, Reading) and entry.event.channel == "pit air"
    ]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.csv"


@pytest.fixture
def table(path: Path) -> TableFollower:
    return TableFollower(path, SMALL, "logger")


def take(table: TableFollower) -> list[int]:
    entries, faults = table.poll()
    assert not faults
    return values(entries)


def test_a_file_that_is_not_there_yet(path: Path) -> None:
    follower = Follower(path)
    assert texts(follower) == []
    add(path, "one\ntwo\n")
    assert texts(follower) == ["one", "two"]
    assert texts(follower) == []
    follower.close()


def test_a_half_line_is_held_back(path: Path) -> None:
    follower = Follower(path)
    add(path, "on")
    assert texts(follower) == []
    add(path, "e\nt")
    assert texts(follower) == ["one"]
    add(path, "wo\r")
    assert texts(follower) == []
    add(path, "\n")
    assert texts(follower) == ["two"]
    follower.close()


@given(st.lists(st.text(alphabet="abé,°", max_size=6), max_size=8), st.lists(st.integers(1, 5), max_size=30))
def test_however_it_is_cut_the_lines_are_the_same(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str], cuts: list[int]
) -> None:
    path = tmp_path_factory.mktemp("cut") / "log.csv"
    whole = b"\xef\xbb\xbf" + "".join(f"{line}\n" for line in lines).encode()
    follower, got = Follower(path), []
    for cut in [*cuts, len(whole)]:
        add(path, whole[:cut])
        whole = whole[cut:]
        got += texts(follower)
    follower.close()
    assert got == lines


def test_rotation_loses_no_line(path: Path) -> None:
    follower = Follower(path)
    add(path, "one\n")
    assert texts(follower) == ["one"]
    add(path, "two\n")
    path.rename(path.with_suffix(".1"))
    add(path.with_suffix(".1"), "three\n")  # the logger still has it open
    assert texts(follower) == ["two", "three"]
    assert texts(follower) == []
    add(path, "four\nfi")
    lines = follower.poll()
    assert [(line.text, line.number, line.anew) for line in lines] == [("four", 1, True)]
    add(path, "ve\n")
    assert texts(follower) == ["five"]
    follower.close()


def test_rotation_between_two_looks(path: Path) -> None:
    follower = Follower(path)
    add(path, "one\n")
    assert texts(follower) == ["one"]
    add(path, "two\nhalf")
    path.rename(path.with_suffix(".1"))
    add(path, "three\n")
    assert texts(follower) == ["two", "three"]
    follower.close()


@pytest.mark.parametrize("again", ["x\n", "another one that is longer than the first\nand more\n"])
def test_cut_short_and_begun_anew(path: Path, again: str) -> None:
    follower = Follower(path)
    add(path, "one\ntwo\n")
    assert texts(follower) == ["one", "two"]
    path.write_text(again)
    assert texts(follower) == again.splitlines()
    follower.close()


def test_what_cannot_be_followed(path: Path, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(InputError, match="not a file"):
        Follower(tmp_path / "folder").poll()
    add(path, b"x" * (LONGEST_LINE + 2))
    with pytest.raises(InputError, match="does not end"):
        Follower(path).poll()
    path.write_bytes("Time\n".encode("utf-16"))
    with pytest.raises(InputError, match=r"log\.csv, line 1: the file is UTF-16"):
        Follower(path).poll()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(path: Path) -> None:
    add(path, "one\n")
    path.chmod(0)
    with pytest.raises(InputError, match="cannot be read"):
        Follower(path).poll()


# --- a table


def test_rows_as_they_come(path: Path, table: TableFollower) -> None:
    assert take(table) == []
    add(path, "\ufeffLogger 7\n")
    assert take(table) == []
    add(path, HEAD)
    assert take(table) == []
    assert table.columns is None
    add(path, ROWS[0] + ROWS[1][:12])
    assert take(table) == [240]
    add(path, ROWS[1][12:])
    assert take(table) == [241]
    assert [words for _, words in table.columns.words] == [  # type: ignore[attr-defined]
        "time: moment, year first", "pit air of big box in F", "probe of racks 1 in F"
    ]  # fmt: skip
    table.close()


def test_read_again_from_the_beginning_it_gives_the_same_ids(path: Path) -> None:
    one, two = TableFollower(path, SMALL, "logger"), TableFollower(path, SMALL, "logger")
    add(path, HEAD + "".join(ROWS[:6]))
    first = one.poll()[0]
    add(path, "".join(ROWS[6:]))
    first += one.poll()[0]
    assert [e.id for e in two.poll()[0]] == [e.id for e in first]
    assert len({e.id for e in first}) == 24
    one.close()
    two.close()


@pytest.mark.parametrize("header_again", [True, False])
def test_over_rotation(path: Path, table: TableFollower, header_again: bool) -> None:
    add(path, HEAD + "".join(ROWS[:3]))
    assert take(table) == [240, 241, 242]
    path.rename(path.with_suffix(".1"))
    add(path, (HEAD if header_again else "") + "".join(ROWS[3:5]))
    assert take(table) == [243, 244]
    table.close()


def test_another_header_is_looked_at_anew(path: Path, table: TableFollower) -> None:
    add(path, HEAD + "".join(ROWS[:3]))
    assert take(table) == [240, 241, 242]
    path.unlink()
    add(path, "Time,Probe 1 (F),Pit (F)\n2026-10-10 14:00,60,250\n")
    assert take(table) == [250]
    table.close()


def test_a_row_that_cannot_be_read_is_told_and_passed_over(path: Path, table: TableFollower) -> None:
    add(path, HEAD + ROWS[0] + "2026-10-10 13:01,~~,41\n" + ROWS[2])
    entries, (fault,) = table.poll()
    assert values(entries) == [240, 242]
    assert (fault.place.file, fault.place.line, fault.place.field) == (str(path), 3, "Pit (F)")
    table.close()


def test_an_answer_is_waited_for_and_nothing_is_lost(path: Path, table: TableFollower) -> None:
    add(path, HEAD.replace(" (F)", "") + "2026-10-10 13:00,38,38\n")
    with pytest.raises(UnsureError):
        table.poll()
    add(path, "2026-10-10 13:05,40,39\n")
    table.answers = Answers(unit="F")
    entries, _ = table.poll()
    assert values(entries) == [38, 40]
    assert entries[-1].event.at_utc == after(300)  # type: ignore[union-attr]
    table.close()


def test_text_that_never_becomes_a_table(path: Path, table: TableFollower) -> None:
    add(path, "dear diary\n" * 150)
    assert table.poll() == ([], [])
    add(path, "dear diary\n" * 100)
    with pytest.raises(InputError, match="no row has a time"):
        table.poll()
    table.close()
