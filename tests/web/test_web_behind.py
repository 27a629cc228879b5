"""Pages for what stands behind: suppers by date, a link for the family, alerts with a message to try the way."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import pytest_asyncio
from conftest import COOK
from tests.web.house import NOW, Town, settings, town

from pitreckon.alerts import Alert, alert_settings
from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry
from pitreckon.web.live.alerts import Due, Teller
from pitreckon.web.live.shelf import Shelf
from pitreckon.web.settings import Clock

pytestmark = pytest.mark.asyncio
SETTINGS = """\
# of the barn
[alerts]
urls = ["json://pit.example/secret"]
quiet = "23:00 to 06:00"

[[device]]  # the box by the door
name = "barn box"
unit = "F"
"""


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    (tmp_path / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    async with town(settings(tmp_path)) as made:
        object.__setattr__(made.app.state.app_state.settings, "settings_file", tmp_path / "settings.toml")
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made


async def test_suppers_stand_by_date_with_how_they_came_out(pit: Town) -> None:
    store = pit.app.state.app_state.store
    last = COOK.replace("harvest table", "last week").replace("10-17", "10-10")
    store.add_cook(last, "last week", cook_id="last")  # made later, of an earlier day
    served = NOW - timedelta(days=7) + timedelta(minutes=110)  # 18:25 in Chicago, for 18:00
    assert served.astimezone(ZoneInfo("America/Chicago")).strftime("%H:%M") == "18:25"
    store.append("last", [Entry("s1", Act(served, "wings", "served"))])
    owner = await pit.owner()
    page = (await owner.get("/suppers")).text
    assert page.index("2026-10-17") < page.index("2026-10-10")
    assert "served at 18:25, 25 min late" in page
    assert "planned" in page
    assert 'href="/new?again=last"' in page
    assert 'href="/cook/last/card"' in page
    assert 'href="/cook/wings/card"' not in page  # it is not over
    again = (await owner.get("/new?again=last")).text
    assert 'value="last week"' in again
    viewer = await pit.somebody("viewer", "aunt")
    assert "/new?again" not in (await viewer.get("/suppers")).text


async def test_the_family_sees_now_and_nothing_else(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    owner = await pit.owner()
    page = (await owner.post("/setup/family", {"cook": "wings"})).text
    (link,) = re.findall(r"<code>(http[^<]+/family/[^<]+)</code>", page)
    assert '<div class="qr"' in page
    path = "/family/" + link.rpartition("/family/")[2]
    with pit.browser("10.0.0.21") as aunt, pit.browser("10.0.0.22") as uncle:
        for who in (aunt, uncle):  # it works for all of them, and more than once
            shown = await who.get(path)
            assert shown.status_code == 200
            assert "harvest table" in shown.text
            assert "<form" not in shown.text
            assert 'name="record"' not in shown.text
            assert "set-cookie" not in shown.headers
            assert (await who.get("/cook/wings/now")).status_code == 303  # to the door
            assert (await who.client.get("/cook/wings/export.csv")).status_code == 401
        for bad in (path[:-1], path.replace("wings", "other"), "/family/x"):
            assert (await aunt.get(bad)).status_code in {401, 303}, bad
            assert (await aunt.client.get(bad)).status_code == 401
    hand = await pit.somebody("cook", "hand")
    assert (await hand.post("/setup/family", {"cook": "wings"})).status_code == 403
    later = Clock(1.0, shows=NOW + timedelta(days=1))
    monkeypatch.setattr(type(pit.app.state.app_state.settings.clock), "now", lambda _: later.shows)
    with pit.browser() as aunt:
        ended = await aunt.get(path)
        assert ended.status_code == 410
        assert "ended with its day" in ended.text


FORM = {
    "urls": "json://...\nmailto://...\n",
    "quiet_from": "22:30",
    "quiet_until": "05:00",
    "wake": ["fire sinking", "safety"],
    "below": "30",
    "above": "40",
    "lasting": "8 min",
    "silent": "12 min",
    "back": "15 min",
    "ahead": "25 min",
}


async def test_alerts_are_set_on_a_page_and_the_rest_of_the_file_stays(pit: Town, tmp_path: Path) -> None:
    owner = await pit.owner()
    page = (await owner.get("/alerts")).text
    assert "json://..." in page
    assert "secret" not in page
    assert 'value="23:00"' in page
    form = {**FORM, "urls": "json://..."}
    assert (await owner.post("/alerts", form)).status_code == 303
    text = (tmp_path / "settings.toml").read_text(encoding="utf-8")
    assert text.startswith("# of the barn\n[[device]]  # the box by the door\nname = ")
    assert text.count("[alerts]") == 1
    kept = alert_settings(text, "kept", cook_from_text(COOK, "plan"))
    assert kept.urls == ("json://pit.example/secret",)  # left as it was shown, it stays what it was
    assert kept.wake == ("fire sinking", "safety")
    assert kept.quiet is not None
    assert (f"{kept.quiet.begins:%H:%M}", f"{kept.quiet.ends:%H:%M}") == ("22:30", "05:00")
    assert (kept.below_k, kept.above_k) == (pytest.approx(30 / 1.8), pytest.approx(40 / 1.8))
    assert (kept.lasting_s, kept.silent_s, kept.back_s, kept.ahead_s) == (480.0, 720.0, 900.0, 1500.0)


async def test_what_is_wrong_with_alerts_is_said_and_nothing_is_written(pit: Town, tmp_path: Path) -> None:
    owner = await pit.owner()
    for bad in ({"lasting": "soon"}, {"below": "cold"}, {"quiet_until": ""}):
        answer = await owner.post("/alerts", {**FORM, "urls": "", **bad})
        assert answer.status_code == 422, bad
        assert 'class="fault"' in answer.text
    assert (tmp_path / "settings.toml").read_text(encoding="utf-8") == SETTINGS
    hand = await pit.somebody("cook", "hand")
    assert (await hand.get("/alerts")).status_code == 403
    assert (await hand.post("/alerts", FORM)).status_code == 403


async def test_a_message_tries_the_way(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    went: list[tuple[Alert, tuple[str, ...]]] = []

    def send(alerts: list[Alert], urls: tuple[str, ...]) -> list[Alert]:
        went.append((alerts[0], urls))
        return alerts

    monkeypatch.setattr("pitreckon.alerts.send.send", send)
    owner = await pit.owner()
    page = (await owner.post("/alerts/try")).text
    assert "Sent." in page
    assert went[0][1] == ("json://pit.example/secret",)
    assert "Nothing is wrong" in went[0][0].text


async def test_without_a_settings_file_the_page_says_so(pit: Town) -> None:
    object.__setattr__(pit.app.state.app_state.settings, "settings_file", None)
    owner = await pit.owner()
    assert "without a settings file" in (await owner.get("/alerts")).text
    assert (await owner.post("/alerts", FORM)).status_code == 404


async def test_a_cook_has_another_name_everywhere(pit: Town) -> None:
    owner, looker = await pit.owner(), await pit.somebody("viewer", "aunt")
    assert (await looker.post("/suppers/wings/rename", {"name": "mine"})).status_code == 403
    assert (await owner.post("/suppers/wings/rename", {"name": 'yard "supper"'})).status_code == 303
    row = pit.app.state.app_state.store.cook("wings")
    assert row.name == 'yard "supper"' == cook_from_text(row.plan_toml, "plan").name
    assert row.plan_version == 2  # the plan before is kept with its name
    assert [line for line in row.plan_toml.splitlines() if "name" not in line] == [
        line for line in COOK.splitlines() if "name" not in line
    ]
    assert "yard &#34;supper&#34;" in (await owner.get("/cook/wings/now")).text
    assert (await owner.post("/suppers/wings/rename", {"name": "x\x07"})).status_code == 422
    assert pit.app.state.app_state.store.cook("wings").name == row.name


async def test_what_was_called_off_takes_no_readings_and_tells_nobody(pit: Town) -> None:
    app_state = pit.app.state.app_state
    app_state.store.append("wings", [Entry("e1", Act(NOW, "wings", "put on"))])
    owner = await pit.owner()
    assert [row.id for row, _ in app_state.whose.going_on()] == ["wings"]
    assert (await owner.post("/suppers/wings/off")).status_code == 303
    assert app_state.whose.going_on() == []
    assert "called off 16:35 by owner" in (await owner.get("/suppers")).text
    assert "Called off 16:35" in (await owner.get("/cook/wings/now")).text
    sent: list[str] = []
    teller = Teller(app_state.store, None, app_state.shelf)
    teller.outbox.put = lambda cook_id, url, alerts: sent.append(cook_id)  # type: ignore[method-assign, assignment]
    due = Due(unsent={"json://pit.example": (Alert("safety", "wings", "t", "x", NOW, ("k",)),)})
    teller.send("wings", due)
    assert sent == []
    assert (await owner.post("/suppers/wings/on")).status_code == 303
    teller.send("wings", due)
    assert sent == ["wings"]
    teller.close()
    assert [row.id for row, _ in app_state.whose.going_on()] == ["wings"]


async def test_what_was_recorded_is_put_away_and_what_was_not_is_deleted(pit: Town) -> None:
    app_state = pit.app.state.app_state
    app_state.store.append("wings", [Entry("e1", Act(NOW, "wings", "put on"))])
    app_state.store.add_cook(COOK, "a slip of the thumb", cook_id="slip")
    owner, hand = await pit.owner(), await pit.somebody("cook", "hand")
    assert (await owner.post("/suppers/wings/remove/for-good")).status_code == 422
    assert (await hand.post("/suppers/slip/remove/for-good")).status_code == 403
    assert (await owner.get("/cook/slip/now")).status_code == 200
    assert (await owner.post("/suppers/slip/remove/for-good")).status_code == 303
    assert [row.id for row in app_state.store.cooks()] == ["wings"]
    assert (await owner.get("/cook/slip/now")).status_code == 404
    assert (await owner.post("/suppers/wings/away")).status_code == 303
    assert app_state.cooks() == []
    assert (await owner.get("/")).headers["location"] == "/start"
    page = (await owner.get("/suppers")).text
    assert 'action="/suppers/wings/back"' in page
    assert len(app_state.store.ledger("wings")) == 1  # its ledger is whole
    assert (await owner.post("/suppers/wings/back")).status_code == 303
    assert [row.id for row in app_state.cooks()] == ["wings"]
    again = Shelf(app_state.store)
    assert not again.of("wings").away


async def test_who_is_in_and_which_devices_were_heard(pit: Town) -> None:
    app_state = pit.app.state.app_state
    owner, hand = await pit.owner(), await pit.somebody("cook", "hand")
    token = app_state.accounts.put_device("barn box", None)
    app_state.accounts.put_device("silent box", "wings")
    app_state.store.append("wings", [Entry("e1", Act(NOW, "wings", "put on"))])
    reading = {"at": NOW.isoformat(), "on": "barn kettle", "value": 280, "unit": "F"}
    head = {"Authorization": f"Bearer {token}"}
    answer = await owner.client.post("/api/readings", json=reading, headers=head)
    assert answer.status_code == 200, answer.text
    assert (await hand.get("/people")).status_code == 403
    page = (await owner.get("/people")).text
    box = page[page.index("<b>barn box</b>") :]
    assert "heard just now" in box[: box.index("</li>")]
    silent = page[page.index("<b>silent box</b>") :]
    assert "nothing was heard of it" in silent[: silent.index("</li>")]
    assert "to harvest table" in silent[: silent.index("</li>")]
    hands = page[page.index('<span class="name">hand</span>') :]
    (out,) = re.findall(r'action="(/people/[0-9a-f]+/out/[^"]+)"', hands[: hands.index("</ul>")])
    assert (await hand.get("/cook/wings/now")).status_code == 200
    assert (await owner.post(out)).status_code == 303
    assert (await hand.get("/cook/wings/now")).headers["location"].startswith("/login")
    assert "logged in nowhere" in (await owner.get("/people")).text
    assert (await owner.get("/people")).text.count("this one") == 1
    (shut,) = re.findall(r'action="(/setup/device/[0-9a-f]+/revoke)"', box[: box.index("</li>")])
    assert (await owner.post(shut)).status_code == 303
    assert (await owner.client.post("/api/readings", json=reading, headers=head)).status_code == 401
