"""Getting in and staying in: a first cook by questions, drafts that outlive the page, planning that can be stopped."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.phones import MS, owner, phone
from tests.web.pit_server import PASSWORD, Server, fill

pytestmark = pytest.mark.servers


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    made = Server(tmp_path / "ledger.sqlite").start()
    yield made
    made.close()


def begin(page: Page) -> None:
    page.get_by_role("link", name="I know what goes on when").tap()
    page.get_by_label("Its name").fill("harvest supper")
    page.get_by_label("To be served").fill("2026-10-17T18:00")


def on(page: Page) -> None:
    page.get_by_role("button", name="Next").tap()


def test_what_is_typed_outlives_the_page_and_the_server(browser: Browser, server: Server) -> None:
    page = owner(browser, server, "start")
    begin(page)
    on(page)
    page.get_by_label("Kind").select_option("kettle")
    page.get_by_role("button", name="Another pit").tap()
    page.get_by_label("Kind").nth(1).select_option("pellet-cooker")
    on(page)
    page.get_by_label("Cut").select_option("boston-butt")
    page.get_by_role("button", name="Another meat").tap()
    page.get_by_label("One weighs").nth(1).fill("3 lb")
    expect(page.locator("#new-cook")).to_have_attribute("data-kept", "yes")
    server.kill()
    server.start()
    again = page.context.new_page()  # as after a dead battery: another page of the same phone
    page.close()
    again.goto(f"{server.place}/new")
    expect(again.get_by_text("What you had typed is here again.")).to_be_visible()
    expect(again.get_by_label("Its name")).to_have_value("harvest supper")
    on(again)
    assert [each.input_value() for each in again.get_by_label("Kind").all()] == ["kettle", "pellet-cooker"]
    on(again)
    expect(again.get_by_label("Cut").first).to_have_value("boston-butt")
    expect(again.get_by_label("One weighs").nth(1)).to_have_value("3 lb")
    again.get_by_role("button", name="Begin with an empty form").tap()
    again.reload()
    expect(again.get_by_label("Its name")).to_have_value("")


def test_a_fault_stands_beside_its_field_and_a_sent_draft_is_done_with(browser: Browser, server: Server) -> None:
    page = owner(browser, server, "start", timezone_id="America/Chicago")
    begin(page)
    on(page)
    page.get_by_label("Kind").select_option("kettle")
    page.get_by_label("Set to").fill("275")
    on(page)
    for n, weight in enumerate(("3 lb", "heavy")):
        if n:
            page.get_by_role("button", name="Another meat").tap()
        page.get_by_label("Cut").nth(n).select_option("st-louis-ribs")
        page.get_by_label("One weighs").nth(n).fill(weight)
        page.get_by_label("Goes on at").nth(n).fill("2026-10-17T12:00")
    on(page)
    page.get_by_role("button", name="Make this cook").tap()
    fault = page.locator("#fault")
    expect(fault).to_contain_text("'heavy' is not a weight")
    field = page.locator("[aria-invalid]")
    assert field.input_value() == "heavy"
    above, below = fault.bounding_box(), field.bounding_box()
    assert above is not None
    assert below is not None
    assert 0 <= below["y"] - above["y"] - above["height"] < 20
    expect(page.get_by_label("One weighs").first).to_have_value("3 lb")
    field.fill("3 lb")
    on(page)
    page.get_by_role("button", name="Make this cook").tap()
    page.wait_for_url("**/now", timeout=MS)
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('pitreckon-draft'))") == []
    # It is two hours after they were to go on, and nobody has recorded anything: they are to be put on now.
    expect(page.locator(".jobs > li").first).to_contain_text("put on", timeout=MS)
    expect(page.locator(".next")).to_contain_text("Be at the pit now")


def test_without_a_script_all_questions_are_there_and_rows_are_added(browser: Browser, server: Server) -> None:
    page = owner(browser, server, "start", java_script_enabled=False)
    page.goto(f"{server.place}/new")
    expect(page.get_by_label("Its name")).to_be_visible()
    expect(page.get_by_label("Cut")).to_be_visible()
    page.get_by_label("One weighs").fill("3 lb")
    page.get_by_role("button", name="Another meat").tap()
    expect(page.get_by_label("Cut")).to_have_count(2)
    expect(page.get_by_label("One weighs").first).to_have_value("3 lb")


def test_an_old_cook_can_be_cooked_again(browser: Browser, tmp_path: Path) -> None:
    fill(tmp_path / "ledger.sqlite")
    server = Server(tmp_path / "ledger.sqlite").start()
    try:
        page = owner(browser, server)
        page.goto(f"{server.place}/new?again=supper")
        expect(page.get_by_label("Its name")).to_have_value("harvest table")
        expect(page.get_by_label("To be served")).to_have_value("")
        on(page)
        expect(page.get_by_label("Kind")).to_have_value("pellet-cooker")
        on(page)
        assert [each.input_value() for each in page.get_by_label("What you call it").locator("visible=true").all()] == [
            "racks",
            "wings",
        ]
        assert [each.input_value() for each in page.get_by_label("Goes on at").all()] == ["", ""]
    finally:
        server.close()


LINES = """[...document.querySelectorAll('main > p:not(.caution)')].reduce((sum, each) =>
    sum + Math.round(each.getBoundingClientRect().height / parseFloat(getComputedStyle(each).lineHeight)), 0)"""


def test_the_first_page_says_what_this_is(browser: Browser, server: Server) -> None:
    page = phone(browser, server).new_page()
    page.goto(f"{server.place}/login")
    page.get_by_label("The owner's password").fill(PASSWORD)
    page.get_by_role("button", name="Come in").tap()
    expect(page.locator(".lead")).to_contain_text("when to be at the pit, to do what")
    expect(page.locator("main")).to_contain_text("Safety stays with your thermometer")
    page.wait_for_load_state()
    page.evaluate("document.fonts.ready")
    assert page.evaluate(LINES) <= 5  # then the ways to begin stand there
    expect(page.get_by_role("link", name="I know what goes on when")).to_be_in_viewport()
    expect(page.get_by_role("link", name="Find out for me")).to_be_in_viewport()
