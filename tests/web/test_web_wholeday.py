"""A day from an empty house to leftovers, on two phones and the family's, in a real browser, without fixed waits.

With ``PITRECKON_PICTURES`` set the pictures of each moment go into ``docs/pictures/day``.
"""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from tests.web.phones import MS, kept, owner, phone, settled
from tests.web.pit_server import ROOT, Server

pytestmark = pytest.mark.servers
MIDNIGHT = datetime(2026, 10, 17, 5, 0, tzinfo=UTC)  # in Chicago
PICTURES = ROOT / "docs" / "pictures" / "day"


class Day:
    """The house, its hour, and how often somebody had to tap for each task."""

    def __init__(self, folder: Path) -> None:
        self._hour = folder / "hour"
        self._pictures = PICTURES if os.environ.get("PITRECKON_PICTURES") else folder / "pictures"
        self._pictures.mkdir(parents=True, exist_ok=True)
        self.taps: dict[str, int] = {}
        self.at("07:00")
        self.server = Server(folder / "ledger.sqlite", environment={"PIT_CLOCK": str(self._hour)}).start()
        self.cook = ""
        self._token = ""
        self._sent = 0

    def at(self, hand: str) -> datetime:
        """It is so late now."""
        hours, minutes = map(int, hand.split(":"))
        now = MIDNIGHT + timedelta(hours=hours, minutes=minutes)
        half = self._hour.with_suffix(".half")
        half.write_text(now.isoformat(), encoding="utf-8")
        half.replace(self._hour)
        self.now = now
        return now

    def tap(self, task: str, *places: Locator) -> None:
        """Taps of somebody who has a task."""
        for place in places:
            place.tap()
        self.taps[task] = self.taps.get(task, 0) + len(places)

    def picture(self, page: Page, name: str) -> None:
        page.screenshot(path=self._pictures / f"{name}.png", animations="disabled")

    def open(self, page: Page, which: str) -> None:
        page.goto(f"{self.server.place}/cook/{self.cook}/{which}")

    def pair_box(self, page: Page) -> None:
        page.goto(f"{self.server.place}/setup")
        page.locator("#devices").get_by_label("Its name").fill("barn box")
        page.get_by_role("button", name="Make a token").tap()
        self._token = page.locator(".copy code").inner_text()

    def readings(self, on: str, value_f: float, minutes: range) -> None:
        """What the box has sent in the last minutes, from then until now."""
        sent = [
            {"at": (self.now - timedelta(minutes=m)).isoformat(), "on": on, "value": value_f, "unit": "F"}
            for m in minutes
        ]
        head = {"Authorization": f"Bearer {self._token}"}
        answer = httpx.post(
            f"{self.server.place}/api/readings", json={"readings": sent}, headers=head, trust_env=False, timeout=60.0
        )
        assert answer.status_code == 200, answer.text


