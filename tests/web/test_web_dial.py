"""Temperatures: an arc that is dragged or turned by keys; the number can be typed, and is all without a script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.phones import MS, go, heard, kept, owner, settled
from tests.web.pit_server import COOK, NOW, PUT_ON, Server, fill

from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    fill(tmp_path / "ledger.sqlite")
    made = Server(tmp_path / "ledger.sqlite", environment={"PIT_RECKONS": "0"}).start()
    yield made
    made.close()


def to_the_pit(page: Page, server: Server) -> None:
    go(page, server, "look")
    page.locator(".chips.of label", has_text="barn pit").tap()


def was_set(server: Server) -> list[float]:
    """By hand: 300 degF are 148.89 degC, 325 are 162.78, 262 are 127.78."""
    with Store.open(server.store) as store:
        return [round(act.air_c, 2) for act in store.ledger("supper").all_acts if act.air_c is not None]


def test_it_is_dragged_turned_by_keys_and_typed(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    to_the_pit(page, server)
    dial = page.locator(".panel:visible .dial").first
    arc, field = dial.locator(".arc"), dial.locator("input")
    expect(arc).to_have_attribute("aria-valuetext", "275 °F")
    box = arc.bounding_box()
    assert box is not None
    across, up = box["x"] + box["width"] / 2, box["y"] + box["width"] * 32 / 300  # the middle of its arc: 300 degF
    tool = page.context.new_cdp_session(page)

    def finger(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": 1} for x, y in at]
        tool.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    finger("touchStart", (across - 60, up + 25))
    finger("touchMove", (across - 20, up + 5))
    finger("touchMove", (across, up))
    finger("touchEnd")
    expect(arc).to_have_attribute("aria-valuetext", "300 °F")
    expect(field).to_have_value("300")
    record = page.locator(".panel:visible .spot").first.get_by_role("button", name="Record")
    expect(record).to_have_text("Record 300 °F")
    record.click()  # a finger that has just dragged is not always taken for a tap by a busy browser
    heard(page, "barn pit: set pit 300 F")
    settled(page)
    arc.focus()
    page.keyboard.press("PageUp")
    expect(field).to_have_value("325")
    record.tap()
    settled(page)
    page.keyboard.press("Tab")
    field.fill("262")
    expect(arc).to_have_attribute("aria-valuetext", "262 °F")
    record.tap()
    settled(page)
    assert was_set(server) == [148.89, 162.78, 127.78]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.faults == []  # type: ignore[attr-defined]


def test_a_thermometer_in_the_meat_and_on_the_grate_are_told_on_dials(browser: Browser, server: Server) -> None:
    page = owner(browser, server)
    go(page, server, "look")
    meat = page.locator(".panel:visible .spot").first
    arc = meat.locator(".arc")
    expect(arc).to_have_attribute("aria-label", "Temperature inside")
    assert (arc.get_attribute("aria-valuemin"), arc.get_attribute("aria-valuemax")) == ("30", "220")
    meat.locator("input").fill("151")
    arc.focus()
    page.keyboard.press("ArrowRight")
    expect(arc).to_have_attribute("aria-valuetext", "152 °F")  # by a degree, and not by five
    meat.get_by_role("button", name="Record 152 °F").tap()
    heard(page, "racks: spot temperature 152 F")
    settled(page)
    page.locator(".chips.of label", has_text="barn pit").tap()
    grate = page.locator(".panel:visible .grate")
    expect(grate.locator(".arc")).to_have_attribute("aria-valuetext", "275 °F")
    grate.locator("input").fill("288")
    grate.get_by_role("button", name="Record 288 °F").tap()
    heard(page, "barn pit: grate temperature 288 F")
    settled(page)
    assert kept(server) == [("put on", "racks"), ("spot temperature", "152 F"), ("grate temperature", "288 F")]
    assert page.locator("[data-step]").count() == 0
    tall = page.locator(".panel:visible .dial input").evaluate_all("a => a.map(e => e.getBoundingClientRect().height)")
    assert min(tall) >= 44


def test_the_page_is_pulled_beside_the_arc(browser: Browser, server: Server) -> None:
    """A finger that lands between the arc and its number moves the page, and no number."""
    page = owner(browser, server)
    to_the_pit(page, server)
    arc = page.locator(".panel:visible .arc").first
    box = arc.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["width"] * 85 / 300)
    expect(arc).to_have_attribute("aria-valuetext", "275 °F")


def test_without_a_script_the_number_is_typed(browser: Browser, server: Server) -> None:
    page = owner(browser, server, java_script_enabled=False)
    to_the_pit(page, server)
    assert page.locator(".arc").count() == 0
    page.locator(".panel:visible .dial input").first.fill("300")
    with page.expect_navigation(timeout=MS):
        page.locator(".panel:visible .spot").first.get_by_role("button").tap()
    assert was_set(server) == [148.89]


def test_on_now_the_arc_and_what_is_typed_outlive_news(browser: Browser, tmp_path: Path) -> None:
    """A job that waits for a core temperature: its number is typed while the other phone records something."""
    plan = COOK.replace('put_on = "2026-10-17 16:45"', 'put_on = "2026-10-17 13:00"')
    fill(tmp_path / "ledger.sqlite", plan)
    with Store.open(tmp_path / "ledger.sqlite") as store:
        store.append("supper", [Entry("wings", Act(PUT_ON, "wings", "put on"), "owner")])
    server = Server(tmp_path / "ledger.sqlite").start()
    try:
        page = owner(browser, server)
        waits = page.locator(".jobs > li", has_text="wings").filter(has=page.locator("summary"))
        waits.locator("summary").tap(timeout=MS)
        field, arc = waits.get_by_role("spinbutton"), waits.locator(".arc")
        expect(arc).to_be_visible()
        field.fill("151")
        expect(arc).to_have_attribute("aria-valuetext", "151 °F")
        page.evaluate("document.querySelector('.jobs').dataset.before = 'yes'")
        with Store.open(server.store) as store:
            store.append("supper", [Entry("fed", Act(NOW, "barn pit", "fed the fire"), "helper")])
        expect(page.locator(".jobs[data-before]")).to_have_count(0, timeout=MS)  # another part has come
        expect(field).to_have_value("151")
        expect(field).to_be_focused()
        expect(arc).to_have_attribute("aria-valuetext", "151 °F")
        waits.get_by_role("button", name="Record 151 °F").tap()
        heard(page, "wings: spot temperature 151 F")
        settled(page)
        assert kept(server)[-1] == ("spot temperature", "151 F")
    finally:
        server.close()
