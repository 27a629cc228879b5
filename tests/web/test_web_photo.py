"""A colour measured in a photo on the page: what is told, what is refused, who may, and the taps of a thumb."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from dataclasses import fields, replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import pytest_asyncio
from playwright.sync_api import Browser, expect
from tests.photo.pictures import MEAT, WHITE, plain
from tests.web.house import Door, Town, settings, town
from tests.web.phones import MS, go, heard, owner, settled
from tests.web.pit_server import COOK, NOW, Server, fill
from tests.web.test_web_whose import TODAY

from pitreckon.ledger import Look
from pitreckon.ledger.store import Store
from pitreckon.reckon.moved import moved_words
from pitreckon.web.live.asked import Asked
from pitreckon.web.live.questions import Memory, answered_if, reckoned_now

pytestmark = pytest.mark.servers


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(TODAY, "supper", cook_id="supper")
        yield made


async def measured(door: Door, photo: bytes, **changes: object):
    form = {"meat": [f"{x},{y}" for x, y in MEAT], "white": f"{WHITE[0]},{WHITE[1]}", "on": "wings"} | changes
    return await door.client.post(
        "/cook/supper/photo/colour",
        data=form,
        files={"photo": ("x.jpg", photo)},
        headers={"X-Pitreckon-Form": door.token},
    )


@pytest.mark.asyncio
async def test_a_colour_is_measured_and_nothing_is_kept(pit: Town, tmp_path: Path) -> None:
    owner = await pit.owner()
    answer = await measured(owner, plain())
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["lines"][0] == f"Measured: red-brown ({told['value']})."
    assert told["lines"][1].startswith("Chance that the colour is set: ")
    assert told["note"] == "meat 0.25,0.45 0.40,0.60 0.50,0.75 white 0.80,0.30"
    assert list(tmp_path.glob("*.photos/*")) == []
    event = {"id": "p1", "at": pit.app.state.app_state.settings.clock.now().isoformat(), "kind": "look", "on": "wings"}
    event |= {"what": "colour in a photo", "value": told["value"], "note": told["note"]}
    assert (await owner.send("/api/cooks/supper/events", {"events": [event]})).is_success
    page = (await owner.get("/cook/supper/ledger")).text
    assert f"colour in a photo red-brown ({told['value']})" in page


@pytest.mark.asyncio
async def test_what_cannot_be_read_is_refused_with_what_to_do_in_one_s_own_language(pit: Town) -> None:
    owner = await pit.owner()
    blown = await measured(owner, plain(white=(255, 255, 255)))
    assert blown.status_code == 422
    assert blown.json()["error"]["remedy"].startswith("Tap the white on the phone's screen before you take the picture")
    for change, field in (
        ({"white": "1.2,0.5"}, None),
        ({"meat": ["left"]}, None),
        ({"meat": ["0.1,0.1"] * 6}, "meat"),
    ):
        answer = await measured(owner, plain(), **change)
        assert answer.status_code == 422, change
        assert field is None or field in answer.text
    await owner.post("/setup/me", {"language": "es"})
    spanish = await measured(owner, plain(white=(255, 255, 255)))
    assert spanish.json()["error"]["trouble"].startswith("Lo blanco es tan claro")


@pytest.mark.asyncio
async def test_a_viewer_measures_nothing_and_sees_no_way_to(pit: Town) -> None:
    viewer = await pit.somebody("viewer", "aunt")
    assert (await measured(viewer, plain())).status_code == 403
    sent = {"data": {"meat": "0.3,0.5", "white": "0.8,0.3"}, "files": {"photo": ("x.jpg", plain())}}
    refused = await viewer.client.post("/why/photo", **sent, headers={"X-Pitreckon-Form": viewer.token})
    assert refused.status_code == 403
    assert "data-measure=" not in (await viewer.get("/why")).text
    assert "data-measure=" not in (await viewer.get("/cook/supper/look")).text
    assert "data-measure=" in (await (await pit.owner()).get("/cook/supper/look")).text


def test_a_thumb_measures_a_colour_reads_it_and_records_it(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    box = page.locator(".panel:visible [data-measure]")
    box.locator("summary").tap()
    box.locator("input[type=file]").set_input_files({"name": "r.jpg", "mimeType": "image/jpeg", "buffer": plain()})
    expect(box.locator(".lead")).to_have_text("Tap bare meat, one to five places.")
    picture = box.locator(".picture")
    expect(picture.locator("img")).to_have_js_property("naturalWidth", 800)
    page.wait_for_function("document.querySelector('.panel .picture img')?.getBoundingClientRect().height > 150")

    def tap(x: float, y: float) -> None:
        picture.scroll_into_view_if_needed()
        size = picture.bounding_box()
        assert size is not None
        picture.tap(position={"x": x * size["width"], "y": y * size["height"]})

    for place in MEAT:
        tap(*place)
    expect(picture.locator("line.meat")).to_have_count(3)
    box.get_by_role("button", name="Take the last tap back").tap()
    expect(picture.locator("line.meat")).to_have_count(2)
    box.get_by_role("button", name="Now the white").tap()
    expect(box.locator(".lead")).to_contain_text("Now tap something white")
    tap(*WHITE)
    found = box.locator(".found li")
    expect(found.first).to_contain_text("Measured: red-brown", timeout=MS)
    small = box.locator(".tap:visible, summary").evaluate_all(
        "all => all.filter(one => one.getBoundingClientRect().height < 44).length"
    )
    assert small == 0
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    box.get_by_role("button", name="Record it").tap()
    heard(page, "Measured: red-brown")
    settled(page)
    with Store.open(server.store) as store:
        (look,) = [each.event for each in store.entries("supper", kinds=("look",))]
    assert look.kind == "colour in a photo"
    assert look.note.startswith("meat 0.2")
    assert "[photo " in look.note
    expect(page.locator("#part img.photo")).to_have_count(1, timeout=MS)
    expect(box.locator(".shot")).to_be_hidden()


def test_a_blurred_white_is_told_and_the_arrow_keys_tap_too(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    box = page.locator(".panel:visible [data-measure]")
    box.locator("summary").tap()
    box.locator("input[type=file]").set_input_files({"name": "r.jpg", "mimeType": "image/jpeg", "buffer": plain()})
    picture = box.locator(".picture")
    expect(picture.locator("img")).to_have_js_property("naturalWidth", 800)
    picture.focus()
    for _ in range(8):
        picture.press("ArrowLeft")
    picture.press("Enter")
    expect(picture.locator("line.meat")).to_have_count(1)
    box.get_by_role("button", name="Now the white").tap()
    picture.focus()
    picture.press("Enter")  # meat, tapped as white
    expect(box.locator("p.trouble")).to_be_visible(timeout=MS)
    expect(box.locator(".found")).to_be_hidden()


@pytest.mark.kernel
def test_a_reader_s_photo_fills_the_form_and_both_odds_stand_side_by_side(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    page.goto(f"{server.place}/why")
    box = page.locator("[data-measure]")
    box.locator("summary").tap()
    box.locator("input[type=file]").set_input_files({"name": "r.jpg", "mimeType": "image/jpeg", "buffer": plain()})
    picture = box.locator(".picture")
    expect(picture.locator("img")).to_have_js_property("naturalWidth", 800)
    picture.focus()
    for _ in range(5):
        picture.press("ArrowLeft")
    picture.press("Enter")
    box.get_by_role("button", name="Now the white").tap()
    picture.focus()
    for _ in range(18):
        picture.press("ArrowRight")
    for _ in range(10):
        picture.press("ArrowUp")
    picture.press("Enter")
    field = page.locator("input[name=colour]")
    expect(field).to_have_value(re.compile(r"^0\.8\d ± 0\.\d\d$"), timeout=MS)
    page.get_by_text("tough", exact=True).tap()
    page.locator("select[name=cut]").select_option("st-louis-ribs")
    page.get_by_role("button", name="Ask").tap()
    expect(page.locator(".odds small").first).to_contain_text("without the photo: ", timeout=MS)
    assert page.evaluate("document.documentElement.scrollWidth") == 390


@pytest.mark.kernel
def test_what_a_photo_would_move_is_said_before_it_is_recorded(tmp_path: Path) -> None:
    fill(tmp_path / "ledger.sqlite")
    with Store.open(tmp_path / "ledger.sqlite") as store:
        asked = Asked(str(tmp_path / "ledger.sqlite"), "supper", COOK, store.last_seq("supper"), 1)
    memory = Memory()
    dark = Look(NOW, "racks", None, "colour in a photo", 0.4, "0.40 ± 0.08")
    assert answered_if(memory, asked, NOW, dark) is None  # nothing is reckoned yet
    reckoned_now(memory, asked, NOW, 64)
    found = answered_if(memory, asked, NOW, dark)
    assert found is not None
    without, with_it = found
    assert with_it.colour.p50 > without.colour.p50
    assert with_it.marks["colour_set"].p50 < without.marks["colour_set"].p50
    zone, mark = ZoneInfo("America/Chicago"), without.marks["colour_set"]
    (same, _) = moved_words(without, without, zone)
    assert re.fullmatch(r"the colour is set: \d\d:\d\d as before\.", same)
    later = replace(mark, **{each.name: getattr(mark, each.name) + 900.0 for each in fields(mark)})
    first, second = moved_words(without, replace(without, marks=without.marks | {"colour_set": later}), zone)
    assert re.fullmatch(r"the colour is set: \d\d:\d\d, was \d\d:\d\d\.", first)
    assert second.startswith("ready: ")
    assert second.endswith(" as before.")
    there = Look(NOW, "racks", None, "colour in a photo", 0.95, "0.95 ± 0.08")
    by_eye = answered_if(memory, asked, NOW, there)
    assert by_eye is not None
    assert moved_words(*by_eye, zone)[0].startswith("chance that it is time to wrap: 100 %, was ")
    assert memory.read(asked)[1].looks() == ()  # nothing was recorded