def test_a_day_from_an_empty_house_to_leftovers(browser: Browser, tmp_path: Path) -> None:
    day = Day(tmp_path)
    try:
        _live(browser, day)
    finally:
        day.server.close()
    if os.environ.get("PITRECKON_PICTURES"):
        lines = [f"| {task} | {taps} |" for task, taps in day.taps.items()]
        (PICTURES / "taps.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert day.taps["the fire is to be lit: done"] == 1
    assert day.taps["a job of the next trip: done"] == 1
    assert day.taps["a job of the next trip: not yet, and how it looks"] == 2
    assert day.taps["a look at what is on, from Now"] == 2
    assert day.taps["the fire is sinking: fed it"] == 2
    assert day.taps["a wrong look taken back"] == 1


def make_the_cook(ours: Page, day: Day) -> None:
    day.picture(ours, "01-0700-the-first-page")
    task = "a first cook by questions"
    day.tap(task, ours.get_by_role("link", name="I know what goes on when"))
    ours.get_by_label("Its name").fill("harvest supper")
    ours.get_by_label("To be served").fill("2026-10-17T18:00")
    day.tap(task, ours.get_by_role("button", name="Next"))
    ours.get_by_label("Kind").select_option("offset-log-burner")
    ours.get_by_label("Set to").fill("275")
    ours.get_by_label("What you call it").locator("visible=true").fill("log burner")
    day.tap(task, ours.get_by_role("button", name="Next"))
    for n, (cut, pieces, weight, at, name) in enumerate(
        (
            ("st-louis-ribs", "6", "2 lb 10 oz", "2026-10-17T12:30", "racks"),
            ("chicken-thigh", "24", "6 oz", "2026-10-17T16:00", "thighs"),
        )
    ):
        if n:
            day.tap(task, ours.get_by_role("button", name="Another meat"))
        ours.get_by_label("Cut").nth(n).select_option(cut)
        ours.get_by_label("Pieces").nth(n).fill(pieces)
        ours.get_by_label("One weighs").nth(n).fill(weight)
        ours.get_by_label("Goes on at").nth(n).fill(at)
        ours.get_by_label("What you call it").locator("visible=true").nth(n).fill(name)
    day.picture(ours, "02-0700-what-goes-on")
    day.tap(task, ours.get_by_role("button", name="Next"), ours.get_by_role("button", name="Make this cook"))
    ours.wait_for_url("**/now")
    day.cook = ours.url.split("/")[-2]
    ours.locator(".strips").wait_for()


def let_a_hand_in(browser: Browser, ours: Page, day: Day) -> Page:
    ours.goto(f"{day.server.place}/setup")
    ours.get_by_role("button", name="Make a link").tap()
    link = ours.locator(".copy code").inner_text()
    theirs = phone(browser, day.server, timezone_id="America/Chicago").new_page()
    theirs.goto(link)
    theirs.get_by_label("Who are you?").fill("hand")
    theirs.get_by_role("button", name="Come in").tap()
    theirs.wait_for_url("**/now")
    return theirs


def twelve_hours(page: Page, day: Day) -> None:
    page.goto(f"{day.server.place}/setup")
    page.get_by_text("6:05 pm").tap()
    with page.expect_navigation():
        page.get_by_role("button", name="Keep").tap()


def told(page: Page, words: str | re.Pattern[str]) -> None:
    expect(page.locator("#told")).to_contain_text(words, timeout=MS)


def thought(page: Page) -> None:
    """What was tapped is kept, and the outlook knows of it."""
    settled(page)
    expect(page.locator(".thinking")).to_have_attribute("data-behind", "no", timeout=MS)


def job(page: Page, words: str) -> Locator:
    return page.locator(".jobs > li", has_text=words)


def _live(browser: Browser, day: Day) -> None:
    ours = owner(browser, day.server, "start", timezone_id="America/Chicago")
    twelve_hours(ours, day)
    ours.goto(f"{day.server.place}/start")
    make_the_cook(ours, day)
    theirs = let_a_hand_in(browser, ours, day)
    day.pair_box(ours)

    # Half past eleven: the fire is to be lit, which nobody had to plan.
    day.at("11:31")
    day.open(ours, "now")
    expect(job(ours, "light")).to_contain_text("steady at 275 °F by 12:30 pm", timeout=MS)
    expect(ours.locator(".next")).to_contain_text(re.compile("Be at the pit now|Something is due"), timeout=MS)
    day.picture(ours, "02b-1131-light")
    day.tap("the fire is to be lit: done", job(ours, "light").get_by_role("button", name="Done"))
    told(ours, "log burner: lit")
    thought(ours)

    # Half past twelve: the racks go on with one tap, and the other phone has it.
    day.at("12:31")
    day.readings("log burner", 275, range(60, 0, -5))
    day.open(ours, "now")
    expect(ours.locator(".next")).to_contain_text(re.compile("Be at the pit now|Something is due"), timeout=MS)
    expect(job(ours, "racks")).to_contain_text("put on")
    day.picture(ours, "03-1231-put-on")
    day.tap("a job of the next trip: done", job(ours, "racks").get_by_role("button", name="Done"))
    told(ours, "racks: put on")
    thought(ours)
    expect(theirs.locator(".item").first).to_contain_text("in the smoke", timeout=MS)
    settled(ours)

    # Half past one: a look from Now, and a wrong one taken back.
    day.at("13:30")
    day.readings("log burner", 277, range(58, 0, -4))
    look = "a look at what is on, from Now"
    day.tap(look, ours.get_by_role("navigation").get_by_role("link", name="Look"))
    face = ours.locator(".panel:visible .face")
    day.tap(look, face.filter(has_text="amber"))
    told(ours, "racks: colour amber")
    settled(ours)
    face.filter(has_text="too dark").tap()
    told(ours, "colour too dark")
    day.picture(ours, "04-1330-a-wrong-look")
    day.tap("a wrong look taken back", ours.locator("#told").get_by_role("button", name="Undo"))
    told(ours, "Taken back")
    settled(ours)
    sure = [("lit", "log burner"), ("put on", "racks"), ("colour", "amber")]
    assert kept(day.server, day.cook) == sure

    # Three: the fire sinks. It stands on top, and two taps tell what was done.
    day.at("15:00")
    day.readings("log burner", 276, range(88, 24, -4))
    day.readings("log burner", 205, range(22, 0, -2))
    ours.get_by_role("navigation").get_by_role("link", name="Now").tap()
    fire = ours.locator(".wrong").first
    expect(fire).to_contain_text("Fire sinking", timeout=MS)
    expect(fire).to_contain_text("205 °F, wants 275 °F")
    day.picture(ours, "05-1500-fire-sinking")
    fed = "the fire is sinking: fed it"
    day.tap(fed, fire.locator("summary"))
    day.picture(ours, "06-1500-what-to-do")
    day.tap(fed, fire.get_by_role("button", name="fed the fire"))
    told(ours, "log burner: fed the fire")
    thought(ours)
    sure.append(("fed the fire", "log burner"))

    # Twenty past three: the wifi goes for twenty minutes. Pages change, a look waits, nothing is lost.
    day.at("15:20")
    day.readings("log burner", 270, range(18, 0, -2))
    expect(ours.locator("html")).to_have_attribute("data-kept", re.compile("[45]"), timeout=MS)
    ours.context.set_offline(True)
    ours.get_by_role("navigation").get_by_role("link", name="Look").tap()
    expect(ours.locator("#heard")).to_contain_text("No network. You can go on recording.")
    ours.locator(".panel:visible .face", has_text="red-brown").tap()
    told(ours, "racks: colour red-brown")
    expect(ours.locator("#outbox li")).to_have_count(1)
    day.picture(ours, "07-1520-no-network")
    assert kept(day.server, day.cook) == sure
    day.at("15:40")
    ours.context.set_offline(False)
    settled(ours)
    sure.append(("colour", "red-brown"))
    assert kept(day.server, day.cook) == sure

    # Four: the thighs go on, with a probe. The job that waits for a colour is answered with how it looks.
    day.at("16:01")
    day.readings("log burner", 274, range(38, 0, -4))
    day.open(theirs, "now")
    expect(job(theirs, "thighs")).to_contain_text("put on", timeout=MS)
    day.picture(theirs, "08-1601-the-hand-s-phone")
    job(theirs, "thighs").get_by_role("button", name="Done").tap()
    told(theirs, "thighs: put on")
    thought(theirs)
    sure.append(("put on", "thighs"))
    waits = theirs.locator(".jobs > li", has=theirs.locator("summary")).first
    waits.wait_for(timeout=MS)
    meat = waits.locator(".name").first.inner_text()
    not_yet = "a job of the next trip: not yet, and how it looks"
    day.tap(not_yet, waits.locator("summary"))
    day.picture(theirs, "09-1601-not-yet")
    tap = waits.locator("details button[name=record]").last
    what = (tap.get_attribute("value") or "").split("|")[1]
    day.tap(not_yet, tap)
    told(theirs, meat)
    thought(theirs)
    assert kept(day.server, day.cook)[:-1] == sure
    assert kept(day.server, day.cook)[-1][0] == what
    sure = kept(day.server, day.cook)

    # The family follows by a link of its own.
    ours.goto(f"{day.server.place}/setup")
    ours.get_by_role("button", name="A link for the family").tap()
    link = ours.locator(".copy code").inner_text()
    family = phone(browser, day.server).new_page()
    family.goto(link)
    expect(family.locator(".item")).to_have_count(2, timeout=MS)
    assert family.locator("form").count() == 0
    day.picture(family, "10-1601-the-family")

    # Half past four: the probe that was in the thighs has fallen out.
    day.at("16:30")
    day.readings("log burner", 276, range(28, 0, -4))
    day.readings("thighs", 118, range(26, 17, -2))
    day.open(ours, "look")
    ours.locator(".panel:visible .face", has_text="mahogany").tap()
    told(ours, "colour mahogany")
    settled(ours)
    sure.append(("colour", "mahogany"))
    ours.get_by_role("navigation").get_by_role("link", name="Now").tap()
    out = ours.locator(".wrong", has_text="Probe fell out")
    expect(out).to_contain_text("thighs", timeout=MS)
    expect(out).to_contain_text("silent since 4:12 pm")
    expect(ours.locator(".item", has_text="thighs").locator(".numbers")).to_contain_text(
        "your probe 118 °F, 18 min ago"
    )
    day.picture(ours, "11-1630-probe-fell-out")
    out.locator("summary").tap()
    out.get_by_role("button", name="Seen").tap()
    expect(ours.locator(".wrong", has_text="Probe fell out")).to_have_count(0, timeout=MS)

    # A quarter past five: everything comes off, and the thighs rest while the clock counts.
    day.at("17:15")
    day.readings("log burner", 275, range(44, 0, -4))
    for meat in ("racks", "thighs"):
        day.open(ours, "look")
        ours.locator(".chips.of label", has_text=meat).tap()
        ours.locator(".panel:visible .acts").get_by_role("button", name="took off").tap()
        told(ours, f"{meat}: took off")
        settled(ours)
        sure.append(("took off", meat))
    day.open(ours, "now")
    resting = ours.locator(".item", has_text="thighs").locator("[data-ends]")
    expect(resting).to_contain_text(re.compile(r"resting, \d min left"), timeout=MS)
    day.picture(ours, "12-1715-resting")
    day.open(ours, "clock")
    expect(ours.locator("#hands")).to_contain_text(re.compile(r"5:(1[5-9]|2\d)"))
    day.picture(ours, "13-1715-big-clock")

    # Six: on the table. Then the record, and the list of suppers.
    day.at("18:02")
    for meat in ("racks", "thighs"):
        day.open(ours, "look")
        ours.locator(".chips.of label", has_text=meat).tap()
        ours.locator(".panel:visible .acts").get_by_role("button", name="served").tap()
        told(ours, f"{meat}: served")
        settled(ours)
        sure.append(("served", meat))
    assert kept(day.server, day.cook) == sure
    day.open(ours, "now")
    expect(ours.locator(".next")).to_contain_text(re.compile(r"Served at 6:0\d pm"), timeout=MS)
    expect(ours.locator(".next")).to_contain_text("What is left over: into the cold by 8:0")
    day.picture(ours, "14-1802-served")
    day.at("19:30")
    ours.goto(f"{day.server.place}/suppers")
    expect(ours.locator("main")).to_contain_text(re.compile(r"served at 6:0\d pm"))
    day.picture(ours, "15-1930-suppers")
    assert ours.faults == []  # type: ignore[attr-defined]
