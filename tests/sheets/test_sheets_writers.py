"""Every writer shows every row of every timetable, in order, and nothing that was typed becomes mark-up."""

from __future__ import annotations

import os
from functools import partial
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given, settings
from markdown_it import MarkdownIt
from tests.sheets.paper import READERS, ZONE, minutes, of_rows, row, sheets, supper
from tests.sparing import examples

from pitreckon.errors import InputError
from pitreckon.sheets.model import Checklist, Line, Sheet, Step, Text, row_times
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import fragment_of, page_of
from pitreckon.sheets.writers.markdown import markdown_of
from pitreckon.sheets.writers.markdown import plain as escaped
from pitreckon.sheets.writers.text import text_of
from pitreckon.sheets.writers.write import ENDINGS, write_sheet, write_whole


def plain(text: str) -> str:
    return "".join(text.split())


def expected(sheet: Sheet) -> list[str]:
    """What has to be found, one after the other: of each row its time, and of each step all its words."""
    found = []
    for each in sheet.rows():
        found.append(row_times(each, sheet.reader)[0])
        for step in each.steps:
            found += [step.what, step.do, step.look_for, step.sure]
    return [plain(text) for text in found]


def in_order(wanted: list[str], text: str) -> bool:
    """Whether all are in the text, each after the one before."""
    at = 0
    for part in wanted:
        at = text.find(part, at)
        if at < 0:
            return False
        at += len(part)
    return True


class Reading(HTMLParser):
    """The text of a page, and its elements."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return plain("".join(self.words))


TAGS = {"article", "header", "h1", "h2", "h3", "p", "div", "dl", "dt", "dd", "b", "table", "thead", "tbody", "tr", "th",
        "td", "span", "small", "ul", "li", "section"}  # fmt: skip


@given(sheets())
def test_a_terminal_shows_every_row(sheet: Sheet) -> None:
    assert in_order(expected(sheet), plain(text_of(sheet, 400)))


@given(sheets())
def test_a_page_shows_every_row_and_no_mark_up_of_others(sheet: Sheet) -> None:
    page = Reading(fragment_of(sheet))
    assert in_order(expected(sheet), page.text)
    assert page.tags <= TAGS
    assert page.attributes <= {"class", "scope", "colspan", "role", "aria-label"}


@given(sheets())
def test_markdown_shows_every_row(sheet: Sheet) -> None:
    """As markdown-it-py, a parser of CommonMark 0.31 and pipe tables, reads it."""
    page = Reading(MarkdownIt("commonmark").enable("table").render(markdown_of(sheet)))
    assert in_order(expected(sheet), page.text)
    assert page.tags <= TAGS | {"strong", "em", "br"}


def test_a_narrow_terminal_loses_nothing() -> None:
    shown = text_of(supper(), 40)
    assert max(map(len, shown.splitlines())) <= 40
    for each in supper().rows():
        assert row_times(each, supper().reader)[0] in shown
        assert all(word in shown for step in each.steps for word in step.do.replace(",", "").split())


@pytest.mark.parametrize("write", [partial(text_of, width=400), markdown_of, page_of], ids=["text", "markdown", "html"])
def test_all_blocks_of_the_supper_are_there(write) -> None:
    sheet = supper()
    shown = write(sheet)
    shown = Reading(shown).text if write is page_of else plain(shown.replace("\\", ""))
    wanted = (
        *(
            "harvest table",
            "Run sheet for Saturday",
            "thaw in the refrigerator",
            "6 h at 1.5 lb an hour",
            "upper grate",
        ),
        *("carbon monoxide", "a note on thighs", "145 °F", "Pellet cooker", "14:05 (13:45–14:25)", sheet.foot),
    )
    assert [said for said in wanted if plain(said) not in shown] == []


def test_what_others_wrote_stays_text_on_a_page() -> None:
    """The usual ways of getting a script into a page: from memory, after OWASP's list."""
    evil = '<script>alert(1)</script><img src=x onerror=alert(1)>"\' onmouseover="x" </style>'
    rows = (row("x", minutes(0), steps=(Step(evil, evil, evil, evil, evil),), where=evil),)
    sheet = Sheet(evil, evil, (*of_rows(rows, Reader(ZONE)).blocks, Text(evil), Checklist((Line(evil, evil, evil),))),
                  Reader(ZONE), "n", minutes(0), evil)  # fmt: skip
    page = page_of(sheet)
    assert "<script" not in page
    assert "<img" not in page
    read = Reading(page)
    assert read.tags <= TAGS | {"html", "head", "meta", "title", "style", "body"}
    assert "onmouseover" not in read.attributes
    assert plain(evil) in read.text
    assert page.count("</style>") == 1


