"""A batch for sale on the page: reckoned, taken away as files, recorded by those who may, recalled."""

from __future__ import annotations

import io
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from pypdf import PdfReader
from tests.web.house import Town, settings, town

from pitreckon.flavour.sale.record import made_of
from pitreckon.ledger.store.batches import all_batches
from pitreckon.web.live.mixes import save_mix

pytestmark = pytest.mark.asyncio

MIX = """[mix]
name = "gate rub"
use = "rub"
[[ingredient]]
food = "brown sugar"
amount = "200 g"
price = "3 per kg"
pack = "5 lb"
[[ingredient]]
food = "salt"
amount = "100 g"
price = "1 per kg"
"""
ASKED = "jars=40&fill=12 oz&market=us&lot_0=S 11&day_0=2027-05-31&lot_1=K 2&day_1=2030-01-01&margin=60 %&jar_cost=0.85"
FORM = dict(each.split("=", 1) for each in ASKED.split("&"))


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        save_mix(made.app.state.app_state.store, None, MIX)
        yield made


async def test_a_batch_is_reckoned_and_taken_away(pit: Town) -> None:
    owner = await pit.owner()
    page = (await owner.get(f"/mixes/gate-rub/batch?{ASKED}")).text
    for words in ("NET WT 12 OZ (340 g)", "2027-05-31", "GR-261017", "Record this batch"):
        assert words in page
    assert "/mixes/gate-rub/batch" in (await owner.get("/mixes/gate-rub")).text
    text = (await owner.get(f"/mixes/gate-rub/batch.txt?{ASKED}")).text
    assert "price a jar" in text
    labels = await owner.get(f"/mixes/gate-rub/labels.pdf?{ASKED}&a_sheet=10")
    assert len(PdfReader(io.BytesIO(labels.content)).pages) == 4
    abroad = ASKED.replace("market=us", "market=eu") + "&nutrition=yes"
    assert "Nutrition per 100 g: Energy" in (await owner.get(f"/mixes/gate-rub/batch.txt?{abroad}")).text
    assert 'value="yes" checked' in (await owner.get(f"/mixes/gate-rub/batch?{abroad}")).text
    assert (await owner.get("/mixes/gate-rub/batch.ics")).status_code == 404
    assert (await owner.get("/mixes/nothing/batch")).status_code == 404


@pytest.mark.parametrize(
    "wrong", ["jars=many", "fill=heaps", "scale=1", "margin=99 %", "day_0=2027-05-31", "loss=x", "nutrition=yes"]
)
async def test_what_is_wrong_is_said_and_what_was_typed_stays(pit: Town, wrong: str) -> None:
    owner = await pit.owner()
    answer = await owner.get(f"/mixes/gate-rub/batch?maker=Gate Kitchen&{wrong}")
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert "Gate Kitchen" in answer.text


async def test_a_batch_is_recorded_and_recalled_in_both_directions(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    answer = await owner.post("/mixes/gate-rub/batch", FORM)
    assert (answer.status_code, answer.headers["location"]) == (303, "/batches?recall=GR-261017")
    (made,) = made_of(all_batches(store))
    assert (made.jars, [lot.lot for lot in made.lots], made.by) == (40, ["S 11", "K 2"], "owner")
    assert "GR-261017/01 to GR-261017/40" in (await owner.get("/batches?recall=s11")).text
    jar = (await owner.get("/batches?recall=GR-261017/7")).text
    assert "S 11" in jar
    assert "K 2" in jar
    assert (await owner.get("/batches?recall=GR-261017/41")).status_code == 422
    again = await owner.post("/mixes/gate-rub/batch", FORM)
    assert again.status_code == 422
    assert "recorded already" in again.text
    assert (await owner.post("/mixes/gate-rub/batch", {**FORM, "again": "yes", "counted": "41"})).status_code == 303
    assert [each.jars for each in made_of(all_batches(store))] == [40, 41]
    many = await owner.post("/mixes/gate-rub/batch", {**FORM, "lot": "GR-2", "counted": "400"})
    assert (many.status_code, "400 jars cannot be filled" in many.text) == (422, True)


async def test_who_only_watches_reckons_and_records_nothing(pit: Town) -> None:
    owner = await pit.owner()
    await owner.post("/mixes/gate-rub/batch", FORM)
    guest = await pit.somebody("viewer", "guest")
    page = await guest.get(f"/mixes/gate-rub/batch?{ASKED}")
    assert page.status_code == 200
    assert "Record this batch" not in page.text
    assert (await guest.get("/batches?recall=S 11")).status_code == 200
    assert (await guest.post("/mixes/gate-rub/batch", {**FORM, "lot": "X-1"})).status_code == 403
    assert len(all_batches(pit.app.state.app_state.store)) == 1
