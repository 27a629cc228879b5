"""Behind the pages: a wish fills its form again, a fault knows its field, planning can be stopped and tried again."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from tests.web.house import Town, settings, town
from tests.web.pit_server import COOK

from pitreckon.errors import InputError, Place
from pitreckon.forms.toml_write import toml_text
from pitreckon.plan.read import wishes_from_tables
from pitreckon.text.toml import parse_toml
from pitreckon.web.forms.day import filled_from, tables_of
from pitreckon.web.forms.fields import field_at
from pitreckon.web.live.worker import Process
from pitreckon.web.network import EVERYWHERE, is_own, own_address
from pitreckon.web.pages import day as dayplan
from pitreckon.web.settings import WebSettings
from pitreckon.web.views.reader import Preferences


def test_the_network_address_is_never_loopback(tmp_path: Path) -> None:
    found = own_address()
    assert found is None or not is_own(found)
    everywhere = WebSettings(str(tmp_path / "l.sqlite"), host=EVERYWHERE[0])
    assert everywhere.phones_can is (found is not None)
    assert WebSettings("x").phones_can is False
    assert WebSettings("x", public_url="http://barn.lan:8025").phones_can is True


def test_a_fault_knows_its_field() -> None:
    def at(field: str | None) -> tuple[str, int] | None:
        return field_at(InputError("bad", "Mend it", Place("the form", None, field)), {"item": "item_", "pit": "pit_"})

    assert at("item 3: weight") == ("item_weight", 2)
    assert at("cook: serve") == ("serve", 0)
    assert at("pit 1: set") == ("pit_set", 0)
    assert at(None) is None
    assert field_at(None, {}) is None


@pytest.mark.parametrize("mine", [Preferences(), Preferences("C", "kg")], ids=["F lb", "C kg"])
def test_a_wish_fills_its_form_again(mine: Preferences) -> None:
    degrees, mass = mine.degrees, mine.mass
    hot = "121 C" if degrees == "C" else "250 F"
    text = f"""
[cook]
name = "harvest supper"
zone = "America/Chicago"
serve = "2026-10-17 18:00"
chance = "80 %"
[guests]
adults = 12
[hands]
cooks = 2
[[hands.away]]
from = "2026-10-17 09:00"
until = "2026-10-17 11:00"
[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = ["{hot}", "140 C"]
[[item]]
name = "butts"
cut = "boston-butt"
share = 0.5
pieces = 2
weight = "8 {mass}"
longest_hold = "5 h"
price = "$3 / {mass}"
"""
    tables = parse_toml(text, "kept")
    filled = filled_from(tables, mine)
    assert filled["meats"][0]["weight"] == "8"
    assert filled["meats"][0]["price"] == "$3"
    assert filled["pits"][0]["set"] == [hot.split(maxsplit=1)[0]]
    again = tables_of(filled, mine)
    assert wishes_from_tables(again, "form") == wishes_from_tables(tables, "kept"), toml_text(again)


@pytest_asyncio.fixture
async def pit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Town]:
    monkeypatch.setattr(dayplan, "WAIT_S", 0.05)
    async with town(settings(tmp_path)) as made:
        yield made


@pytest.mark.asyncio
async def test_planning_is_stopped_tried_again_and_changed(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    let_go = asyncio.Event()

    async def slow(self: Process, question: object, *args: object, **more: object) -> object:
        asked.append(str(args[0]))
        self.progress = "running 12 ways to cook it"
        await let_go.wait()
        raise InputError("the meat does not fit", "Take less")

    monkeypatch.setattr(Process, "ask", slow)
    owner = await pit.owner()
    text = COOK.replace('set = "275 F"', 'set = ["275 F"]').replace("put_on", "# put_on") + "\n[guests]\nadults = 6\n"
    assert (await owner.post("/day/text", {"day": text})).status_code == 303
    page = (await owner.get("/day")).text
    assert "Being planned" in page
    assert "running 12 ways to cook it" in page
    assert re.search(r'http-equiv="refresh"', page) is None
    assert "data-again" in page
    assert (await owner.post("/day/stop")).status_code == 303
    page = (await owner.get("/day")).text
    assert "the planning was stopped" in page
    assert "Try again" in page
    form = (await owner.get("/day/new?change=1")).text
    assert 'value="harvest table"' in form
    assert 'value="racks"' in form
    assert len(asked) == 1
    let_go.set()
    await asyncio.sleep(0)
    assert (await owner.post("/day/again")).status_code == 303
    await owner.get("/day")
    page = (await owner.get("/day")).text
    assert len(asked) == 2
    assert "the meat does not fit" in page
    assert "Try again" not in page  # what was asked for is at fault
