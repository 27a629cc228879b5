"""Readers' answers on the page: the file for readers in a browser, taking answers in, who may, what is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.lessons.test_lessons_answers import card
from tests.web.house import settings, town
from tests.web.phones import AXE, MS
from tests.web.test_web_browser import RULES, TARGET
from tests.web.test_web_mixes import finished

from pitreckon.lessons.answers.answer import Answer, text_of
from pitreckon.lessons.answers.folder import take_in
from pitreckon.sheets.writers.answerpage import answer_page, blank_text
from pitreckon.web.live.answers import MOST_SENT, Sent
from pitreckon.web.pages import answers as answerpages
from pitreckon.web.texts import texts_of

pytestmark = pytest.mark.servers
SMALL = """least => [...document.querySelectorAll('button, select, textarea, input, label.tick')].filter((each) => {
    const box = (each.closest('label.tick') ?? each).getBoundingClientRect();
    return box.width > 0 && box.height < least - 4.5;
}).map((each) => each.outerHTML.slice(0, 90))"""


@pytest.mark.asyncio
@pytest.mark.kernel
async def test_answers_are_taken_in_on_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(answerpages, "FILE_WAIT_S", 600.0)
    async with town(settings(tmp_path)) as pit:
        owner, viewer = await pit.owner(), await pit.somebody("viewer", "Ben")
        finished(pit)
        place = "/cook/orchard/card/answers"
        assert f'href="{place}?item=thighs"' in (await owner.get("/cook/orchard/card?item=thighs")).text
        page = await owner.get(f"{place}.html?item=thighs")
        assert page.headers["content-disposition"].startswith("attachment")
        (code,) = re.findall(r'data-code="([^"]+)"', page.text)
        kinds = ("kettle", "pellet-cooker", "oven")
        answers = [
            Answer(code, kinds[n % 3], 125.0, 100.0 + n, ended_s=(6300.0 + 60.0 * n,), came_out=("dry",) * (n % 4 == 0))
            for n in range(9)
        ]
        files = [("files", (f"{n}.txt", text_of(each).encode(), "text/plain")) for n, each in enumerate(answers)]
        assert (await viewer.post(place, {"item": "thighs"}, files=files)).status_code == 403
        assert 'name="files"' not in (await viewer.get(f"{place}?item=thighs")).text
        assert (await owner.post(place, {"item": "thighs", "text": " "})).status_code == 422
        few = await owner.post(place, {"item": "thighs", "text": text_of(answers[0])})
        assert few.status_code == 303
        assert "only 1 answer can be counted" in await owner.there(few.headers["location"])
        sent = await owner.post(place, {"item": "thighs", "text": "good evening"}, files=files)
        assert sent.status_code == 303, sent.text[-2000:]
        told = await owner.there(sent.headers["location"])
        assert "6 of 9" in re.sub(r"<[^>]+>", "", told)
        assert "pasted" in told
        assert "Thrown out" in told
        query = sent.headers["location"].partition("?")[2]
        assert (await viewer.get(f"{place}/report.md?{query}")).status_code == 200
        changed = (await viewer.get(f"{place}/changed.json?{query}")).json()
        assert changed["form"] == "pitreckon card 1"
        assert changed["code"] in (await viewer.get(f"{place}/changed.html?{query}")).text
        assert (await viewer.get(f"{place}/report.ics?{query}")).status_code == 404
        assert (await viewer.get(f"{place}/else.md?{query}")).status_code == 404
        assert (await viewer.get(f"{place}?item=thighs&taken={'0' * 32}")).status_code == 404
        # The same in Spanish.
        await owner.post("/setup/me", {"degrees": "C", "mass": "kg", "language": "es"})
        told = re.sub(r"<[^>]+>", " ", await owner.there(sent.headers["location"]))
        for english in ("The line", "Thrown out", "readers", "promised", "°F"):
            assert english not in told, english


def opened(browser: Browser, folder: Path, language: str = "en") -> Page:
    """The readers' page as a file, in a browser that is told of everything that it asks for."""
    say = texts_of(language).found
    file = folder / "answer.html"
    file.write_text(answer_page(card(), degrees="F", language=language, say=say), encoding="utf-8")
    page = browser.new_context(accept_downloads=True, viewport={"width": 390, "height": 844}).new_page()
    page.set_default_timeout(MS)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda fault: asked.append(str(fault)))
    page.asked = asked  # type: ignore[attr-defined]
    page.goto(file.as_uri())
    return page


