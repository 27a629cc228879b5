"""The chart on a phone: a moment is read off by a finger or by keys, two fingers pull it apart, shapes tell lines."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from tests.web.many import ENDS, GATE, fill_many
from tests.web.many import NOW as AT
from tests.web.phones import MS, go, owner
from tests.web.pit_server import Server

pytestmark = pytest.mark.servers


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    path = tmp_path_factory.mktemp("chart") / "ledger.sqlite"
    fill_many(path)
    server = Server(path, shows=AT).start()
    made = owner(browser, server)
    go(made, server, "now")
    seen(made, "#chart")
    made.locator(".plot canvas").wait_for(timeout=MS)
    yield made
    assert made.faults == []  # type: ignore[attr-defined]
    server.close()


def seen(page: Page, what: str) -> None:
    """Brings what is there now into view: with each answer the chart is drawn anew, and what was found is gone."""
    page.wait_for_function(
        """what => { const found = document.querySelector(what); found?.scrollIntoView({ block: "center" });
            const box = found?.getBoundingClientRect();
            return box && box.height > 0 && box.top >= 0 && box.top < innerHeight }""",
        arg=what,
        timeout=MS,
    )


def over(page: Page) -> tuple[float, float, float]:
    """Left edge, width and top of where lines are drawn: asked of what is there now, in one go."""
    found = page.wait_for_function(
        """() => { const box = document.querySelector(".u-over")?.getBoundingClientRect();
            return box?.width ? [box.left, box.width, box.top] : null }""",
        timeout=MS,
    )
    left, width, top = found.json_value()
    return left, width, top


def shows(plot: Locator) -> tuple[float, float]:
    begin, _, end = str(plot.get_attribute("data-shows")).partition(" ")
    return float(begin), float(end)


def minutes(page: Page) -> int:
    """The moment that is read off, in minutes of the day."""
    hour, _, minute = page.locator(".chart-at").inner_text().partition(":")
    return 60 * int(hour) + int(minute)


def test_a_finger_reads_a_moment_off(page: Page) -> None:
    """At half past eight the pit's own thermometer said 122 degC, as ``fill_many`` wrote it: 252 degF, by hand."""
    plot = page.locator(".plot")
    seen(page, ".plot canvas")
    begin, end = shows(plot)
    wanted = datetime(2026, 10, 17, 13, 31, tzinfo=UTC)  # 08:31 in Chicago; its reading of 08:30
    left, width, top = over(page)
    page.touchscreen.tap(left + width * (wanted.timestamp() - begin) / (end - begin), top + 80)
    said = page.locator(".chart-at").inner_text()
    assert abs(minutes(page) - (8 * 60 + 31)) <= 2
    pit = page.locator(".chart-key li", has_text="barn pit, measured")
    assert pit.locator("b").inner_text() in {"250 °F", "252 °F", "253 °F"}
    assert page.locator(".chart-key li", has_text=f"{GATE}, measured").locator("b").inner_text() == "–"  # not lit yet
    assert said in str(plot.get_attribute("aria-valuetext"))


def test_keys_read_it_and_pull_it_apart(page: Page) -> None:
    plot = page.locator(".plot")
    plot.focus()
    page.keyboard.press("Escape")
    expect(page.locator(".chart-at")).to_have_text("now")
    page.keyboard.press("ArrowLeft")
    five_ago = minutes(page)
    assert 15 * 60 + 35 <= five_ago <= 15 * 60 + 40  # the clock goes on from 15:40
    page.keyboard.press("PageDown")
    assert minutes(page) == five_ago - 60
    page.keyboard.press("Home")
    assert minutes(page) == 4 * 60 + 30
    for _ in range(10):
        page.keyboard.press("PageUp")
    gate = page.locator(".chart-key li", has_text=f"{GATE}, measured").locator("b")
    expect(gate).to_have_text("275 °F")  # before it sank: 135 degC
    begin, end = shows(plot)
    page.keyboard.press("+")
    closer = shows(plot)
    assert closer[1] - closer[0] == pytest.approx((end - begin) / 2, rel=0.01)
    assert closer[0] <= AT.timestamp() - 65 * 60 <= closer[1]
    page.keyboard.press("0")
    assert shows(plot) == (begin, end)
    page.get_by_role("button", name="closer").tap()
    page.get_by_role("button", name="wider").tap()
    assert shows(plot) == (begin, end)
    assert plot.evaluate("each => each === document.activeElement") is False  # the buttons were touched
    page.get_by_role("button", name="all of it").tap()
    expect(page.locator(".chart-at")).to_have_text("now")