def test_a_page_asks_for_nothing() -> None:
    page = page_of(supper())
    assert "http" not in page
    assert "url(" not in page


def test_no_mark_up_is_read_on_a_terminal() -> None:
    rows = (row("x", minutes(0), steps=(Step("[bold]racks[/bold]", "[link=x]do[/]"),)),)
    assert "[bold]racks[/bold]: [link=x]do[/]" in text_of(of_rows(rows, Reader(ZONE)))


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("a|b", r"a\|b"),
        ("1. ribs", r"1\. ribs"),
        ("- ribs", r"\- ribs"),
        ("<b>", r"\<b\>"),
        ("two\nlines", "two lines"),
        ("[x](y)", r"\[x\](y)"),
        ("13:50–14:20", "13:50–14:20"),
    ],
)
def test_markdown_is_escaped(text: str, kept: str) -> None:
    """Backslash escapes of CommonMark 0.31, section 2.4."""
    assert escaped(text) == kept


@given(READERS)
@settings(max_examples=examples(20))
def test_the_hour_that_autumn_repeats_is_told_apart(reader: Reader) -> None:
    chicago = Reader(ZONE, reader.degrees, reader.masses, reader.twelve_hour)
    from datetime import UTC, datetime

    first, second = (datetime(2026, 11, 1, hour, 30, tzinfo=UTC) for hour in (6, 7))
    shown = fragment_of(of_rows((row("a", first), row("b", second)), chicago))
    assert "CDT" in shown
    assert "CST" in shown


@pytest.mark.parametrize("ending", [pytest.param(e, marks=pytest.mark.slow) if e == ".pdf" else e for e in ENDINGS])
def test_every_ending_is_written(ending: str, tmp_path) -> None:
    path = tmp_path / f"sheet{ending}"
    path.write_text("old")
    write_sheet(supper(), path)
    content = path.read_bytes()
    starts = {".pdf": b"%PDF-", ".ics": b"BEGIN:VCALENDAR\r\n", ".html": b"<!doctype html>", ".md": b"# harvest table",
              ".txt": b"harvest table"}  # fmt: skip
    assert content.startswith(starts[ending])
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_fault_leaves_the_old_file(tmp_path, monkeypatch) -> None:
    path = tmp_path / "sheet.txt"
    path.write_text("old")
    monkeypatch.setattr(
        "pathlib.Path.replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device"))
    )
    with pytest.raises(InputError, match="No space left"):
        write_sheet(supper(), path)
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(("name", "said"), [("x.docx", r"'\.docx' is no kind"), ("x", "has no ending")])
def test_other_endings_are_refused(name: str, said: str, tmp_path) -> None:
    with pytest.raises(InputError, match=said) as caught:
        write_sheet(supper(), tmp_path / name)
    for ending in ENDINGS:
        assert ending in str(caught.value)


def test_a_folder_that_is_not_there(tmp_path) -> None:
    with pytest.raises(InputError, match="cannot be written"):
        write_sheet(supper(), tmp_path / "none" / "x.txt")
    (tmp_path / "x.md").mkdir()
    with pytest.raises(InputError, match="it is a folder"):
        write_sheet(supper(), tmp_path / "x.md")


def test_a_link_leads_on_and_a_pipe_stays_a_pipe(tmp_path: Path) -> None:
    """As a program run as root once made a plain file of the device that swallows everything."""
    write_whole(b"first", tmp_path / "supper.txt")
    (tmp_path / "newest").symlink_to("supper.txt")
    write_whole(b"second", tmp_path / "newest")
    assert (tmp_path / "newest").is_symlink()
    assert (tmp_path / "supper.txt").read_bytes() == b"second"
    os.mkfifo(tmp_path / "pipe")
    reader = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_whole(b"third", tmp_path / "pipe")
        assert (tmp_path / "pipe").is_fifo()
        assert os.read(reader, 99) == b"third"
    finally:
        os.close(reader)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["newest", "pipe", "supper.txt"]
