"""Six meats, two pits and 60-letter names on every screen there is: nothing runs out at the side, nothing is hidden."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from tests.web.many import GATE, LONG, NOW, fill_many
from tests.web.phones import MS, face, heard, kept, settled
from tests.web.pit_server import PASSWORD, Server
from tests.web.taught import LATER, argue, fill_house

from pitreckon.ledger.store import Store

pytestmark = pytest.mark.servers


class Screen(NamedTuple):
    """width and height in CSS pixels; letter: what a browser's own letters are set to, in pixels"""

    width: int
    height: int
    letter: int = 16

    @property
    def name(self) -> str:
        return f"{self.width}x{self.height} letters {self.letter}"


PHONE, ZOOMED, LARGE_LETTERS = Screen(390, 844), Screen(195, 422), Screen(390, 844, 32)  # 195: a phone at 200 %
TABLET, LAPTOP = Screen(768, 1024), Screen(1440, 900)
SCREENS = (PHONE, ZOOMED, LARGE_LETTERS, TABLET, LAPTOP)
READERS = (("24", "F"), ("12", "F"), ("12", "C"))
PAGES = ("now", "look", "plan", "ledger", "sheet", "/setup", "/house", "/day/new")
WIDE = """() => {
    const width = document.documentElement.clientWidth;
    const out = [...document.querySelectorAll('main *, header *, .foot *')].filter((each) => {
        const box = each.getBoundingClientRect();
        return box.width > 0 && each.checkVisibility() && box.right > width + 1
            && !each.closest('svg, pre, table, .paper') && getComputedStyle(each).position !== 'absolute';
    });
    return [document.documentElement.scrollWidth, out.slice(0, 3).map((each) => each.outerHTML.slice(0, 80))];
}"""
INSIDE = """selector => {
    const box = document.querySelector(selector).getBoundingClientRect(), seen = window.visualViewport;
    return box.height > 0 && box.left >= -0.5 && box.top >= -0.5
        && box.right <= seen.width + 0.5 && box.bottom <= seen.height + 0.5;
}"""


