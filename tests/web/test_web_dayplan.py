"""A day planned on the page: the form, the plan, small changes, the cook that is made of it, and its doors."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import pytest_asyncio
from tests.patience import PATIENCE_S
from tests.web.house import Door, Town, settings, town

from pitreckon.forms.toml_write import toml_text
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry
from pitreckon.plan.read import wishes_from_tables, wishes_from_text
from pitreckon.web.forms.day import tables_of
from pitreckon.web.live.jobs import wishes_of
from pitreckon.web.pages import day as dayplan
from pitreckon.web.views.reader import Preferences

pytestmark = pytest.mark.asyncio

FORM = {
    "name": "harvest supper",
    "serve": "2026-10-17T18:00",
    "zone": "America/Chicago",
    "chance": "70",
    "adults": "6",
    "children": "2",
    "cooks": "1",
    "pit0_kind": "pellet-cooker",
    "pit0_name": "barn pit",
    "pit0_set": ["250", "275"],
    "meat_cut": ["st-louis-ribs", ""],
    "meat_share": ["1", ""],
    "meat_longest_hold": ["5", ""],
    "meat_price": ["5.49", ""],
}


@pytest_asyncio.fixture
async def pit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Town]:
    monkeypatch.setattr(dayplan, "WAIT_S", PATIENCE_S)
    async with town(settings(tmp_path)) as made:
        yield made


async def planned(door: Door) -> str:
    answer = await door.post("/day/new", FORM)
    assert answer.status_code == 303, answer.text
    return (await door.get("/day")).text


EARLIER = """
[cook]
name = "the week before"
zone = "America/Chicago"
serve = "2026-10-10 18:00"
[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "250 F"
[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 3
weight = "2.5 lb"
put_on = "2026-10-10 12:00"
"""


@pytest.mark.servers
async def test_what_the_house_has_burnt_goes_into_its_plans(pit: Town) -> None:
    """The week before, the barn pit was fed 3 kg every two hours: about half as much again as such a pit burns."""
    store = pit.app.state.app_state.store
    row = store.add_cook(EARLIER, "the week before")
    begin = datetime(2026, 10, 10, 16, tzinfo=UTC)
    acts = [Act(begin + timedelta(hours=2 * n), "barn pit", "fed the fire", fuel_kg=3.0) for n in range(4)]
    store.append(row.id, [Entry(f"fed {n}", act) for n, act in enumerate(acts)])
    page = await planned(await pit.owner())
    assert re.search(r"barn pit: This pit burns \d+ % more than its kind usually does, from 1 cook", page)


@pytest.mark.servers
async def test_from_the_form_to_a_cook(pit: Town) -> None:
    owner = await pit.owner()
    assert (await owner.get("/day")).headers["location"] == "/day/new"
    page = await planned(owner)
    assert re.search(r"All ready by 18:00 and still good then: [a-z ]+, \d+ %", page)
    assert "barn pit: light" in page
    assert "st louis ribs: put on" in page
    assert "st louis ribs: take off" in page
    shopping = (await owner.get("/day/shopping")).text
    assert "St. Louis ribs" in shopping
    assert "USD" in shopping
    pdf = await owner.get("/day/shopping.pdf")
    assert pdf.content.startswith(b"%PDF")
    made = await owner.post("/day/cook")
    assert made.status_code == 303
    cook_id = made.headers["location"].split("/")[2]
    store = pit.app.state.app_state.store
    cook = pit.app.state.app_state.live_cook(cook_id)
    assert [item.label for item in cook.items] == ["st louis ribs"]
    assert {s.kind for s in cook.items[0].stages} >= {"open", "hold"}
    kept = wishes_of(store, cook_id)
    assert kept is not None
    assert wishes_from_text(kept, "kept").guests.adults == 6  # type: ignore[union-attr]


@pytest.mark.servers
async def test_small_changes_are_there_and_can_be_taken_and_undone(pit: Town) -> None:
    owner = await pit.owner()
    await planned(owner)
    async with asyncio.timeout(PATIENCE_S):
        while "Being reckoned." in (page := (await owner.get("/day")).text):
            await asyncio.sleep(0.3)
    assert re.search(r"serve 30 min later</h3>\s*<ul class=\"sums\"><li>\d+ % likely by 18:30", page)
    assert (await owner.post("/day/change", {"key": "later"})).status_code == 303
    assert "All ready by 18:30" in (await owner.get("/day")).text
    assert (await owner.post("/day/undo")).status_code == 303
    assert "All ready by 18:00" in (await owner.get("/day")).text
    assert (await owner.post("/day/change", {"key": "nonsense"})).status_code == 422


@pytest.mark.servers
async def test_a_day_that_cannot_be_done_says_why(pit: Town) -> None:
    owner = await pit.owner()
    late = {**FORM, "earliest": "2026-10-17T15:30"}
    assert (await owner.post("/day/new", late)).status_code == 303
    page = (await owner.get("/day")).text
    assert "Why not as asked" in page or "It cannot be done" in page
    assert "st louis ribs" in page


async def test_what_is_wrong_is_said_and_what_was_typed_is_kept(pit: Town) -> None:
    owner = await pit.owner()
    for change, says in (
        ({"adults": "-3"}, "adults"),
        ({"serve": ""}, "serve"),
        ({"pit0_set": []}, "set"),
        ({"meat_pieces": ["10000", ""]}, "pieces"),
        ({"earliest": "2026-10-17T19:00"}, "serving time"),
    ):
        answer = await owner.post("/day/new", {**FORM, **change})
        assert answer.status_code == 422, change
        assert 'role="alert"' in answer.text
        assert says in answer.text
        assert 'value="harvest supper"' in answer.text
    assert (await owner.post("/day/text", {"day": "not toml ["})).status_code == 422


async def test_a_viewer_may_look_and_not_plan(pit: Town) -> None:
    viewer = await pit.somebody("viewer", "aunt")
    for path in ("/day/new", "/day/text", "/day/change", "/day/undo", "/day/cook"):
        assert (await viewer.post(path, {"day": "x", "key": "later"})).status_code == 403, path
    assert (await viewer.get("/day/new")).status_code == 403


async def test_nothing_planned_means_no_shopping(pit: Town) -> None:
    owner = await pit.owner()
    assert (await owner.get("/day/shopping")).status_code == 404
    assert (await owner.post("/day/cook")).status_code == 404


async def test_bare_numbers_have_the_persons_units() -> None:
    filled = {
        "cook": {"name": "x", "zone": "UTC", "serve": "2026-10-17 18:00", "earliest": "", "air": "20", "chance": "90"},
        "guests": {"adults": "", "children": "", "hungry": ""},
        "hands": {"cooks": "", "from": "", "until": ""},
        "pits": [{"name": "box", "kind": "kettle", "set": ["121"], "other": "130"}],
        "meats": [
            {"name": "butt", "cut": "boston-butt", "share": "", "pieces": "2", "weight": "3", "wrapping": "usual"}
        ],
    }
    filled["meats"][0] |= {"longest_hold": "6", "price": "9"}  # type: ignore[index]
    tables = tables_of(filled, Preferences("C", "kg"))
    made = wishes_from_tables(tables, "form")
    assert made == wishes_from_text(toml_text(tables), "kept")
    assert made.pits[0].sets_c == (121.0, 130.0)
    assert made.items[0].mass_kg == 3.0
    assert made.items[0].most_hold_s == 6 * 3600.0
    assert made.items[0].price_per_kg == 9.0
    assert made.weather_air_c == 20.0
    assert made.chance == 0.9
