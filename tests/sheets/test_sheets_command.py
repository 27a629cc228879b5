"""``pitreckon sheet`` as a cook calls it."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import Call
from icalendar import Calendar
from pypdf import PdfReader

pytestmark = pytest.mark.kernel


def test_without_a_file_it_is_on_the_screen(pitreckon: Call, cook_file: Path) -> None:
    answer = pitreckon("sheet", cook_file, "--members", 16)
    assert answer.code == 0, answer.err
    assert "Run sheet for Saturday 17 October 2026" in answer.out
    assert "wings ×24: put on" in answer.out
    assert "carbon monoxide" in answer.out
    assert "325 °F" in answer.out


@pytest.mark.parametrize(
    ("options", "width"), [((), 612), (("--degrees", "C"), 595), (("--degrees", "C", "--paper", "letter"), 612)]
)
def test_paper_goes_with_the_degrees(options, width: int, pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    answer = pitreckon("sheet", cook_file, "-o", path, "--members", 16, *options)
    assert (answer.code, answer.out) == (0, ""), answer.err
    page = PdfReader(path).pages[0]
    assert int(page.mediabox.width) == width
    assert ("325 °F" in page.extract_text()) == ("C" not in options)


def test_the_calendar_has_the_trips_of_a_day_under_way(
    pitreckon: Call, cook_file: Path, log_file: Path, tmp_path: Path
) -> None:
    path = tmp_path / "day.ics"
    assert pitreckon("sheet", cook_file, "--log", log_file, "-o", path, "--members", 16).code == 0
    names = [str(event["SUMMARY"]) for event in Calendar.from_ical(path.read_bytes()).walk("VEVENT")]
    assert "wings ×24: take off" in names
    assert "wings: serve" in names
    assert not any("put on" in name for name in names)  # it is


def test_twelve_hours(pitreckon: Call, cook_file: Path) -> None:
    assert "4:30 pm" in pitreckon("sheet", cook_file, "--members", 16, "--twelve-hour").out


@pytest.mark.parametrize("name", ["sheet.docx", "sheet", ".pdf"])
def test_another_ending_is_refused_before_any_work(name: str, pitreckon: Call, tmp_path: Path) -> None:
    answer = pitreckon("sheet", tmp_path / "no such cook.toml", "-o", tmp_path / name)
    assert answer.code == 2
    assert ".pdf, .ics, .html, .md, .txt" in answer.err
    assert answer.err.count("\n") == 1
    assert not list(tmp_path.iterdir())