LETTERS = """() => [...document.querySelectorAll('.broad .strip text')].filter((each) => each.checkVisibility())
    .map((each) => each.getBoundingClientRect().height)"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    path = tmp_path_factory.mktemp("many") / "ledger.sqlite"
    with Store.open(path) as store:
        fill_house(store, pit=GATE, first=LATER, name=LONG[:50])
        argue(store, pit=GATE, by="whoever stands at the gate with both hands full of wood")
    fill_many(path)  # made last, it is the one that is looked at first
    made = Server(path, speed=0.01, shows=NOW).start()  # however long the tests take, it is twenty to four
    yield made
    made.close()


def at(
    browser: Browser, server: Server, screen: Screen, hands: str = "24", degrees: str = "F", language: str = "en"
) -> Page:
    """Somebody with this screen, who reads so."""
    small = screen.width < 700
    context: BrowserContext = browser.new_context(
        viewport={"width": screen.width, "height": screen.height}, has_touch=small, is_mobile=small
    )
    context.set_default_timeout(MS)
    page = context.new_page()
    sizes = {"standard": screen.letter, "fixed": screen.letter * 13 // 16}
    context.new_cdp_session(page).send("Page.setFontSizes", {"fontSizes": sizes})
    page.goto(f"{server.place}/login")
    page.get_by_label("The owner's password").fill(PASSWORD)
    page.get_by_role("button", name="Come in").click()
    page.wait_for_url("**/now")
    token = page.locator("body").get_attribute("data-token") or ""
    wanted = {"form_token": token, "hands": hands, "degrees": degrees, "language": language}
    page.request.post(f"{server.place}/setup/me", form=wanted, headers={"Accept": "text/html"})
    return page


def open_page(page: Page, server: Server, which: str) -> None:
    page.goto(server.place + (which if which.startswith("/") else f"/cook/supper/{which}"))
    if which == "now":
        page.locator(".item").last.wait_for()


@pytest.mark.parametrize("screen", SCREENS, ids=[screen.name for screen in SCREENS])
@pytest.mark.parametrize("reader", READERS, ids=[" ".join(reader) for reader in READERS])
def test_no_page_runs_out_at_the_side(
    browser: Browser, server: Server, screen: Screen, reader: tuple[str, str]
) -> None:
    page = at(browser, server, screen, *reader)
    for which in PAGES if reader[0] == "12" else PAGES[:3]:
        open_page(page, server, which)
        wide, out = page.evaluate(WIDE)
        assert (wide, out) == (screen.width, []), which
        assert page.evaluate(INSIDE, ".rooms"), which
    if folder := os.environ.get("PICTURES"):
        open_page(page, server, "now")
        page.screenshot(path=Path(folder) / f"{screen.name} {' '.join(reader)}.png")
    page.context.close()


@pytest.mark.parametrize("screen", [PHONE, ZOOMED, LARGE_LETTERS], ids=["phone", "zoomed", "large letters"])
def test_longer_words_of_another_language_find_room(browser: Browser, server: Server, screen: Screen) -> None:
    page = at(browser, server, screen, "12", "C", language="es")
    for which in (*PAGES, "clock", "how", "/alerts", "/suppers", "/why"):
        open_page(page, server, which)
        wide, out = page.evaluate(WIDE)
        assert (wide, out) == (screen.width, []), which
        assert page.evaluate(INSIDE, ".rooms"), which
    if folder := os.environ.get("PICTURES"):
        for which in ("now", "look", "plan"):
            open_page(page, server, which)
            page.screenshot(path=Path(folder) / f"es {which} {screen.name}.png")
    page.context.close()


@pytest.mark.parametrize("screen", SCREENS, ids=[screen.name for screen in SCREENS])
def test_what_was_tapped_is_confirmed_where_it_can_be_seen(browser: Browser, server: Server, screen: Screen) -> None:
    page = at(browser, server, screen)
    open_page(page, server, "look")
    before = kept(server)
    page.locator(".chips.of label", has_text="butts").click()
    page.locator(".panel:visible .face", has_text="amber").click()
    heard(page, "butts: colour amber")
    assert page.evaluate(INSIDE, "#told")
    assert page.evaluate(INSIDE, "#told .tap")
    assert page.evaluate(WIDE) == [screen.width, []]
    page.locator("#told").get_by_role("button", name="Undo").click()
    heard(page, "Taken back")
    settled(page)
    assert kept(server) == before
    page.context.close()


def test_what_is_not_on_asks_first(browser: Browser, server: Server) -> None:
    page = at(browser, server, PHONE)
    open_page(page, server, "look")
    before = kept(server)
    page.locator(".chips.of label", has_text="thighs").click()
    face(page, "mahogany")
    heard(page, "thighs is not on yet. Record it all the same?")
    assert page.evaluate(INSIDE, "#told .tap")
    settled(page)
    assert kept(server) == before
    page.locator("#told").get_by_role("button", name="Record it").click()
    heard(page, "thighs: colour mahogany")
    settled(page)
    assert kept(server) == [*before, ("colour", "mahogany")]
    page.locator("#told").get_by_role("button", name="Undo").click()
    heard(page, "Taken back")
    settled(page)
    page.context.close()


def test_the_fire_and_the_next_jobs_are_on_the_first_screen(browser: Browser, server: Server) -> None:
    page = at(browser, server, PHONE, "12")
    open_page(page, server, "now")
    fire = page.locator(".wrong").first
    expect(fire).to_contain_text("Fire sinking")
    expect(fire).to_contain_text(GATE)
    expect(fire).to_contain_text("wants 275 °F")
    fire.locator("summary").tap()
    expect(fire.get_by_role("button", name="fed the fire")).to_be_visible()
    expect(fire).to_contain_text("Look at the fire and the fuel.")
    assert "on time" not in page.locator("main").inner_text()
    page.context.close()


THOUGHT = """() => {
  const seen = () => [...document.querySelectorAll(".thinking")].some((one) => one.checkVisibility());
  const look = () => { window.thought ||= seen() };
  new MutationObserver(look).observe(document.body, { attributes: true, childList: true, subtree: true });
}"""
"""Remembers that the page said that it thinks again, for however short a time."""


def test_a_job_is_one_tap_and_what_it_looks_like_two(browser: Browser, server: Server) -> None:
    page = at(browser, server, PHONE)
    open_page(page, server, "now")
    before = kept(server)
    job = page.locator(".jobs > li", has_text="long end racks")
    job.locator("summary").tap()
    page.evaluate(THOUGHT)
    job.get_by_role("button", name="red-brown").tap()
    heard(page, "long end racks: colour red-brown")
    page.wait_for_function("window.thought")  # from the tap on, until the new answer is there, which may be soon
    settled(page)
    assert kept(server) == [*before, ("colour", "red-brown")]
    expect(page.locator(".thinking")).to_be_hidden(timeout=MS)
    page.locator(".jobs > li", has_text="loin").get_by_role("button", name="Done").tap()
    heard(page, "loin: put on")
    settled(page)
    assert kept(server) == [*before, ("colour", "red-brown"), ("put on", "loin")]
    expect(page.locator(".jobs > li", has_text="loin").get_by_text("put on")).to_have_count(0, timeout=MS)
    page.context.close()


def test_a_wide_screen_has_trips_beside_strips(browser: Browser, server: Server) -> None:
    page = at(browser, server, LAPTOP)
    open_page(page, server, "now")
    box = "selector => document.querySelector(selector).getBoundingClientRect().toJSON()"
    left, right = page.evaluate(box, ".first"), page.evaluate(box, ".strips")
    assert left["right"] <= right["left"]
    assert right["right"] > 1400
    letters = page.evaluate(LETTERS)
    body = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.item p')).fontSize)")
    assert letters
    assert all(0.8 * body <= height <= 1.6 * body for height in letters)  # a box is about 1.3 of its letters
    page.context.close()


def test_what_stands_first_is_read_first(browser: Browser, server: Server) -> None:
    """WCAG 2.2, 1.3.2 and 2.4.3: buttons of a job, and groups of Look, come in the order in which they are seen."""
    page = at(browser, server, PHONE)
    placed = """what => [...document.querySelectorAll(what)].map((whole) =>
        [...whole.children].filter((each) => each.checkVisibility() && each.type !== 'hidden').map((each) => {
            const box = each.getBoundingClientRect();
            return [Math.round(box.top), Math.round(box.left)]; }))"""
    for which, what, least in (("now", ".job", 3), ("look", ".panel", 5)):
        page.goto(f"{server.place}/cook/supper/{which}")
        page.locator(what).first.wait_for(state="attached")
        all_of_them = page.evaluate(placed, what)
        assert max(len(each) for each in all_of_them) >= least
        assert all(each == sorted(each) for each in all_of_them), which
    page.context.close()
