"""This time against last time, on the page: chosen, drawn, told in a reader's words."""

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
from pitreckon.ledger.store import Entry, Store

pytestmark = [pytest.mark.asyncio, pytest.mark.kernel, pytest.mark.servers]
EXAMPLES = Path(__file__).parents[2] / "examples"


def keep(store: Store, name: str) -> None:
    """A finished cook of the examples, as it was recorded."""
    file = EXAMPLES / name / f"{name}.toml"
    cook = read_cook(file)
    ledger = read_log(EXAMPLES / name / "day.csv", cook)
    store.add_cook(file.read_text(encoding="utf-8"), cook.name, cook_id=name)
    events = [*ledger.all_acts, *ledger.all_looks, *ledger.readings("pit air", "kettle")]
    store.append(name, [Entry(f"e{n}", event, "Ana") for n, event in enumerate(events)])


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        for name in ("sunday-racks", "next-sunday"):
            keep(made.app.state.app_state.store, name)
        yield made


def words(page: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


async def test_two_cooks_of_a_cut_are_held_against_each_other(pit: Town) -> None:
    owner = await pit.owner()
    suppers = (await owner.get("/suppers")).text
    assert 'href="/cook/next-sunday/lasttime"' in suppers
    page = await owner.there("/cook/next-sunday/lasttime")
    text = words(page)
    assert "30 min less on the pit than last time: 3 h 40 min, not 4 h 10 min." in text
    assert "wrapped at 'red-brown', not at 'mahogany'" in text
    assert re.search(r"pit 16 °F hotter: 284 °F, not 268 °F: about \d+ min sooner", text)
    assert '<svg class="against"' in page
    assert "in the smoke 1 h 30 min, foil 1 h 55 min" in text
    # The other way round, and in another reader's units and language.
    await owner.post("/setup/me", {"degrees": "C", "mass": "kg", "language": "es"})
    text = words(await owner.there("/cook/sunday-racks/lasttime"))
    assert "30 min más en el asador que la última vez: 4 h 10 min, no 3 h 40 min." in text
    assert "asador 9 °C más frío: 131 °C, no 140 °C" in text
    assert "piezas más ligeras: 1.02 kg, no 1.19 kg" in text
    assert "°F" not in text


async def test_with_no_other_cook_of_the_cut_it_says_so(pit: Town) -> None:
    owner = await pit.owner()
    store = pit.app.state.app_state.store
    file = EXAMPLES / "overnight-butt" / "overnight-butt.toml"
    store.add_cook(file.read_text(encoding="utf-8"), "butt", cook_id="butt")
    assert "record 'took off' under Look" in words((await owner.get("/cook/butt/lasttime")).text)


async def test_how_it_was_is_read_by_what_went_wrong(pit: Town) -> None:
    owner = await pit.owner()
    await owner.post("/cook/next-sunday/how", {"rating": "2", "note": "Tough at the thick end, and too pale"})
    page = (await owner.get("/cook/next-sunday/how")).text
    (link,) = re.findall(r'href="(/why\?[^"]+)"', page)
    why = (await owner.get(html.unescape(link))).text
    ticked = re.findall(r'name="came_out" id="out-\d+" value="([^"]+)" checked', why)
    assert set(ticked) == {"too pale", "tough"}
    told = {"set": "284 °F", "on": "3 h 40 min", "wrapped_after": "1 h 30 min", "weight": "2 lb 10 oz"}
    for name, value in told.items():
        assert f'name="{name}" maxlength="80" value="{value}"' in why, name
    assert 'class="trouble"' not in why
