"""A log as spreadsheets write it: the same ledger by any separator, in any letters, with local dates, decimal commas.

That a list separator of ``;`` goes with a decimal comma, and what ``sep=`` in a first line means, is as the common
spreadsheet programs of European locales write CSV (from memory).
"""

from __future__ import annotations

import codecs
import csv
import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from conftest import Call
from tests.ledger.test_ledger_log_read import COOK, GOOD, HEAD, KNOWN, cook_from

from pitreckon.errors import InputError
from pitreckon.ledger.log.read import log_from_text, read_log
from pitreckon.text.table import UnsureError

LOG = GOOD.replace("272 F", "133.5 C").replace("2 lb,", "1.25 kg,")
ROWS = list(csv.reader(io.StringIO(LOG)))
PLAIN = log_from_text(LOG, "day.csv", COOK, KNOWN)


def written(rows: list[list[str]], separator: str = ",", ends: str = "\n") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=ends).writerows(rows)
    return out.getvalue()


def commas(rows: list[list[str]]) -> list[list[str]]:
    """Decimal commas in the column of values."""
    return [[cell.replace(".", ",") if n == 5 else cell for n, cell in enumerate(row)] for row in rows]


def dated(rows: list[list[str]], form: str) -> list[list[str]]:
    """The day in another form."""
    return [[row[0].replace("2026-10-10", form), *row[1:]] for row in rows]


@pytest.mark.parametrize(
    "text",
    [
        written(commas(ROWS), ";"),
        written(commas(ROWS), "\t", "\r\n"),
        written(ROWS, "|"),
        written(dated(ROWS, "10.10.2026"), ";"),
        written(dated(ROWS, "10/10/26")),
        written([[row[0].title(), *row[1:]] for row in ROWS]),
        written([[*row, "", ""] for row in ROWS], ";"),
        written([["Helper", *row, "Bob's own"] for row in ROWS])
        .replace("Helper", "", len(ROWS))
        .replace(",time", "Helper,time", 1),
    ],
    ids=[
        "semicolons",
        "tabs",
        "bars",
        "points in dates",
        "slashes",
        "capitals",
        "blank columns",
        "columns of the cook's own",
    ],
)
def test_the_same_ledger(text: str) -> None:
    assert text != LOG
    assert log_from_text(text, "day.csv", COOK, KNOWN) == PLAIN


def test_a_first_line_that_says_the_separator_and_a_column_of_days() -> None:
    """Lines count from the file's first; the day may stand in a column of its own."""
    rows = [["date", *ROWS[0]], *(["10.10.2026", row[0].rpartition(" ")[2], *row[1:]] for row in ROWS[1:])]
    found = log_from_text("sep=;\n" + written(rows, ";"), "day.csv", COOK, KNOWN)
    assert [each.at_utc for each in found.all_readings] == [each.at_utc for each in PLAIN.all_readings]
    assert [each.source_line for each in found.all_readings] == [each.source_line + 1 for each in PLAIN.all_readings]


@pytest.mark.parametrize("letters", ["utf-16", "utf-16-be", "utf-8-sig", "cp1252"])
def test_the_letters_of_a_file(tmp_path: Path, letters: str) -> None:
    text = LOG.replace("thick end", "dick, größtes Stück")
    mark = codecs.BOM_UTF16_BE if letters == "utf-16-be" else b""
    path = tmp_path / "day.csv"
    path.write_bytes(mark + text.encode(letters))
    assert read_log(path, COOK, KNOWN) == log_from_text(text, "day.csv", COOK, KNOWN)


def test_the_order_of_day_and_month_is_found_or_asked_for() -> None:
    cook = cook_from(datetime(2026, 10, 9, 18, tzinfo=UTC))
    for day, first in (("09/10/2026", "the day"), ("10/09/2026", "the month")):
        found = log_from_text(written(dated(ROWS, day)), "day.csv", cook, KNOWN)  # near the cook one way only
        assert found.all_readings[0].at_utc.day == 9, first
    text = written(dated(ROWS, "03/04/2026"))
    with pytest.raises(UnsureError) as caught:
        log_from_text(text, "day.csv", cook, KNOWN)
    assert (caught.value.place.file, caught.value.place.field, caught.value.option) == ("day.csv", "time", "dates")
    put_on = HEAD + "03/04/2026 13:05,reading,big box,,pit air,272 F,\n"
    assert log_from_text(put_on, "day.csv", cook, KNOWN, dates="day first").all_readings[0].at_utc.month == 4
    assert log_from_text(put_on, "day.csv", cook, KNOWN, dates="month first").all_readings[0].at_utc.month == 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            written([*commas(ROWS), ["17:40", "look", "racks", "", "weight", "1.2 kg", ""]], ";"),
            "decimal comma and some a point",
        ),
        (written([*ROWS, ["17:40", "look", "racks", "", "weight", "1,25 kg", ""]]), "comma in a number"),
        (written([[*ROWS[0][:6], "noet"], *ROWS[1:]]), "'noet' is no column"),
        (written(dated(ROWS, "32.10.2026"), ";"), "no day in any order"),
    ],
    ids=["both", "commas between cells", "a slip in a header", "no day"],
)
def test_what_is_not_sure_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        log_from_text(text, "day.csv", COOK, KNOWN)
    assert caught.value.place.file == "day.csv"


@pytest.mark.kernel
def test_on_the_command_line(pitreckon: Call, cook_file: Path, log_file: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    lines = [row.split(",") for row in log_file.read_text().splitlines()]
    rows = [
        [row[0].replace("2026-10-17", "17.10.2026"), *row[1:], "sunny" if n else "weather"]
        for n, row in enumerate(lines)
    ]
    sheet.write_bytes(written(rows, ";", "\r\n").encode("utf-16"))
    plain = pitreckon("reckon", cook_file, "--log", log_file, "--members", "8")
    told = pitreckon("reckon", cook_file, "--log", sheet, "--members", "8")
    assert (told.code, told.out) == (0, plain.out)
    assert told.err == f"warning: {sheet}: the column 'weather' of your own: not read.\n"
    sheet.write_text(written([[row[0].replace("17.10.2026", "03/04/2026"), *row[1:]] for row in rows]))
    unsure = pitreckon("reckon", cook_file, "--log", sheet)
    assert (unsure.code, unsure.out) == (2, "")
    assert "with --dates" in unsure.err
    said = pitreckon("reckon", cook_file, "--log", sheet, "--dates", "day")
    assert said.code == 2
    assert "the log begins at 2026-04-03 16:30, and the cook is planned for 2026-10-17 16:30" in said.err
