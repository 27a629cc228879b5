"""The PDF as other programs see it: pypdf reads its text and fonts, PDFium draws it."""

from __future__ import annotations

import builtins
import io
import re
from functools import cache

import pypdfium2
import pytest
from pypdf import PdfReader
from tests.sheets.paper import ZONE, minutes, of_rows, row, supper

from pitreckon.errors import PitreckonError
from pitreckon.extras import MissingExtraError
from pitreckon.sheets.model import Step, row_times
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import STEPS_TOGETHER
from pitreckon.sheets.writers.pdf import FAMILY, FOLDER, PaperError, faces_css, pdf_of

pytestmark = pytest.mark.slow


def plain(text: str) -> str:
    return "".join(text.split())


def long_day():
    """Fourteen items, each with a name as long as a name may be, all on three trips and a serving."""
    names = [f"item {n:02d} " + "long name of a shoulder for the late table "[: 44 + n % 9] for n in range(14)]
    names[3] = "W" * 60
    trips = tuple(
        row(do, minutes(120 * k), lasts_min=25, steps=tuple(Step(n, do, "the colour is set: mahogany") for n in names))
        for k, do in enumerate(("put on", "wrap in foil", "take off"))
    )
    singles = tuple(row(f"look {n}", minutes(400 + 15 * n), lasts_min=8) for n in range(16))
    return of_rows((*trips, *singles), Reader(ZONE, twelve_hour=True))


@cache
def pages(which: str, paper: str) -> PdfReader:
    sheet = supper() if which == "supper" else long_day()
    return PdfReader(io.BytesIO(pdf_of(sheet, paper)))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("which", ["supper", "long"])
def test_all_times_and_tasks_are_in_it_in_order(which: str, paper: str) -> None:
    sheet = supper() if which == "supper" else long_day()
    text = plain("".join(page.extract_text() for page in pages(which, paper).pages))
    at = 0
    assert list(sheet.rows())
    for each in sheet.rows():
        for wanted in (row_times(each, sheet.reader)[0], *(f"{s.what}: {s.do}" for s in each.steps)):
            found = text.find(plain(wanted), at)
            assert found >= 0, wanted
            at = found + 1
        for window in filter(None, [row_times(each, sheet.reader)[1]]):
            assert plain(window) in text


@pytest.mark.parametrize(("paper", "millimetres"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_pages_have_their_size(paper: str, millimetres: tuple[float, float]) -> None:
    """ISO 216 for A4; ANSI/ASME Y14.1 for Letter, 8.5 x 11 in. A point is 1/72 in."""
    assert pages("supper", paper).pages
    for page in pages("supper", paper).pages:
        for length, wanted in zip((page.mediabox.width, page.mediabox.height), millimetres, strict=True):
            assert abs(float(length) / 72.0 * 25.4 - wanted) < 0.1


@pytest.mark.parametrize("which", ["supper", "long"])
def test_every_page_says_which_it_is_and_what_it_is_not(which: str) -> None:
    sheets = pages(which, "a4").pages
    assert len(sheets) >= 2
    for n, page in enumerate(sheets, start=1):
        text = page.extract_text()
        assert f"page {n} of {len(sheets)}" in text
        if which == "supper":
            assert plain("no promise of safety") in plain(text)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_heads_are_repeated_and_no_row_is_split(paper: str) -> None:
    assert len(pages("long", paper).pages) >= 2
    for page in pages("long", paper).pages:
        text = plain(page.extract_text())
        assert plain("what to do, and what to look for first") in text
        assert re.match(r"when\w*whattodo", text) or "anyday" in text[:20]
        # What goes on below does so in a row of its own, with its time: no step is on a page without it.
        for each in list(long_day().rows())[:3]:
            at, window = (plain(part) for part in row_times(each, long_day().reader))
            steps = sum(plain(f"{step.what}: {step.do}") in text for step in each.steps)
            assert steps <= STEPS_TOGETHER * text.replace(window, "").count(at)


def test_the_typeface_is_embedded() -> None:
    """Every font of the file brings its own outlines (PDF 1.7, 9.9: FontFile, FontFile2 or FontFile3)."""
    names = set()
    for page in pages("supper", "a4").pages:
        for font in page["/Resources"]["/Font"].values():
            (inner,) = font.get_object()["/DescendantFonts"]
            described = inner.get_object()["/FontDescriptor"]
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(described)
            names.add(str(described["/FontName"]))
    assert all("Atkinson" in name for name in names), (names, f"scripts/build_web.sh puts {FAMILY} into {FOLDER.name}")


def test_without_the_files_of_the_typeface_there_is_another(tmp_path) -> None:
    assert faces_css(tmp_path) == ""


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_is_black_and_white_and_within_its_margins(paper: str) -> None:
    document = pypdfium2.PdfDocument(pdf_of(long_day(), paper))
    assert len(document) >= 2
    for page in document:
        picture = page.render(scale=0.6).to_pil().convert("RGB")
        red, green, blue = picture.split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()
        dark = red.point(lambda value: 255 if value < 160 else 0).getbbox()
        edge = 9.0 / 25.4 * 72.0 * 0.6  # 9 mm: what any printer can print, common practice
        assert dark is not None
        assert dark[0] >= edge - 1
        assert dark[2] <= picture.width - edge + 1


def test_it_is_tagged_and_has_a_title() -> None:
    """ISO 32000-1, 14.8: a tagged PDF is marked so and says its language."""
    reader = pages("supper", "a4")
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == "harvest table: Run sheet for Saturday 17 October 2026"


@pytest.mark.parametrize(
    ("fault", "said"),
    [(ImportError("no weasyprint"), r'pip install "pitreckon\[paper\]"'), (OSError("no pango"), "libpango-1.0-0")],
)
def test_a_missing_library_is_named(fault: Exception, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name, *rest, **more):
        if name.startswith("weasyprint"):
            raise fault
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises((PaperError, MissingExtraError), match=said) as caught:
        pdf_of(supper())
    assert isinstance(caught.value, PitreckonError)


def test_nothing_but_the_typeface_is_fetched(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    """A face asked for from elsewhere is not fetched, and the sheet is made all the same."""
    elsewhere = tmp_path / "other.woff2"
    elsewhere.write_bytes(b"x")
    asked = (
        f'@font-face {{ font-family: "Other"; src: url("{elsewhere.as_uri()}") }} @import url("http://127.0.0.1:9/x");'
    )
    monkeypatch.setattr("pitreckon.sheets.writers.pdf.faces_css", lambda: asked)
    assert pdf_of(supper()).startswith(b"%PDF-")
