"""Mixes, the recipe card and what went wrong on the page: forms, doors, what they say."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from tests.web.house import Door, Town, settings, town
from validation.readers.cards import HERE

from pitreckon import catalog
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.flavour.read import mix_from_tables, mix_from_text
from pitreckon.flavour.weigh.batch import batch_of
from pitreckon.flavour.wording import factor_wanted, grams
from pitreckon.forms.toml_write import toml_text
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.store import Entry
from pitreckon.web.forms.mix import from_mix, tables_of
from pitreckon.web.live.mixes import drop_mix, save_mix, saved_mix, saved_mixes
from pitreckon.web.pages import card as cardpages
from pitreckon.web.pages import diagnosis as whypages
from pitreckon.web.pages import mixes as mixpages
from pitreckon.web.views.reader import Preferences

pytestmark = pytest.mark.asyncio

FORM = {
    "name": "gate rub",
    "use": "rub",
    "part": "1 tbsp",
    "covers_pieces": "2 racks",
    "covers_weight": "2.5 kg",
    "line_what": ["brown sugar", "Salt, table", "", "paprika"],
    "line_amount": ["2 parts", "24 g", "", "1 1/2 tbsp"],
    "line_price": ["3", "", "", ""],
}


@pytest_asyncio.fixture
async def pit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Town]:
    for module in (cardpages, mixpages, whypages):
        monkeypatch.setattr(module, "WAIT_S", 90.0)
    async with town(settings(tmp_path)) as made:
        yield made


async def rub(door: Door, **change: object) -> str:
    answer = await door.post("/mixes/new", {**FORM, **change})
    assert answer.status_code == 303, re.findall(r'role="alert">(.*?)</p>', answer.text)
    return answer.headers["location"]


def finished(pit: Town) -> None:
    """The orchard supper in the store of the house."""
    store = pit.app.state.app_state.store
    plan = (HERE / "orchard-supper.toml").read_text("utf-8")
    ledger = log_from_text((HERE / "orchard-supper.csv").read_text("utf-8"), "log", cook_from_text(plan, "plan"))
    store.add_cook(plan, "orchard supper", cook_id="orchard")
    store.append("orchard", [Entry(f"e{n}", event, "box") for n, event in enumerate(ledger.events)])


async def test_a_mix_is_weighed_for_any_number_of_racks(pit: Town) -> None:
    owner = await pit.owner()
    where = await rub(owner)
    assert where == "/mixes/gate-rub"
    page = (await owner.get(f"{where}?for=7 racks")).text
    batch = batch_of(saved_mix(pit.app.state.app_state.store, "gate-rub").mix)
    factor = factor_wanted(batch, "7 racks")
    assert factor == 3.5
    for each in batch.times(factor).ingredients:
        assert grams(each.mass_kg) in page
    assert "gate rub" in (await owner.get("/mixes")).text
    assert (await owner.get(f"{where}.toml")).text.startswith("[mix]")


async def test_a_mix_is_changed_compared_and_labelled(pit: Town) -> None:
    owner = await pit.owner()
    where = await rub(owner)
    other = await rub(owner, name="meadow rub", line_amount=["1 part", "30 g", "", "2 tbsp"])
    page = (await owner.get(f"{where}?want=sugar half&with={other.rsplit('/', 1)[1]}&rules=eu")).text
    assert "sugar 50 %" in page
    assert page.count("meadow rub") >= 4  # beside each taste
    assert "not a regulated label" in page


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"line_what": ["brown sugar", "moonrock", "", "paprika"]}, "moonrock"),
        ({"line_amount": ["2 parts", "24", "", "1 tbsp"]}, "no unit"),
        ({"use": ""}, "use"),
        ({"covers_weight": "heaps"}, "heaps"),
        ({"line_what": ["", "", "", ""], "line_amount": ["", "", "", ""], "line_price": [""] * 4}, "no ingredients"),
    ],
)
async def test_what_is_wrong_is_said_and_what_was_typed_stays(pit: Town, change: dict[str, object], says: str) -> None:
    owner = await pit.owner()
    answer = await owner.post("/mixes/new", {**FORM, **change})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert says in answer.text
    assert 'value="gate rub"' in answer.text
    assert not saved_mixes(pit.app.state.app_state.store)


async def test_a_wrong_target_leaves_the_mix_in_view(pit: Town) -> None:
    owner = await pit.owner()
    where = await rub(owner)
    answer = await owner.get(f"{where}?want=charm double")
    assert answer.status_code == 422
    assert "charm" in answer.text
    assert "24 g" in answer.text


async def test_a_mix_in_a_mix_is_one_of_the_house(pit: Town) -> None:
    owner = await pit.owner()
    store = pit.app.state.app_state.store
    where = await rub(owner)
    outer = await rub(owner, name="hill rub", line_what=["gate rub", "cumin"], line_amount=["2 parts", "5 g"])
    mix = saved_mix(store, outer.rsplit("/", 1)[1]).mix
    assert mix.lines[0].mix is not None
    with pytest.raises(InputError, match="is in 'hill rub'"):
        drop_mix(store, "gate-rub")
    answer = await owner.post(
        f"{where}/edit", {**FORM, "line_what": ["hill rub", "salt"], "line_amount": ["1 tbsp", "5 g"]}
    )
    assert answer.status_code == 422  # it would be in itself
    assert (await owner.post(f"{outer}/drop")).status_code == 303
    assert (await owner.post(f"{where}/drop")).status_code == 303
    assert not saved_mixes(store)
    assert (await owner.get(where)).status_code == 404


async def test_two_mixes_have_two_names(pit: Town) -> None:
    owner = await pit.owner()
    await rub(owner)
    again = await owner.post("/mixes/new", FORM)
    assert again.status_code == 422
    assert "already" in again.text


async def test_text_and_form_say_the_same(pit: Town) -> None:
    owner = await pit.owner()
    await rub(owner)
    store = pit.app.state.app_state.store
    mix = saved_mix(store, "gate-rub").mix
    for preferences in (Preferences("F", "lb"), Preferences("C", "kg")):
        tables = tables_of(from_mix(mix, preferences), set(), preferences)
        again = mix_from_tables(tables, "again")
        assert again == mix_from_text(toml_text(tables), "kept")
        assert batch_of(again).mass_kg == pytest.approx(batch_of(mix).mass_kg, rel=1e-5)
        assert again.covers == mix.covers
        assert again.lines[0].price_per_kg == pytest.approx(mix.lines[0].price_per_kg or 0.0, rel=1e-4)
    with pytest.raises(KeyError):
        save_mix(store, "none", "")


async def test_a_viewer_may_look_and_keeps_nothing(pit: Town) -> None:
    owner = await pit.owner()
    where = await rub(owner)
    viewer = await pit.somebody("viewer", "aunt")
    for path in ("/mixes", where, f"{where}.toml", "/why"):
        assert (await viewer.get(path)).status_code == 200, path
    for path in ("/mixes/new", f"{where}/edit", f"{where}/drop", "/mixes/text"):
        assert (await viewer.post(path, {**FORM, "mix": "x"})).status_code == 403, path
    for path in ("/mixes/new", f"{where}/edit"):
        assert (await viewer.get(path)).status_code == 403, path
    assert "Throw it away" not in (await viewer.get(where)).text


@pytest.mark.servers
async def test_why_answers_in_the_address(pit: Town) -> None:
    viewer = await pit.somebody("viewer", "aunt")
    page = await viewer.get("/why?cut=chicken-thigh&set=325&on=1&came_out=raw near the bone")
    assert page.status_code == 200
    assert "Why was it raw near the bone?" in page.text
    assert re.search(r"<dt>\d+ %</dt>", page.text)
    assert "Do not eat what is raw" in page.text
    assert 'value="325"' in page.text  # as it was typed
    wrong = await viewer.get("/why?cut=chicken-thigh&set=9000&came_out=dry")
    assert wrong.status_code == 422
    assert 'value="9000"' in wrong.text
    assert (await viewer.get("/why?asked=1&cut=chicken-thigh")).status_code == 422  # nothing was wrong


@pytest.mark.servers
async def test_pickers_list_the_cuts_by_animal(pit: Town) -> None:
    owner = await pit.owner()
    for path, field in (("/new", "item_cut"), ("/day/new", "meat_cut"), ("/why?cut=lamb-leg", "cut")):
        page = (await owner.get(path)).text
        picker = re.findall(rf'<select name="{field}"[^>]*>(.*?)</select>', page, re.DOTALL)[0]
        groups = re.findall(r'<optgroup label="(\w+)">(.*?)</optgroup>', picker, re.DOTALL)
        assert [name for name, _ in groups] == sorted({cut.animal.capitalize() for cut in catalog.cuts().values()})
        for name, options in groups:
            keys = re.findall(r'<option value="([^"]+)"', options)
            assert keys == sorted(keys, key=lambda key: catalog.cut(key).name)
            assert {catalog.cut(key).animal.capitalize() for key in keys} == {name}
        assert len(re.findall("<option ", picker)) == len(catalog.cuts()) + 1
    assert '<option value="lamb-leg" selected>' in page


@pytest.mark.servers
async def test_a_card_of_a_finished_cook(pit: Town) -> None:
    owner = await pit.owner()
    finished(pit)
    await rub(owner)
    asked = "item=thighs&pieces=20&mix=gate-rub"
    page = await owner.get(f"/cook/orchard/card?{asked}")
    assert page.status_code == 200
    assert "Recipe card for 20 × Chicken thigh" in page.text
    assert "gate rub" in page.text
    assert "of 2,000 simulated readers get this plate" in page.text
    document = json.loads((await owner.get(f"/cook/orchard/card.jsonld?{asked}")).text)
    assert document["@type"] == "Recipe"
    assert (await owner.get(f"/cook/orchard/card.pdf?{asked}")).content.startswith(b"%PDF")
    assert "application/ld+json" in (await owner.get(f"/cook/orchard/card.html?{asked}")).text
    assert (await owner.get(f"/cook/orchard/card.ics?{asked}")).status_code == 404
    assert (await owner.get("/cook/orchard/card?item=thighs&pieces=many")).status_code == 422
    assert (await owner.get("/cook/orchard/card?item=thighs&pieces=0")).status_code == 422


@pytest.mark.servers
async def test_no_card_of_what_is_still_on(pit: Town) -> None:
    owner = await pit.owner()
    plan = (HERE / "orchard-supper.toml").read_text("utf-8")
    pit.app.state.app_state.store.add_cook(plan, "orchard supper", cook_id="orchard")
    page = await owner.get("/cook/orchard/card")
    assert page.status_code == 200
    assert "took off" in page.text
    assert (await owner.get("/cook/orchard/card.pdf?item=racks")).status_code == 422


@pytest.mark.servers
async def test_what_heat_does_to_it(pit: Town) -> None:
    owner = await pit.owner()
    finished(pit)
    where = await rub(
        owner, name="quick glaze", use="glaze", line_what=["honey", "cider vinegar"], line_amount=["60 g", "40 g"]
    )
    await owner.post("/setup/choose", {"cook": "orchard"})
    page = (await owner.get(f"{where}?item=racks")).text
    assert "it sets in about" in page
    await asyncio.sleep(0)
