"""The story of a finished cook on the page: reached from the suppers, drawn, told in a reader's words, taken away."""

from __future__ import annotations

import html
import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from tests.web.house import Town, settings, town

from pitreckon.cook.read import read_cook
from pitreckon.ledger.log.read import read_log
from pitreckon.ledger.store import Entry

pytestmark = [pytest.mark.asyncio, pytest.mark.kernel, pytest.mark.servers]
STORY = "/cook/sunday-racks/story"
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        store = made.app.state.app_state.store
        for name, log in (("sunday-racks", "day.csv"), ("overnight-butt", "night.csv")):
            file = EXAMPLES / name / f"{name}.toml"
            cook = read_cook(file)
            ledger = read_log(EXAMPLES / name / log, cook)
            store.add_cook(file.read_text(encoding="utf-8"), cook.name, cook_id=name)
            store.append(name, [Entry(f"e{n}", event, "Ana") for n, event in enumerate(ledger.events)])
        yield made


def words(page: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", re.sub(r"</(p|li|h\d|td)>", " ", page))))


async def test_a_supper_tells_its_story(pit: Town) -> None:
    owner = await pit.owner()
    assert 'href="/cook/sunday-racks/story"' in (await owner.get("/suppers")).text
    assert 'href="/cook/sunday-racks/story"' in (await owner.get("/cook/sunday-racks/how")).text
    page = await owner.there(STORY)
    assert page.count('<svg class="picture"') == 7
    assert " style=" not in page
    text = words(page)
    assert "3 × Back ribs, on the pit for 4 h 10 min at about 268 °F." in text
    assert "no promise of safety" in text
    # The same in another reader's units and language, the words in the pictures too.
    await owner.post("/setup/me", {"degrees": "C", "mass": "kg", "language": "es"})
    page = await owner.there(STORY)
    text = words(page)
    assert "4 h 10 min en el asador a unos 131 °C." in text
    assert "°F" not in text
    assert "aire del asador" in text
    assert "Justo antes de envolver" in text
    for english in ("in the smoke", "outside", "the middle", "sooner", "mahogany", "took off", "piece 1"):
        assert english not in text.lower(), english
    paper = await owner.get("/cook/sunday-racks/story.pdf?item=racks")
    assert paper.status_code == 200
    assert paper.content.startswith(b"%PDF")


async def test_what_is_on_the_pit_has_no_story_yet(pit: Town) -> None:
    owner = await pit.owner()
    assert "record 'took off' under Look" in words((await owner.get("/cook/overnight-butt/story")).text)
    assert (await owner.get("/cook/overnight-butt/story.pdf")).status_code == 404
    assert (await owner.get("/cook/sunday-racks/story.ics")).status_code == 404
