"""The page in a real browser, on a phone-sized screen: a day at the pit, with the network and the server going away."""

from __future__ import annotations

import gzip
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.patience import until
from tests.web.phones import (
    AXE,
    CHROMIUM,
    FLAGS,
    WIDTH,
    face,
    finish_a_cook,
    go,
    heard,
    keep_a_mix,
    kept,
    owner,
    phone,
    plan_a_day,
    settled,
)
from tests.web.pit_server import PASSWORD, ROOT, Server, fill
from tests.web.taught import LATER, argue, fill_house

from pitreckon.ledger.store import Store
from pitreckon.web.access.accounts import Accounts
from pitreckon.web.app import utc_now
from pitreckon.web.settings import STATIC

pytestmark = pytest.mark.servers

TARGET = 48
PICTURES = ROOT / "docs" / "pictures" / "day"
THEMES = ("light", "dark", "sun")
PAGES = ("now", "look", "plan", "ledger", "setup")
FIRST_PAGE = 150_000
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def test_the_network_goes_and_comes_back(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    page.context.set_offline(True)
    for word in ("tan", "amber", "red-brown"):
        face(page, word)
        heard(page, word)
    page.locator(".panel:visible .feel").get_by_role("button", name="firm").tap()
    waiting = page.locator("#outbox li")
    expect(waiting).to_have_count(4)
    expect(waiting.first).to_contain_text("waiting to be sent")
    expect(page.locator("#heard")).to_contain_text("4 to be sent")
    waiting.nth(1).get_by_role("button", name="take back").tap()
    expect(waiting).to_have_count(3)
    assert kept(server) == [("put on", "racks")]
    page.context.set_offline(False)
    settled(page)
    assert kept(server)[1:] == [("colour", "tan"), ("colour", "red-brown"), ("probe feel", "firm")]


def test_the_server_dies_and_comes_back(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    face(page, "tan")
    settled(page)
    server.kill()
    face(page, "amber")
    expect(page.locator("#outbox li")).to_have_count(1)
    page.goto("about:blank")  # the page is closed as well; what was recorded is not lost with it
    server.start()
    go(page, server, "look")
    settled(page)
    assert kept(server)[1:] == [("colour", "tan"), ("colour", "amber")]


def test_an_answer_that_is_lost_doubles_nothing(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    lost: list[str] = []

    def lose(route):  # type: ignore[no-untyped-def]
        if len(lost) < 2:
            route.fetch()  # the server has it and has answered; the phone never hears of it
            lost.append(route.request.post_data)
            route.abort()
        else:
            route.continue_()

    page.route("**/events", lose)
    face(page, "amber")
    settled(page)
    assert len(lost) == 2
    assert lost[0] == lost[1]
    assert kept(server)[1:] == [("colour", "amber")]


def test_what_the_server_refuses_is_shown_and_stops_nothing(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    page.locator(".panel:visible input[name^=spot]").fill("999")
    page.locator(".panel:visible .spot").get_by_role("button", name=re.compile("Record")).tap()
    expect(page.locator("#outbox li")).to_contain_text("fault code")
    face(page, "amber")
    expect(page.locator("#part")).to_contain_text("colour amber")
    assert kept(server)[1:] == [("colour", "amber")]


def test_a_session_that_has_ended_leads_to_the_door_and_back(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    page.route("**/stream", lambda route: route.abort())  # it hears of nothing by itself: what is tapped tells it
    go(page, server, "look")
    other = page.context.new_page()
    go(other, server, "setup")
    other.get_by_role("button", name="Log out").tap()
    other.wait_for_url("**/login")
    face(page, "amber")  # it waits at the phone till somebody is let in again
    expect(page).to_have_url(re.compile(r"/login\?to=%2Fcook%2Fsupper%2Flook$"))
    page.get_by_label("The owner's password").fill(PASSWORD)
    page.get_by_role("button", name="Come in").tap()
    page.wait_for_url("**/cook/supper/look")
    settled(page)
    assert kept(server)[1:] == [("colour", "amber")]


def test_over_plain_http_nothing_more_is_needed(browser: Browser, tmp_path: Path) -> None:
    """A name of a home network is no secure context: no service worker. The page works all the same."""
    fill(tmp_path / "ledger.sqlite")
    server = Server(tmp_path / "ledger.sqlite").start()
    other = browser.browser_type.launch(
        executable_path=str(CHROMIUM), args=[*FLAGS, "--host-resolver-rules=MAP pit.lan 127.0.0.1"]
    )
    try:
        page = phone(other, server).new_page()
        place = server.place.replace("localhost", "pit.lan")
        page.goto(f"{place}/login")
        assert page.evaluate("isSecureContext") is False
        assert page.evaluate("'serviceWorker' in navigator") is False
        page.get_by_label("The owner's password").fill(PASSWORD)
        page.get_by_role("button", name="Come in").tap()
        page.wait_for_url("**/now")
        page.locator(".strips").wait_for()
        expect(page.locator("html")).to_have_attribute("data-kept", "5")
        page.context.set_offline(True)
        for which, shows in (("Look", "What do you see?"), ("Plan", "On paper"), ("Ledger", "looks and acts")):
            page.get_by_role("navigation").get_by_role("link", name=which).tap()
            expect(page.locator("body")).to_contain_text(shows)
            expect(page.locator("#heard")).to_contain_text("No network. You can go on recording.")
        page.get_by_role("navigation").get_by_role("link", name="Set-up").tap()
        expect(page.locator("body")).to_contain_text("How you read it")
        page.get_by_role("button", name="Keep").tap()  # what needs the server stays on the page and says so
        heard(page, "No network")
        page.get_by_role("navigation").get_by_role("link", name="Now").tap()
        expect(page.locator(".item")).to_have_count(2)
        page.go_back()
        expect(page.locator("body")).to_contain_text("How you read it")
        page.get_by_role("navigation").get_by_role("link", name="Look").tap()
        face(page, "amber")
        expect(page.locator("#outbox li")).to_have_count(1)
        page.get_by_role("navigation").get_by_role("link", name="Now").tap()
        expect(page.locator(".thinking")).to_be_visible()
        page.context.set_offline(False)
        settled(page)
        assert kept(server)[1:] == [("colour", "amber")]
    finally:
        other.close()
        server.close()


def test_where_it_is_secure_the_page_opens_with_the_server_dead(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "now")
    page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
    page.reload()
    page.locator(".strips").wait_for()
    go(page, server, "look")
    go(page, server, "now")
    server.kill()
    page.reload()
    expect(page.locator(".next")).to_contain_text("wrap")
    page.get_by_role("link", name="Look").tap()
    face(page, "amber")
    expect(page.locator("#outbox li")).to_have_count(1)


def test_without_a_script_it_shows_and_records(browser: Browser, server: Server) -> None:
    page = owner(browser, server, java_script_enabled=False)

    def is_there() -> bool:  # the server waits for the first outlook, and a page without a script is asked for again
        page.goto(f"{server.place}/cook/supper/now")
        return page.locator(".strip").count() >= 3

    until(is_there, "the strips of the first outlook", every_s=0.3)
    page.goto(f"{server.place}/cook/supper/look")
    page.get_by_text("racks", exact=True).first.tap()
    face(page, "amber")
    expect(page.locator(".saved")).to_be_visible()
    assert kept(server)[1:] == [("colour", "amber")]


@pytest.fixture(scope="module")
def shown(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Page, Server]]:
    """One house for all who only look."""
    path = tmp_path_factory.mktemp("shown") / "ledger.sqlite"
    with Store.open(path) as store:
        fill_house(store, pit="gate pit", first=LATER)
        argue(store, pit="gate pit")
        door = Accounts(store, utc_now)
        door.pair(door.pairing("cook"), "hand")  # who may be sent away, and a device that may be shut out
        door.put_device("barn box", None)
    fill(path)  # made last, it is the one that is looked at first
    server = Server(path).start()
    page = owner(browser, server)
    plan_a_day(page, server)
    if os.environ.get("PITRECKON_PICTURES"):
        page.screenshot(path=PICTURES / "16-planned-day.png", animations="disabled")
    keep_a_mix(page, server)
    finish_a_cook(server)
    go(page, server, "plan")
    yield page, server
    server.close()


def put_on(page: Page, theme: str) -> None:
    page.emulate_media(reduced_motion="reduce")  # else colours change over a tenth of a second
    page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)


ASKED = "why?cut=st-louis-ribs&set=275&on=5&came_out=tough&came_out=too+dark"
MORE = (
    "clock",
    "/start",
    "/new",
    "/suppers",
    "/house",
    "how",
    "/alerts",
    "/people",
    "sheet",
    "day",
    "day/new",
    "day/shopping",
    "mixes",
    "mixes/new",
    "mixes/gate-rub",
    "card",
    "/cook/orchard/card/answers",
    "story",
    "why",
    ASKED,
)


@pytest.mark.parametrize("which", [*PAGES, *MORE, "api"])
def test_axe_finds_nothing(shown: tuple[Page, Server], which: str) -> None:
    page, server = shown
    if which == "api":
        page.goto(f"{server.place}/api")
    else:
        go(page, server, which)
    page.evaluate(OPEN_ALL)
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    for theme in THEMES:
        put_on(page, theme)
        found = page.evaluate("rules => axe.run(document, { runOnly: rules })", RULES)
        faults = [(v["id"], [node["html"][:90] for node in v["nodes"]]) for v in found["violations"]]
        assert found["passes"]
        assert faults == [], theme


def test_axe_finds_nothing_at_the_door(browser: Browser, shown: tuple[Page, Server]) -> None:
    _, server = shown
    page = phone(browser, server).new_page()
    for path in ("/login", "/cook/none/now", "/pair/none"):
        page.goto(server.place + path)
        page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
        found = page.evaluate("rules => axe.run(document, { runOnly: rules })", RULES)
        assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"]] == []


OPEN_ALL = "document.querySelectorAll('main details').forEach((each) => { each.open = true })"
SMALL = """least => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter((each) => {
    const seen = ['radio', 'checkbox'].includes(each.type) ? document.querySelector(`label[for="${each.id}"]`) : each;
    const box = seen.getBoundingClientRect();
    const inText = each.tagName === 'A' && !each.classList.contains('tap') && !each.closest('nav');
    return box.width > 0 && !inText && each.type !== 'hidden' && !each.classList.contains('skip')
        && (box.height < least - 0.5 || box.width < least - 0.5);
}).map((each) => each.outerHTML.slice(0, 90))"""


@pytest.mark.parametrize("which", [*PAGES, *MORE])
def test_what_is_touched_is_large(shown: tuple[Page, Server], which: str) -> None:
    page, server = shown
    go(page, server, which)
    page.evaluate(OPEN_ALL)
    assert page.evaluate(SMALL, TARGET) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTH


def test_nothing_is_in_trouble(shown: tuple[Page, Server]) -> None:
    """Once all that is reckoned beside the outlook is there, too."""
    page, server = shown
    go(page, server, "plan")
    for which in ("now", "plan"):
        go(page, server, which)
        assert "Error" not in page.locator("main").inner_text()
        assert page.locator(".trouble").count() == 0


@pytest.mark.parametrize("theme", THEMES)
def test_the_first_screen_needs_no_scrolling(shown: tuple[Page, Server], theme: str) -> None:
    page, server = shown
    go(page, server, "now")
    put_on(page, theme)
    ends = page.evaluate("document.querySelector('.strips').getBoundingClientRect().bottom")
    nav = page.evaluate("document.querySelector('.rooms').getBoundingClientRect().top")
    assert ends <= nav


def test_the_first_page_is_light(shown: tuple[Page, Server]) -> None:
    page, server = shown
    go(page, server, "now")
    markup = len(gzip.compress(page.content().encode()))
    built = [path for path in (STATIC / "assets").iterdir() if path.suffix in {".js", ".css", ".woff2"}]
    assert len(built) >= 5
    assert markup + sum(len(gzip.compress(path.read_bytes())) for path in built) < FIRST_PAGE


@pytest.mark.parametrize("which", [*PAGES, "/new", "/suppers", "/house", "how", "clock", "/alerts", "mixes/gate-rub"])
def test_the_keyboard_reaches_everything(shown: tuple[Page, Server], which: str) -> None:
    """By Tab from group to group, and by arrows inside one."""
    page, server = shown
    go(page, server, which)
    page.locator("html.script").wait_for()
    wanted = page.evaluate(
        "[...document.querySelectorAll('a, button, select, textarea, summary')]"
        ".filter((each) => each.checkVisibility() && each.tabIndex >= 0).length"
    )
    reached: list[str] = []
    for _ in range(200):
        page.keyboard.press("Tab")
        mark = page.evaluate("""() => { const e = document.activeElement; e.dataset.seen ??= String(Math.random());
            return e === document.body ? '' : e.tagName + e.dataset.seen }""")
        if reached and mark in {"", reached[0]} and mark != reached[-1]:
            break
        if mark not in reached:  # a date has several stops
            reached.append(mark)
    buttons = [mark for mark in reached if re.match(r"A|BUTTON|SELECT|TEXTAREA|SUMMARY", mark)]
    assert len(buttons) >= wanted


COUNTS = """
    window.fetched = window.news = 0;  // from the first moment on
    document.addEventListener('pitreckon:newer', () => window.news++);
    const plain = window.fetch;
    window.fetch = (what, ...more) => {
        window.fetched += String(what.url ?? what).endsWith('/look/part');
        return plain(what, ...more); };
    window.EventSource = class extends EventSource {
        constructor(...given) { super(...given); window.stream = this; } };
"""


def test_a_look_that_was_recorded_here_is_fetched_when_the_server_tells_of_it(browser: Browser, server: Server) -> None:
    """And not once more for the answer to what was sent; the server tells twice where its outlook takes long."""
    page = owner(browser, server)
    page.add_init_script(COUNTS)
    go(page, server, "look")
    page.wait_for_function("window.stream?.readyState === EventSource.OPEN")
    face(page, "amber")
    expect(page.locator("#part")).to_contain_text("colour amber")
    settled(page)
    page.wait_for_timeout(4000)  # longer than the page waits for the word of the server
    fetched, news = page.evaluate("[window.fetched, window.news]")
    assert 1 <= fetched <= news


def test_arrows_go_on_inside_a_group_and_tab_goes_to_the_next(shown: tuple[Page, Server]) -> None:
    page, server = shown
    go(page, server, "look")
    stops = (
        "[...document.querySelectorAll('.panel')].find((e) => e.checkVisibility()).querySelectorAll('.faces > button')"
    )
    assert page.evaluate(f"[...{stops}].filter((each) => each.tabIndex === 0).length") == 1
    page.locator(".panel:visible .faces > button").first.focus()
    said = "document.activeElement.textContent.trim()"
    heard = []
    for key in ("ArrowRight", "ArrowDown", "End", "ArrowRight", "Home"):
        page.keyboard.press(key)
        heard.append(page.evaluate(said))
    assert heard == ["tan", "amber", "too dark", "raw", "raw"]
    page.keyboard.press("Tab")
    assert page.evaluate(said) == "Measure the colour in a photo"
    page.keyboard.press("Tab")
    assert page.evaluate(said) == "comes off"


NAMES = {
    "now": [
        "level=1",
        "Next trip|Be at the pit|Something is due",
        "Away until",
        "Ready by",
        "Still at its best",
        "wings",
    ],
    "look": [
        "What do you see",
        "Of what",
        "racks",
        "Just done",
        "Colour outside",
        "tan",
        "I have just",
        "Recorded last",
    ],
    "plan": ["Trips to the pit", "What if, now", "Each course", "On paper"],
    "ledger": ["Kind", "Show", "put right|Put right", "All as CSV"],
    "/setup": ["Suppers", "A new cook", "How you read it", "Who may come in", "Alerts", "Devices"],
    "/new": ["A new cook", "What is the occasion", "Its name", "To be served", "Next"],
    "clock": ["level=1", "The hour", "paragraph"],
    "how": ["How was it", "You say", "radio", "For next time", "Keep it", "What went wrong"],
    "record": ["Safety record|to print", "What was done to the meat", "MEASURED", "What it rests on"],
    "card": ["For so many pieces", "It serves", "Write the card", "What you need", "What to do", "Who gets this plate"],
    "sheet": ["to print", "Run sheet", "Mind", "The meat", "The pits"],
    "/start": ["level=1", "link"],
    "/suppers": ["level=1", "harvest table", "Show harvest table", "Cook .* again", "Recipe card of"],
    "/house": [
        *("What this house has learned", "The pits", "gate pit", "How it moved", "Say it outright"),
        *("Start anew", "Whose hand", "The meat as you buy it", "The cooks it learned from", "All suppers by date"),
    ],
    "/alerts": ["level=1", "What is wrong stands on top"],
    "/people": ["level=1", "owner|Owner|mine"],
    "day": ["The plan", "likely"],
    "day/new": ["Its name", "To be served", "Time zone"],
    "mixes": ["Mixes", "gate rub"],
    "mixes/gate-rub": ["For how much", "Weigh it", "Weights", "Tastes", "A serving"],
    "why": ["How did it come out", "What was it", "The pit", "The wrap", "The end", "Ask"],
}
"""Each page's own, one after the other; what stands on all of them is looked at with each."""


@pytest.mark.parametrize("which", list(NAMES))
def test_names_are_read_in_their_order(shown: tuple[Page, Server], which: str) -> None:
    """By the browser's own accessibility tree, as a screen reader goes through it."""
    page, server = shown
    go(page, server, which)
    tree = page.locator("body").aria_snapshot()
    at = 0
    for name in NAMES[which]:
        found = re.compile(name).search(tree, at)
        assert found, (name, tree[at : at + 600])
        at = found.start()
    nameless = re.findall(r"- (?:button|link|textbox|combobox|checkbox|radio)$", tree, re.MULTILINE)
    assert nameless == []


def test_reduced_motion_and_forced_colours_are_kept_to(browser: Browser, shown: tuple[Page, Server]) -> None:
    _, server = shown
    page = owner(browser, server, reduced_motion="reduce", forced_colors="active")
    go(page, server, "look")
    assert page.evaluate("getComputedStyle(document.querySelector('.tap')).transitionDuration") in {"0s", ""}
    chosen = "getComputedStyle(document.querySelector('.chips input:checked + label')).backgroundColor"
    other = "getComputedStyle(document.querySelector('.chips input:not(:checked) + label')).backgroundColor"
    assert page.evaluate(chosen) != page.evaluate(other)  # what is chosen is told apart in a system's own colours
    page.goto(f"{server.place}/house")
    line = "[getComputedStyle(document.querySelector('.moved .way')).stroke, getComputedStyle(document.body).color]"
    stroke, text = page.evaluate(line)
    assert stroke == text, "a picture's lines are in the system's own colour, as its text is"
    page.context.close()


def test_the_whole_script_and_style_are_light() -> None:
    built = [path for path in (STATIC / "assets").iterdir() if path.suffix in {".js", ".css"}]
    assert len(built) >= 4
    assert sum(len(gzip.compress(path.read_bytes())) for path in built) <= 120_000
