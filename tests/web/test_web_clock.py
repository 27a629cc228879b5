"""What goes by itself on a phone: the big clock, rests that count down, sound when it is time, notes and photos."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from tests.web.many import NOW as MANY_NOW
from tests.web.many import fill_many
from tests.web.phones import MS, face, go, heard, kept, owner, settled
from tests.web.pit_server import COOK, NOW, PUT_ON, Server, fill

from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers


def test_the_big_clock_goes_and_keeps_the_screen_awake(browser: Browser, tmp_path: Path) -> None:
    fill_many(tmp_path / "ledger.sqlite")
    server = Server(tmp_path / "ledger.sqlite", shows=MANY_NOW).start()
    try:
        page = owner(browser, server)
        page.get_by_role("link", name="Big clock").tap()
        expect(page.locator("#hands")).to_contain_text("15:4")
        expect(page.locator("#awake")).to_contain_text("The screen stays on")
        expect(page.locator(".far")).to_contain_text("Fire sinking", timeout=MS)
        expect(page.locator(".far .jobs")).to_contain_text("loin")
        tall = page.evaluate("document.getElementById('hands').getBoundingClientRect().height")
        assert tall > 90
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        test = page.get_by_role("button", name="Try it")
        test.tap()
        expect(page.locator("body")).to_have_attribute("data-sounded", "1")
        sound = page.locator("#sound")
        expect(sound).to_have_attribute("aria-pressed", "false")
        sound.tap()
        expect(sound).to_have_attribute("aria-pressed", "true")
        page.reload()
        expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")
    finally:
        server.close()


def test_it_sounds_when_something_begins_to_be_wrong_and_when_it_is_time(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "clock")
    page.locator("#sound").tap()
    first = page.locator(".first")
    expect(first).to_have_attribute("data-back", re.compile("^2026"), timeout=MS)
    expect(page.locator("body")).to_have_attribute("data-listened", re.compile("[1-9]"))
    page.route("**/clock/part", lambda route: route.abort())  # what is set below stays
    assert page.locator("body").get_attribute("data-sounded") is None  # what was so when the page came is no news
    sounds(page, 1, "embers", "fire sinking barn pit;")
    sounds(page, 2, "back", NOW.isoformat())


def sounds(page: Page, times: int, name: str, value: str) -> None:
    """Says something on the page until it has sounded: a part that was under way takes the place of what was said."""
    page.wait_for_function(
        """([times, name, value]) => {
            document.querySelector(".first").dataset[name] = value;
            return document.body.dataset.sounded === times;
        }""",
        arg=[str(times), name, value],
        timeout=MS,
    )


def test_a_rest_counts_down_by_itself(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    plan = COOK.replace(
        'cut = "st-louis-ribs"', 'cut = "brisket-whole"'
    )  # racks stand a minute, this rests for an hour
    fill(path, plan.replace('weight = "2 lb 10 oz"', 'weight = "10 lb"'))
    with Store.open(path) as store:
        store.append("supper", [Entry("off", Act(PUT_ON + timedelta(minutes=49), "racks", "took off"))])
    server = Server(path, speed=4.0).start()  # four seconds of the cook in each
    try:
        page = owner(browser, server)
        go(page, server, "now")
        state = page.locator(".item").first.locator("[data-ends]")
        expect(state).to_contain_text("left", timeout=MS)
        page.route("**/now/part", lambda route: route.abort())  # so that nobody but the page itself counts
        before = state.inner_text()
        expect(state).not_to_have_text(before, timeout=MS)
        assert "resting" in state.inner_text()
    finally:
        server.close()


def photo() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (800, 600), (150, 70, 40)).save(out, "JPEG")
    return out.getvalue()


def note_and_photo(page: Page, words: str) -> None:
    page.locator("#more summary").tap()
    page.get_by_label("Note").fill(words)
    page.locator("#photo").set_input_files({"name": "rack.jpg", "mimeType": "image/jpeg", "buffer": photo()})


def test_a_note_and_a_photo_go_with_the_next_tap_and_wait_with_it(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    note_and_photo(page, "left one is darker")
    page.context.set_offline(True)
    face(page, "amber")
    heard(page, "colour amber")
    expect(page.locator("#outbox li")).to_have_count(1)
    assert page.get_by_label("Note").input_value() == ""
    page.context.set_offline(False)
    settled(page)
    assert kept(server)[1:] == [("colour", "amber")]
    expect(page.locator("#part")).to_contain_text("left one is darker", timeout=MS)
    page.wait_for_function(  # the part may come anew meanwhile, and with it another picture element
        """() => { const shown = document.querySelector("#part img.photo");
            shown?.scrollIntoView(); return shown?.naturalWidth === 800 }""",
        timeout=MS,
    )
    face(page, "red-brown")  # the note was for one tap
    settled(page)
    with Store.open(server.store) as store:
        notes = [each.event.note for each in store.entries("supper", kinds=("look",))]  # type: ignore[union-attr]
    assert notes[0].startswith("left one is darker [photo ")
    assert notes[1] == ""


def test_what_was_put_on_asks_no_more(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    page.locator(".chips.of label", has_text="wings").tap()
    page.locator(".panel:visible .acts").get_by_role("button", name="put on").tap()
    heard(page, "wings: put on")
    face(page, "raw")
    heard(page, "wings: colour raw")
    settled(page)
    again = page.locator(".panel:visible .acts").get_by_role("button", name="put on")
    expect(again).to_have_attribute("data-ask", "wings is on already. Put on once more?", timeout=MS)
    assert kept(server)[1:] == [("put on", "wings"), ("colour", "raw")]
