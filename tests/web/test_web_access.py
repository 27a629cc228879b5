"""Without a session no page, no event, no stream; a viewer may look; a device may only add readings."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import httpx
import pytest
import pytest_asyncio
from conftest import COOK
from tests.web.house import NOW, PLACE, Town, settings, town

from pitreckon.web import pages
from pitreckon.web.access import accounts as keep
from pitreckon.web.access.secrets import Passwords, Seal, digest
from pitreckon.web.app import ROUTERS

LOOK = {"id": "look-1", "at": NOW.isoformat(), "kind": "look", "on": "wings", "what": "colour", "value": "amber"}
pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made


def _paths(town: Town) -> list[tuple[str, str]]:
    found = []
    for route in [*town.app.routes, *(route for router in ROUTERS for route in router.routes)]:
        for method in sorted(getattr(route, "methods", None) or ()):
            path = route.path.replace("{cook_id}", "wings")
            found.append((method, re.sub(r"\{\w+\}", "x", path)))
    assert len(found) > 30
    return found


OPEN = {"/login", "/pair/x", "/health", "/manifest.webmanifest", "/sw.js", "/api/readings"}


async def test_every_file_of_routes_is_served() -> None:
    found = [import_module(f"{pages.__name__}.{each.name}") for each in iter_modules(pages.__path__)]
    assert [each.__name__ for each in found if hasattr(each, "router")] == [each.__name__ for each in pages.PAGES]


async def test_nothing_answers_without_a_session(pit: Town) -> None:
    with pit.browser() as stranger:
        closed = [each for each in _paths(pit) if each[1] not in OPEN and not each[1].startswith("/static")]
        assert len(closed) > 40
        for method, path in closed:
            answer = await stranger.client.request(method, path)
            assert answer.status_code == 401, (method, path)
            assert "wings" not in answer.text


async def test_a_person_without_a_session_is_asked_to_log_in(pit: Town) -> None:
    with pit.browser() as stranger:
        answer = await stranger.get("/cook/wings/ledger?kind=look")
        assert answer.status_code == 303
        assert answer.headers["location"] == "/login?to=/cook/wings/ledger%3Fkind%3Dlook"


async def test_the_password_lets_in_and_leads_back(pit: Town) -> None:
    with pit.browser() as door:
        answer = await door.client.post("/login", data={"password": pit.password, "to": "/setup"})
        assert (answer.status_code, answer.headers["location"]) == (303, "/setup")
        cookie = answer.headers["set-cookie"]
        assert "HttpOnly" in cookie
        assert "SameSite=lax" in cookie
        assert pit.password not in cookie


@pytest.mark.parametrize("to", ["//evil.test/x", "https://evil.test", "/\\evil.test", "javascript:alert(1)"])
async def test_logging_in_leads_nowhere_else(pit: Town, to: str) -> None:
    with pit.browser() as door:
        answer = await door.client.post("/login", data={"password": pit.password, "to": to})
        assert answer.headers["location"] == "/"


async def test_five_wrong_passwords_and_it_waits(pit: Town) -> None:
    with pit.browser("10.0.0.66") as door:
        codes = [(await door.client.post("/login", data={"password": f"no-{n}"})).status_code for n in range(6)]
        assert codes == [403] * 5 + [429]
        right = await door.client.post("/login", data={"password": pit.password})
        assert right.status_code == 429
        assert int(right.headers["retry-after"]) > 60
    with pit.browser("10.0.0.67") as other:
        assert (await other.client.post("/login", data={"password": pit.password})).status_code == 303


async def test_another_site_s_page_cannot_log_anybody_in(pit: Town) -> None:
    with pit.browser() as door:
        for headers in ({"Origin": "http://evil.test"}, {"Sec-Fetch-Site": "cross-site"}):
            answer = await door.client.post("/login", data={"password": pit.password}, headers=headers)
            assert answer.status_code == 403
            assert "set-cookie" not in answer.headers


async def test_the_first_link_lets_the_owner_s_phone_in_once(pit: Town) -> None:
    path = "/" + pit.link.split("/", 3)[3]
    with pit.browser() as phone:
        assert (await phone.get(path)).status_code == 200  # opening it uses nothing up
        assert (await phone.client.post(path)).status_code == 303
        await phone.learn()
        assert "Who may come in" in (await phone.get("/setup")).text
    with pit.browser() as other:
        assert (await other.client.post(path)).status_code == 403


async def test_a_link_grows_old(pit: Town) -> None:
    house = pit.app.state.app_state
    secret = house.accounts.pairing("cook", lasts=timedelta(seconds=-1))
    with pit.browser() as phone:
        assert (await phone.client.post(f"/pair/{secret}", data={"name": "Ann"})).status_code == 403


async def test_a_viewer_may_look_and_not_touch(pit: Town) -> None:
    viewer = await pit.somebody("viewer", "aunt")
    for path in ("now", "look", "plan", "ledger"):
        assert (await viewer.get(f"/cook/wings/{path}")).status_code == 200
    for path, form in (
        ("/cook/wings/record", {"record": "look|colour|amber", "on": "wings"}),
        ("/cook/wings/acts", {"key": "abcdef0123", "on": "wings", "what": "took off", "value": ""}),
        ("/setup/cook", {}),
        ("/setup/text", {"plan": COOK}),
        ("/cook/wings/plan/text", {"plan": COOK}),
        ("/setup/pairing", {"role": "owner"}),
        ("/setup/device", {"label": "box"}),
    ):
        assert (await viewer.post(path, form)).status_code == 403, path
    assert (await viewer.send("/api/cooks/wings/events", {"events": [LOOK]})).status_code == 403
    assert pit.app.state.app_state.store.last_seq("wings") == 0


async def test_a_cook_may_record_and_let_nobody_in(pit: Town) -> None:
    hand = await pit.somebody("cook", "hand")
    assert (await hand.send("/api/cooks/wings/events", {"events": [LOOK]})).status_code == 200
    assert (await hand.post("/setup/pairing", {"role": "owner"})).status_code == 403
    assert "Who may come in" not in (await hand.get("/setup")).text


async def test_a_form_without_its_token_changes_nothing(pit: Town) -> None:
    owner = await pit.owner()
    other = await pit.somebody("cook", "other")
    for token in ("", "0" * 64, other.token):
        owner_token, owner.token = owner.token, token
        assert (await owner.post("/setup/device", {"label": "box"})).status_code == 403
        assert (await owner.send("/api/cooks/wings/events", {"events": [LOOK]})).status_code == 403
        owner.token = owner_token
    assert (await owner.send("/api/cooks/wings/events", {"events": [LOOK]})).status_code == 200


async def test_whoever_is_sent_away_is_out_at_once(pit: Town) -> None:
    owner = await pit.owner()
    hand = await pit.somebody("cook", "hand")
    (person,) = [p for p in pit.app.state.app_state.accounts.people() if p.name == "hand"]
    assert (await owner.post(f"/setup/person/{person.id}/drop")).status_code == 303
    assert (await hand.send("/api/cooks/wings/events", {"events": [LOOK]})).status_code == 401
    door = (await hand.client.get("/cook/wings/now", headers={"Accept": "text/html"}, follow_redirects=True)).text
    assert "This phone is let in no more. Ask the owner for a new link." in door
    with pit.browser() as stranger:
        assert "no more" not in (await stranger.get("/login")).text


async def test_logging_out_ends_the_session_itself(pit: Town) -> None:
    owner = await pit.owner()
    cookies = dict(owner.client.cookies)
    assert (await owner.post("/logout")).status_code == 303
    with pit.browser() as thief:
        thief.client.cookies.update(cookies)
        assert (await thief.get("/setup")).status_code == 303


async def test_a_session_ends_in_time(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    owner = await pit.owner()
    house = pit.app.state.app_state
    later = house.accounts.now() + keep.SESSION_LASTS + timedelta(minutes=1)
    monkeypatch.setattr(house.accounts, "now", lambda: later)
    assert (await owner.get("/setup")).status_code == 303


async def _token(pit: Town, cook: str = "") -> str:
    page = await (await pit.owner()).post("/setup/device", {"label": "barn box", "cook": cook})
    (token,) = re.findall(r"<code>([\w-]{40,})</code>", page.text)
    return token


READINGS = {"readings": [{"at": NOW.isoformat(), "on": "barn kettle", "value": 318, "unit": "F"}]}


async def test_a_device_adds_readings_and_reads_nothing(pit: Town) -> None:
    token = await _token(pit)
    with pit.browser("10.0.0.9") as box:
        head = {"Authorization": f"Bearer {token}"}
        answer = await box.client.post("/api/readings", json=READINGS, headers=head)
        assert answer.status_code == 200, answer.text
        (receipt,) = answer.json()["receipts"]
        assert (receipt["seq"], receipt["new"]) == (1, True)
        again = await box.client.post("/api/readings", json=READINGS, headers=head)
        assert again.json()["receipts"] == [{**receipt, "new": False}]
        for method, path in _paths(pit):
            if path not in OPEN and not path.startswith("/static"):
                answer = await box.client.request(method, path, headers=head)
                assert answer.status_code in {401, 403}, (method, path)


async def test_a_wrong_token_and_a_revoked_one(pit: Town) -> None:
    token = await _token(pit)
    owner = await pit.owner()
    (device,) = pit.app.state.app_state.accounts.devices()
    with pit.browser("10.0.0.9") as box:
        for head in ({}, {"Authorization": "Bearer nonsense"}, {"Authorization": f"Basic {token}"}):
            assert (await box.client.post("/api/readings", json=READINGS, headers=head)).status_code == 401
        await owner.post(f"/setup/device/{device.id}/revoke")
        head = {"Authorization": f"Bearer {token}"}
        assert (await box.client.post("/api/readings", json=READINGS, headers=head)).status_code == 401


async def test_a_device_of_one_cook_keeps_to_it(pit: Town) -> None:
    token = await _token(pit, "wings")
    pit.app.state.app_state.store.add_cook(COOK, "another", cook_id="another")
    with pit.browser("10.0.0.9") as box:
        head = {"Authorization": f"Bearer {token}"}
        answer = await box.client.post("/api/readings?cook=another", json=READINGS, headers=head)
        assert answer.status_code == 403
        assert (await box.client.post("/api/readings", json=READINGS, headers=head)).status_code == 200
    assert pit.app.state.app_state.store.last_seq("wings") == 1


async def test_every_answer_has_its_locks(pit: Town) -> None:
    owner = await pit.owner()
    with pit.browser() as stranger:
        answers = [await owner.get("/setup"), await owner.get("/cook/wings/now"), await stranger.get("/login")]
        answers += [await stranger.client.get("/nothing"), await stranger.client.get("/health")]
    for answer in answers:
        policy = answer.headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["cache-control"] == "no-store"


async def test_pages_hold_to_the_policy_that_they_are_sent_with(pit: Town) -> None:
    owner = await pit.owner()
    for path in ("/setup", "/cook/wings/now", "/cook/wings/look", "/cook/wings/plan", "/cook/wings/ledger", "/api"):
        text = (await owner.get(path)).text
        assert " style=" not in text
        assert not re.search(r"\son\w+=\"", text.replace(' on="', " "))
        assert not re.search(r"<script(?![^>]*src=)", text)
        assert not re.findall(r'(?:src|href)="(?!/|#|\?|data:)', text)


async def test_what_people_type_is_shown_as_text(pit: Town) -> None:
    owner = await pit.owner()
    bad = "<img src=x onerror=alert(1)>"
    plan = COOK.replace('"wings"', f"'{bad}'").replace('"harvest table"', f"'{bad}'")
    answer = await owner.post("/setup/text", {"plan": plan})
    assert answer.status_code == 303, answer.text
    cook = answer.headers["location"].removesuffix("/now")
    for page in ("now", "look", "plan", "ledger"):
        assert bad not in (await owner.get(f"{cook}/{page}")).text
    assert bad not in (await owner.get("/setup")).text


async def test_a_session_s_cookie_cannot_be_made_up() -> None:
    seal = Seal("key")
    cookie = seal.close("abc")
    assert seal.open(cookie) == "abc"
    assert seal.open(cookie[:-2] + "xx") is None
    assert Seal("other").open(cookie) is None
    assert seal.open("abc") is None


async def test_passwords_are_not_kept(pit: Town) -> None:
    owner = pit.app.state.app_state.accounts.owner()
    assert owner.password_hash.startswith("$argon2id$")
    assert pit.password not in owner.password_hash
    passwords = Passwords(64)
    assert not passwords.matches(None, "x")
    assert not passwords.matches("", "")
    assert not passwords.matches("no hash", "x")
    assert digest("a") != digest("b")


async def test_a_second_start_makes_no_second_owner(tmp_path: Path) -> None:
    made = settings(tmp_path)
    async with town(made) as first:
        password = first.password
    async with town(made) as again:
        assert again.password == password  # nothing more was told
        with again.browser() as door:
            assert (await door.client.post("/login", data={"password": password})).status_code == 303


async def test_the_place_is_not_told_to_other_sites(pit: Town) -> None:
    owner = await pit.owner()
    assert httpx.URL(PLACE).host not in (await owner.get("/cook/wings/now")).text
