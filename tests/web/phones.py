"""A phone in a real browser, and what a person does with it."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect, sync_playwright
from tests.patience import PATIENCE_S
from tests.web.pit_server import PASSWORD, ROOT, Server

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act, Look
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.store import Entry, Store
from pitreckon.web.settings import STATIC

FINISHED = ROOT / "validation" / "readers"
CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
WIDTH, HEIGHT = 390, 844
AXE = ROOT / "web-src" / "node_modules" / "axe-core" / "axe.min.js"
MS = PATIENCE_S * 1000
expect.set_options(timeout=MS)  # of its own it waits five seconds, which a busy machine may take over anything


def _have(what: Path, remedy: str) -> None:
    if not what.exists():
        if os.environ.get("CI"):
            pytest.fail(f"{what} is missing: {remedy}")
        pytest.skip(f"{what} is missing: {remedy}")


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's browser, without a window. Where it is missing the test is skipped, and with CI set it fails."""
    _have(CHROMIUM, "sh scripts/make_servers.sh")
    _have(STATIC / ".vite" / "manifest.json", "sh scripts/build_web.sh")
    _have(AXE, "sh scripts/build_web.sh")
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        made = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS, env={**os.environ, "HOME": folder})
        yield made
        made.close()


def phone(browser: Browser, server: Server, **more: object) -> BrowserContext:
    context = browser.new_context(
        viewport={"width": WIDTH, "height": HEIGHT}, device_scale_factor=2, has_touch=True, is_mobile=True, **more
    )
    context.set_default_timeout(MS)
    return context


def owner(browser: Browser, server: Server, to: str = "now", **more: object) -> Page:
    page = phone(browser, server, **more).new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.faults = faults  # type: ignore[attr-defined]
    page.goto(f"{server.place}/login")
    page.get_by_label("The owner's password").fill(PASSWORD)
    page.get_by_role("button", name="Come in").tap()
    page.wait_for_url(f"**/{to}")
    return page


def go(page: Page, server: Server, which: str, cook: str = "supper") -> None:
    if which in {"card", "story"}:
        cook = "orchard"
    if which.startswith("/"):
        page.goto(server.place + which)
        return
    of_no_cook = re.split(r"[/?]", which)[0] in {"setup", "day", "mixes", "why"}
    page.goto(f"{server.place}/{which}" if of_no_cook else f"{server.place}/cook/{cook}/{which}")
    if which == "now":
        page.locator(".strips").wait_for()
    if which == "plan":
        page.locator("#what-if details").first.wait_for()
    if which == "card":
        page.locator(".paper").wait_for(timeout=MS)
    if which == "story":  # the page asks again by itself until it is told
        page.locator(".paper svg.picture").first.wait_for(timeout=MS)


def what_if(page: Page, what: str) -> Locator:
    """The card of a what-if; what is folded with those that bring less is unfolded, as by hand."""
    card = page.locator("#what-if .options > li", has_text=what)
    card.wait_for(state="attached")
    fold = page.locator("#what-if details", has=page.locator("li", has_text=what))
    if fold.count() and fold.get_attribute("open") is None:
        fold.locator("summary").tap()
    return card


DAY = """
[cook]
name = "harvest supper"
zone = "America/Chicago"
serve = "2026-10-17 18:00"
chance = "70 %"

[guests]
adults = 6

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "275 F"

[[item]]
name = "racks"
cut = "st-louis-ribs"
"""


def plan_a_day(page: Page, server: Server) -> None:
    """Fill in what is wanted, as a cook file, and wait for the plan."""
    go(page, server, "day/new")
    page.locator("summary").tap()
    page.get_by_label("Cook file").fill(DAY)
    page.get_by_role("button", name="Plan that").tap()
    page.wait_for_url("**/day")
    expect(page.locator(".lead")).to_contain_text("likely", timeout=MS)


def keep_a_mix(page: Page, server: Server) -> None:
    """Fill in a rub on the phone, and see its weights for seven racks."""
    go(page, server, "mixes/new")
    page.get_by_label("What you call it").fill("gate rub")
    page.get_by_label("What it is").select_option("rub")
    page.get_by_label("so many pieces").fill("2 racks")
    for n, (what, amount) in enumerate((("brown sugar", "40 g"), ("salt", "24 g"), ("paprika", "2 tbsp")), 1):
        page.get_by_label(f"{n}. food or mix").fill(what)
        page.get_by_label("how much").nth(n - 1).fill(amount)
    page.get_by_role("button", name="Keep it").tap()
    page.wait_for_url("**/mixes/gate-rub")
    page.get_by_label("For how much?").fill("7 racks")
    page.get_by_role("button", name="Weigh it").tap()
    expect(page.locator(".weights")).to_contain_text("140 g")  # 40 g for two racks, by hand
    expect(page.locator(".weights")).to_contain_text("84 g")


def finish_a_cook(server: Server) -> None:
    """The orchard supper, long over, in the store of the house."""
    plan = (FINISHED / "orchard-supper.toml").read_text("utf-8")
    log = (FINISHED / "orchard-supper.csv").read_text("utf-8")
    ledger = log_from_text(log, "log", cook_from_text(plan, "plan"))
    with Store.open(server.store) as store:
        store.add_cook(plan, "orchard supper", cook_id="orchard")
        store.append("orchard", [Entry(f"o{n}", event, "box") for n, event in enumerate(ledger.events)])


def kept(server: Server, cook: str = "supper") -> list[tuple[str, str]]:
    """Looks and acts of the ledger, corrections applied, in the order of taking in."""
    with Store.open(server.store) as store:
        found = store.entries(cook, kinds=("look", "act"))
        return [
            (stored.event.kind, stored.event.text)
            if isinstance(stored.event, Look)
            else (stored.event.act, stored.event.on)
            for stored in found
            if isinstance(stored.event, Look | Act) and stored.corrected_by is None
        ]


def face(page: Page, word: str) -> None:
    page.locator(".panel:visible .face", has_text=word).tap()


def heard(page: Page, words: str) -> None:
    expect(page.locator("#told")).to_contain_text(words, timeout=MS)


def settled(page: Page) -> None:
    expect(page.locator("body")).to_have_attribute("data-waiting", "0", timeout=MS)