def fill(page: Page) -> None:
    page.get_by_label("Kind of pit").select_option("kettle")
    page.get_by_label("How high you live").fill("650")
    page.get_by_label("What the pit was set to").fill("275")
    for n, (hours, minutes) in enumerate((("2", "30"), ("4", "5"), ("4", "20"))):
        page.get_by_label("hours").nth(n).fill(hours)
        page.get_by_label("minutes").nth(n).fill(minutes)
    page.get_by_label("mushy").check()
    page.get_by_label("In your own words").fill("fell <b>apart</b>; card: none")


def test_a_reader_answers_without_a_network(browser: Browser, tmp_path: Path) -> None:
    page = opened(browser, tmp_path)
    page.get_by_role("button", name="Make my answer").click()
    expect(page.get_by_role("alert")).to_have_text("Say which kind of pit it was.")
    fill(page)
    page.get_by_label("as it should be", exact=True).check()
    page.get_by_role("button", name="Make my answer").click()
    expect(page.get_by_role("alert")).to_have_text("It cannot be as it should be and wrong too.")
    page.get_by_label("as it should be", exact=True).uncheck()
    page.get_by_role("button", name="Make my answer").click()
    expect(page.get_by_label("The text")).to_be_visible()
    with page.expect_download() as got:
        page.get_by_role("button", name="Save as a file").click()
    saved = tmp_path / "saved.txt"
    got.value.save_as(saved)
    assert got.value.suggested_filename == f"answer-{card().code}.txt"
    wrote = page.get_by_label("The text").input_value()
    assert saved.read_text("utf-8").strip() == wrote.strip()
    taken = take_in([("saved.txt", saved.read_bytes())], card())
    assert not taken.refused
    (answer,) = taken.answers
    assert (answer.pit, answer.ended_s, answer.came_out) == ("kettle", (9000.0, 14_700.0, 15_600.0), ("mushy",))
    assert answer.note == "fell <b>apart</b>; card: none"
    assert text_of(answer, "F").replace("°", "").split() == wrote.split(), "what was typed, and nothing else"
    assert [each for each in page.asked if not each.startswith(("file:", "blob:"))] == []  # type: ignore[attr-defined]
    page.context.close()


def test_the_readers_page_is_easy_to_read_and_to_touch(browser: Browser, tmp_path: Path) -> None:
    page = opened(browser, tmp_path, "es")
    assert page.get_by_text("Cinco preguntas").count() == 1
    fills = page.get_by_label("Tipo de asador")
    fills.select_option("kettle")
    page.get_by_label("A cuánto estaba puesto el asador").fill("275")
    page.get_by_label("como debe ser", exact=True).check()
    page.get_by_role("button", name="Hacer mi respuesta").click()
    expect(page.get_by_label("El texto")).to_have_value(re.compile("came out: as it should be"))
    assert page.evaluate(SMALL, TARGET) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    session = page.context.new_cdp_session(page)  # its own policy lets no script in but its own
    session.send("Page.setBypassCSP", {"enabled": True})
    page.reload()
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = page.evaluate("rules => axe.run(document, { runOnly: rules })", RULES)
        assert [(v["id"], v["nodes"][0]["html"][:90]) for v in found["violations"]] == []
    page.context.close()


def test_what_is_hostile_in_a_card_stays_text() -> None:
    """A title from somebody else's file is no markup."""
    page = answer_page(replace(card(), title='</title><script>alert("x")</script>'))
    assert "<script>alert" not in page
    assert page.count("<script>") == 1
    assert "pitreckon answer 1" in blank_text(card())


def test_what_was_sent_is_kept_for_a_while() -> None:
    sent = Sent()
    names = [sent.keep(((f"{n}.txt", b"x"),)) for n in range(MOST_SENT + 2)]
    assert sent.files(names[0]) is None
    assert sent.files(names[-1]) == ((f"{MOST_SENT + 1}.txt", b"x"),)
    assert sent.keep((("a", b"bc"),)) != sent.keep((("ab", b"c"),))
