"""The run sheet on the page and as files: who gets it, and what is in it."""

from __future__ import annotations

import asyncio
import io
from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
import pytest_asyncio
from conftest import COOK
from icalendar import Calendar
from tests.web.house import NOW, Town, settings, town

from pitreckon.ledger import Ledger
from pitreckon.reckon import reckon
from pitreckon.safety.record.form import check_record
from pitreckon.safety.record.house import house_key
from pitreckon.safety.record.kept import Kept, kept_of
from pitreckon.safety.record.sign import public_of, short_of
from pitreckon.web.pages.sheets import paper_for
from pitreckon.web.views.reader import Preferences

pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    """A cook with an outlook, which nothing reckons anew."""
    async with town(settings(tmp_path)) as made:
        house = made.app.state.app_state
        house.store.add_cook(COOK, "harvest table", cook_id="wings")
        cook = house.live_cook("wings")
        outlook = reckon(cook, house.store.ledger("wings"), now=NOW, members=16)
        watched = await house.live.watched("wings")
        watched.shown = replace(watched.shown, outlook=outlook)
        yield made


@pytest.mark.kernel
async def test_the_sheet_as_a_page(pit: Town) -> None:
    owner = await pit.owner()
    page = (await owner.get("/cook/wings/sheet")).text
    assert '<article class="sheet">' in page
    assert "take off" in page
    assert "carbon monoxide" in page.lower()
    assert "health department" in page


@pytest.mark.kernel
async def test_the_sheet_as_files(pit: Town) -> None:
    owner = await pit.owner()
    pdf = await owner.get("/cook/wings/sheet.pdf")
    assert pdf.headers["content-type"] == "application/pdf"
    assert 'filename="harvest-table-run-sheet.pdf"' in pdf.headers["content-disposition"]
    book = pypdf.PdfReader(io.BytesIO(pdf.content))
    assert "wings" in "".join(page.extract_text() for page in book.pages)
    assert float(book.pages[0].mediabox.width) == pytest.approx(612.0, abs=1.0)  # US Letter is 8.5 in of 72 pt
    a4 = pypdf.PdfReader(io.BytesIO((await owner.get("/cook/wings/sheet.pdf?paper=a4")).content))
    assert float(a4.pages[0].mediabox.width) == pytest.approx(595.3, abs=1.0)  # ISO 216: 210 mm
    calendar = Calendar.from_ical((await owner.get("/cook/wings/sheet.ics")).content)
    assert calendar.walk("VEVENT")
    assert (await owner.get("/cook/wings/sheet.md")).text.startswith("# ")
    odd = await owner.get("/cook/wings/sheet.exe")
    assert odd.status_code == 404
    assert "exe" in odd.text


async def test_before_the_first_outlook_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pitreckon.web.pages.sheets.WAIT_S", 0.0)
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        owner = await made.owner()
        answer = await owner.get("/cook/wings/sheet.pdf")
        assert answer.status_code == 503
        assert "still being reckoned" in answer.text


@pytest.mark.kernel
async def test_the_style_stays_inside_the_paper(pit: Town) -> None:
    owner = await pit.owner()
    style = (await owner.get("/paper.css")).text
    assert style.startswith(".paper {")
    assert "@page" not in style
    assert style.count("{") == style.count("}")


async def test_paper_goes_with_the_scales() -> None:
    assert paper_for(None, Preferences()) == "letter"
    assert paper_for(None, Preferences(mass="kg")) == "a4"
    assert paper_for("a4", Preferences()) == "a4"
    assert paper_for("A3", Preferences(mass="kg")) == "a4"


@pytest.mark.kernel
@pytest.mark.servers
async def test_the_safety_record(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reckoned in a process of its own, from the whole ledger, and held against it afterwards."""
    monkeypatch.setattr("pitreckon.web.pages.record.WAIT_S", 60.0)
    owner = await pit.owner()
    assert "judged both ways" in (await owner.get("/cook/wings/record?signed=A.%20Cook")).text
    viewer = await pit.somebody("viewer", "aunt")
    assert (await viewer.post("/cook/wings/meat", {"meat-0": "intact"})).status_code == 403
    both = await owner.post("/cook/wings/meat", {"meat-0": ["intact", "injected"]})
    assert both.status_code == 422
    assert "nothing that is done to meat" in both.text
    for words in (["injected", "bladed"], ["injected", "bladed"], ["intact"]):
        assert (await owner.post("/cook/wings/meat", {"meat-0": words})).status_code == 303
    page = (await owner.get("/cook/wings/record?signed=A.%20Cook")).text
    assert "Safety record" in page
    assert "Done to the meat: intact" in page
    assert "meat: wings: injected, bladed" in page
    assert 'value="intact" checked' in page
    assert "it overrules no rule" in page
    assert "A. Cook" in page
    assert "carbon monoxide" in page.lower()
    got = await owner.get("/cook/wings/record.json?signed=A.%20Cook")
    house = pit.app.state.app_state

    def rests() -> tuple[str, Ledger, Kept, str]:
        store = house.store
        row = store.cook("wings")
        return row.plan_toml, store.ledger("wings"), kept_of(store, "wings"), public_of(house_key(store))

    plan, ledger, kept, public = await asyncio.to_thread(rests)
    assert [each.words for each in kept.meat] == ["injected, bladed", "intact"], "said again, it is said once"
    assert check_record(got.json(), plan, ledger, kept, public) == ()
    assert check_record(got.json(), plan + " ", ledger, kept)
    assert short_of(public) in page
    assert (await owner.get("/cook/wings/record.pdf")).content.startswith(b"%PDF")
    assert (await owner.get("/cook/wings/record.exe")).status_code == 404
