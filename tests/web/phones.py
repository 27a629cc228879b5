"""A phone in a real browser, and what a person does with it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from tests.web.pit_server import PASSWORD, PATIENCE_S, ROOT, Server

from pitreckon.ledger import Act, Look
from pitreckon.ledger.store import Store
from pitreckon.web.settings import STATIC

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
    of_no_cook = which.split("/", maxsplit=1)[0] in {"setup", "day"}
    page.goto(f"{server.place}/{which}" if of_no_cook else f"{server.place}/cook/{cook}/{which}")
    if which == "now":
        page.locator(".strips").wait_for()
    if which == "plan":
        page.locator(".options").wait_for()


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
    expect(page.locator(".lead")).to_contain_text("likely", timeout=60_000)


def kept(server: Server, cook: str = "supper") -> list[tuple[str, str]]:
    """Looks and acts of the ledger, corrections applied, in the order of taking in."""
    with Store.open(server.store) as store:
        found = store.entries(cook, kinds=("look", "act"))
        return [
            (stored.event.what, stored.event.text if isinstance(stored.event, Look) else stored.event.on)
            for stored in found
            if isinstance(stored.event, Look | Act) and stored.corrected_by is None
        ]


def face(page: Page, word: str) -> None:
    page.locator(".panel:visible .face", has_text=word).tap()


def heard(page: Page, words: str) -> None:
    expect(page.locator("#told")).to_contain_text(words, timeout=MS)


def settled(page: Page) -> None:
    expect(page.locator("body")).to_have_attribute("data-waiting", "0", timeout=MS)