def test_two_fingers_pull_it_apart(page: Page) -> None:
    plot = page.locator(".plot")
    seen(page, ".plot canvas")
    begin, end = shows(plot)
    left, width, top = over(page)
    tool = page.context.new_cdp_session(page)

    def fingers(kind: str, *at: float) -> None:
        points = [{"x": left + width * x, "y": top + 90, "id": n} for n, x in enumerate(at)]
        tool.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 0.4)
    fingers("touchStart", 0.4, 0.6)
    fingers("touchMove", 0.3, 0.7)
    fingers("touchMove", 0.2, 0.8)
    fingers("touchEnd")
    first, last = shows(plot)
    assert last - first == pytest.approx((end - begin) / 3, rel=0.05)
    assert first + 0.2 * (last - first) == pytest.approx(begin + 0.4 * (end - begin), abs=0.02 * (end - begin))
    page.get_by_role("button", name="all of it").tap()
    assert shows(plot) == (begin, end)


def test_every_measured_line_has_a_shape_of_its_own(page: Page) -> None:
    each = "each.querySelector('path:last-child')"
    paths = page.locator(".chart-key li:has(.full, .hollow)").evaluate_all(
        f"all => all.map(each => {each}.getAttribute('d') + {each}.className.baseVal)"
    )
    assert len(paths) == 3
    assert len(set(paths)) == 3
    tall = page.locator(".chart-ways .tap").evaluate_all("all => all.map(each => each.getBoundingClientRect().height)")
    assert min(tall) >= 44


def test_a_new_answer_takes_nothing_from_under_a_finger(page: Page) -> None:
    plot = page.locator(".plot")
    plot.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("+")
    before, at = shows(plot), page.locator(".chart-at").inner_text()
    page.evaluate("document.querySelector('.plot canvas').dataset.old = 'yes'")
    page.evaluate("document.dispatchEvent(new CustomEvent('pitreckon:newer'))")
    page.locator(".plot canvas:not([data-old])").wait_for(timeout=MS)
    expect(page.locator(".chart-at")).to_have_text(at)
    assert shows(plot) == before
    assert plot.evaluate("each => each === document.activeElement")
    page.keyboard.press("0")
    page.keyboard.press("Escape")


def test_each_meat_has_its_strip_of_smoke_on_the_same_axis(page: Page) -> None:
    """What can be done is read off with the moment, and the strips go with what is pulled apart."""
    strips = page.locator(".chart-strips")
    expect(strips).to_have_attribute("data-strips", "6", timeout=MS)
    inked = """each => { const pen = each.getContext("2d");
        const all = pen.getImageData(0, 0, each.width, each.height).data;
        let n = 0; for (let k = 3; k < all.length; k += 4) n += all[k] > 0; return n; }"""
    assert strips.evaluate(inked) > 2000
    before = strips.evaluate("each => each.toDataURL()")
    plot = page.locator(".plot")
    plot.focus()
    page.keyboard.press("Escape")
    opens = page.locator(".chart-key li", has_text="can be done")
    expect(opens.filter(has_text=f"{ENDS}: wrap").first).to_contain_text("%")
    page.keyboard.press("Home")  # nothing can be done yet in the middle of the night
    expect(opens.filter(has_text=f"{ENDS}: wrap")).to_have_count(0)
    page.keyboard.press("+")
    page.wait_for_function(
        "before => document.querySelector('.chart-strips').toDataURL() !== before", arg=before, timeout=MS
    )
    page.keyboard.press("0")
    page.keyboard.press("Escape")


def test_the_ledger_has_the_chart_too(page: Page) -> None:
    here = page.url
    page.goto(here.replace("/now", "/ledger"))
    seen(page, "#temperatures")
    page.locator(".plot canvas").wait_for(timeout=MS)
    expect(page.locator(".chart-key li", has_text="butts 1, probe").locator("b")).to_have_text("176 °F")
    page.goto(here)


def test_without_a_network_the_ledger_has_the_chart_as_it_was(page: Page) -> None:
    page.goto(page.url.rsplit("/", 1)[0] + "/now")
    expect(page.locator("html")).to_have_attribute("data-kept", "5", timeout=MS)
    seen(page, "#temperatures")
    page.locator(".plot canvas").wait_for(timeout=MS)
    page.context.set_offline(True)
    try:
        page.get_by_role("navigation").get_by_role("link", name="Ledger").tap()
        page.locator("body[data-page=ledger]").wait_for()
        seen(page, "#temperatures")
        page.locator(".plot canvas").wait_for()
        expect(page.locator(".chart-key li").first).to_be_visible()
    finally:
        page.context.set_offline(False)
