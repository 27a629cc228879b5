"""The sheet of a batch and the labels of its jars."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from pypdf import PdfReader

from pitreckon.errors import InputError
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.sale.batch import Asked, Sale, sale_of
from pitreckon.sheets import Reader
from pitreckon.sheets.documents.batchsheet import batch_sheet
from pitreckon.sheets.writers.labels import LAYOUTS, labels_pdf, layout_of
from pitreckon.sheets.writers.write import ENDINGS

RUB = """
[mix]
name = "orchard <rub>"
use  = "rub"
[[ingredient]]
food = "brown sugar"
amount = "280 g"
[[ingredient]]
food = "mustard powder"
amount = "60 g"
"""
PAGES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def _sale(**more: object) -> Sale:
    asked = Asked(jars=23, fill_kg=0.340194, made=date(2026, 11, 30), maker="Gate Kitchen, 1 Orchard Lane")
    return sale_of(mix_from_text(RUB, "rub.toml"), replace(asked, **more))  # type: ignore[arg-type]


@pytest.mark.parametrize("ending", [".txt", ".md", ".html"])
def test_the_sheet_in_every_form(ending: str) -> None:
    sheet = batch_sheet(_sale(), reader=Reader("UTC"), made_utc=datetime(2026, 11, 30, tzinfo=UTC))
    written = " ".join(ENDINGS[ending](sheet, "a4").decode().split())
    for words in ("NET WT 12 OZ (340 g)", "OR-261130", "common practice, no source", "licensed"):
        assert words in written


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_labels_lie_inside_their_sheet_and_apart(paper: str) -> None:
    wide, high = PAGES[paper]
    for each in LAYOUTS[paper]:  # type: ignore[index]
        assert each.step_x >= each.width
        right = each.left + (each.across - 1) * each.step_x + each.width
        assert right == pytest.approx(wide - each.left, abs=0.6)  # as far from the right edge as from the left
        assert each.top + each.down * each.height == pytest.approx(high - each.top, abs=0.6)
    with pytest.raises(InputError, match="Ask for one of"):
        layout_of(paper, 7)  # type: ignore[arg-type]


@pytest.mark.parametrize(("paper", "market", "count", "pages"), [("letter", "us", 10, 3), ("a4", "eu", 24, 1)])
def test_each_jar_has_its_label(paper: str, market: str, count: int, pages: int) -> None:
    pdf = PdfReader(io.BytesIO(labels_pdf(_sale(market=market), paper, count)))  # type: ignore[arg-type]
    assert len(pdf.pages) == pages
    box = pdf.pages[0].mediabox
    assert float(box.width) == pytest.approx(PAGES[paper][0] * 72.0 / 25.4, abs=0.5)
    words = " ".join("\n".join(page.extract_text() for page in pdf.pages).split())
    assert [number for number in range(1, 24) if f"OR-261130/{number:02d}" not in words] == []
    assert words.count("orchard <rub>") == 23
    assert ("MUSTARD" in words) == (market == "eu")  # emphasised in the list: Regulation (EU) 1169/2011, article 21


def test_what_100_g_have_stands_on_a_label_that_wants_it() -> None:
    """Regulation (EU) 1169/2011, annex XV: the order of the lines (from memory)."""
    pdf = PdfReader(io.BytesIO(labels_pdf(_sale(market="eu", nutrition=True, jars=4), "a4", 8)))
    words = " ".join(pdf.pages[0].extract_text().replace("\u00a0", " ").split())
    places = [words.index(each) for each in ("Energy", "kJ /", "Fat", "saturates", "Carbohydrate", "sugars", "Salt")]
    assert places == sorted(places)


def test_small_letters_are_refused() -> None:
    with pytest.raises(InputError, match="smaller letters are not allowed"):
        labels_pdf(_sale(maker="Gate Kitchen, 1 Orchard Lane, behind the mill, " * 2), "letter", 30)
