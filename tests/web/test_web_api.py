"""What programs send: every fault has one shape, nothing is taken in halves, nothing makes the server stumble."""

from __future__ import annotations

import json
import re
import secrets
import sqlite3
from collections.abc import AsyncIterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
import pytest_asyncio
from conftest import COOK
from sqlalchemy import event
from tests.web.house import NOW, Door, Town, settings, town

from pitreckon import catalog
from pitreckon.errors import StoreError
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.ledger.store import Entry
from pitreckon.reckon.fires import fire_tasks
from pitreckon.web.access.sessions import Visitor
from pitreckon.web.live.state import POINTS
from pitreckon.web.live.stream import stream_of

pytestmark = pytest.mark.asyncio
EVENTS = "/api/cooks/wings/events"


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def strict_pit(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[tuple[Town, Door]]:
    """One for all that is refused, and its owner: nothing is kept in it."""
    async with town(settings(tmp_path_factory.mktemp("strict"))) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made, await made.owner()


def look(**changes: object) -> dict[str, object]:
    plain = {"id": "a1", "at": NOW.isoformat(), "kind": "look", "on": "wings", "what": "colour", "value": "amber"}
    return plain | changes


def act(**changes: object) -> dict[str, object]:
    return look(kind="act", what="put on", value="") | changes


def is_fault(answer, status: int, words: str = "") -> dict[str, object]:  # type: ignore[no-untyped-def]
    assert answer.status_code == status, answer.text
    (key, error), *rest = answer.json().items()
    assert (key, rest) == ("error", [])
    assert set(error) == {"status", "trouble", "remedy", "field"}
    assert error["status"] == status
    assert error["trouble"]
    assert error["remedy"]
    assert words in f"{error['field']}: {error['trouble']}"
    return error


async def test_events_are_kept_in_their_order(pit: Town) -> None:
    owner = await pit.owner()
    sent = [look(), act(id="a2"), look(id="a3", what="spot temperature", value="128 F", piece=3)]
    answer = await owner.send(EVENTS, {"events": sent})
    assert [(each["id"], each["seq"], each["new"]) for each in answer.json()["receipts"]] == [
        ("a1", 1, True),
        ("a2", 2, True),
        ("a3", 3, True),
    ]
    again = await owner.send(EVENTS, {"events": sent})
    assert [each["new"] for each in again.json()["receipts"]] == [False] * 3
    found = (await owner.client.get("/api/cooks/wings/entries")).json()["entries"]
    assert [each["id"] for each in found] == ["a1", "a2", "a3"]
    assert found[0]["by"] == "owner"


async def test_an_id_stands_for_one_entry(pit: Town) -> None:
    owner = await pit.owner()
    await owner.send(EVENTS, {"events": [look()]})
    is_fault(await owner.send(EVENTS, {"events": [look(value="tan")]}), 422, "a1")


async def test_a_correction_takes_back(pit: Town) -> None:
    owner = await pit.owner()
    await owner.send(EVENTS, {"events": [look()]})
    taken = {"id": "c1", "at": NOW.isoformat(), "kind": "correction", "of": "a1", "note": "the wrong rack"}
    assert (await owner.send(EVENTS, {"events": [taken]})).status_code == 200
    assert pit.app.state.app_state.store.ledger("wings").all_looks == ()
    page = (await owner.get("/cook/wings/ledger")).text
    assert "taken back" in page
    assert "the wrong rack" in page
    is_fault(await owner.send(EVENTS, {"events": [taken | {"id": "c2", "of": "nobody"}]}), 422, "nobody")


FAR = (NOW + timedelta(hours=1)).isoformat()


@pytest.mark.asyncio(loop_scope="module")
@pytest.mark.parametrize(
    ("event", "words"),
    [
        (look(what="smell"), "what"),
        (look(value="blue"), "value"),
        (look(on="wing"), "on"),
        (look(on="barn kettle"), "on"),
        (look(piece=25), "piece"),
        (look(at=FAR), "at"),
        (look(at="9999-12-31T23:59:59-12:00"), "at"),
        (look(at="0001-01-01T00:00:00+12:00"), "at"),
        (look(at="2026-10-17T21:35:00"), "at"),
        (look(at="yesterday noon"), "at"),
        (look(id="a b"), "id"),
        (look(what="spot temperature", value="NaN"), "value"),
        (look(what="spot temperature", value="999 F"), "value"),
        (look(what="spot temperature", value="128"), "value"),
        (act(what="wrapped", value="newspaper"), "value"),
        (act(what="set pit", on="barn kettle", value="9000 F"), "value"),
        (act(what="set pit", value="300 F"), "on"),
        (act(what="put on", value="foil"), "value"),
        (look(extra=1), "extra"),
        (look(piece="three"), "piece"),
        (look(kind="reading"), "kind"),
    ],
)
async def test_a_wrong_event_is_refused_by_its_field(
    strict_pit: tuple[Town, Door], event: dict[str, object], words: str
) -> None:
    pit, owner = strict_pit
    answer = await owner.send(EVENTS, {"events": [event]})
    error = is_fault(answer, 422)
    assert words in str(error["field"])
    # Beside a right one its place is named, and the right one is not kept either.
    error = is_fault(await owner.send(EVENTS, {"events": [look(id="right"), event | {"id": event["id"]}]}), 422)
    assert "1" in str(error["field"])
    assert pit.app.state.app_state.store.last_seq("wings") == 0


async def test_a_look_out_of_range_is_kept_and_not_used(pit: Town) -> None:
    owner = await pit.owner()
    answer = await owner.send(EVENTS, {"events": [look(what="spot temperature", value="600 F")]})
    assert answer.status_code == 200
    assert "not used" in (await owner.get("/cook/wings/ledger")).text


async def _raw(door: Door, body: bytes, kind: str = "application/json"):  # type: ignore[no-untyped-def]
    head = {"Content-Type": kind, "X-Pitreckon-Form": door.token}
    return await door.client.post(EVENTS, content=body, headers=head)


async def test_what_is_no_json_is_refused(pit: Town) -> None:
    owner = await pit.owner()
    good = json.dumps({"events": [look()]}).encode()
    for body in (b"", b"{", b"[]", b"null", b'"x"', b"\xff\xfe", b'{"events": []}', b"[" * 100_000):
        answer = await _raw(owner, body)
        is_fault(answer, answer.status_code)
        assert answer.status_code in {400, 422}, body[:20]
    for kind in ("text/plain", "application/xml", "application/x-www-form-urlencoded"):
        answer = await _raw(owner, good, kind)
        is_fault(answer, answer.status_code)
        assert answer.status_code in {403, 415, 422}
    assert pit.app.state.app_state.store.last_seq("wings") == 0


async def test_a_huge_body_is_refused(pit: Town) -> None:
    owner = await pit.owner()
    is_fault(await _raw(owner, b"x" * (50 * 1024 * 1024)), 413)

    async def endless() -> AsyncIterator[bytes]:
        for _ in range(50):
            yield b"x" * (1024 * 1024)

    head = {"Content-Type": "application/json", "X-Pitreckon-Form": owner.token}
    is_fault(await owner.client.post(EVENTS, content=endless(), headers=head), 413)


async def test_what_is_not_there(pit: Town) -> None:
    owner = await pit.owner()
    for path in ("/api/cooks/none/outlook", "/api/cooks/none/entries", "/api/nothing"):
        is_fault(await owner.client.get(path), 404)
    is_fault(await owner.send("/api/cooks/none/events", {"events": [look()]}), 404)
    is_fault(await owner.client.get("/api/cooks/%00/entries"), 422)
    is_fault(await owner.client.delete("/api/cooks"), 405)
    for path in ("now", "look", "plan", "ledger", "stream", "export.csv", "export.jsonl"):
        page = await owner.get(f"/cook/none/{path}")
        assert page.status_code == 404
        assert "That did not work" in page.text


async def test_trouble_of_the_store_has_words(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    owner = await pit.owner()

    def full(*_: object) -> object:
        raise StoreError("the disk is full", "Make room there", "ledger.sqlite")

    monkeypatch.setattr(pit.app.state.app_state.store, "append_soon", full)
    is_fault(await owner.send(EVENTS, {"events": [look()]}), 503, "disk is full")


async def test_a_database_that_may_grow_no_more_has_words_and_goes_on(pit: Town, tmp_path: Path) -> None:
    """The real engine under its own limit, from a device's side and from a page without a script."""
    owner = await pit.owner()
    house = pit.app.state.app_state
    head = {"Authorization": f"Bearer {house.accounts.put_device('box', 'wings')}"}
    pages = [1]

    @event.listens_for(house.store._engine, "begin")
    def limit(connection: Any) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages[0]}")

    async def post(count: int) -> httpx.Response:
        reading = {"at": NOW.isoformat(), "on": "wings", "value": 40, "unit": "C"}
        sent = [reading | {"id": secrets.token_hex(9)} for _ in range(count)]
        return await owner.client.post("/api/readings", json={"readings": sent}, headers=head)

    for count in (200, 20, 1):
        while (answer := await post(count)).status_code == 200:
            pass
        is_fault(answer, 503, "the disk is full")
        assert str(tmp_path) not in answer.text, "where the ledger lies is nobody's business outside"
    kept = house.store.last_seq("wings")
    form = {"record": "look|colour|amber", "on": "wings"}
    for _ in range(300):  # until the last corner of the last page is taken
        page = await owner.post("/cook/wings/record", form)
        if page.status_code != 303:
            break
        kept += 1
    assert page.status_code == 503
    assert "the disk is full" in page.text
    assert (await owner.get("/cook/wings/ledger")).status_code == 200
    assert house.store.last_seq("wings") == kept
    pages[0] = 100_000
    assert (await owner.post("/cook/wings/record", form)).status_code == 303
    assert (await post(200)).status_code == 200
    assert house.store.last_seq("wings") == kept + 201
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


async def test_a_fault_of_our_own_tells_nothing(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    owner = await pit.owner()

    def broken(*_: object) -> object:
        raise ZeroDivisionError("secret")

    monkeypatch.setattr(pit.app.state.app_state.store, "append_soon", broken)
    answer = await owner.send(EVENTS, {"events": [look()]})
    is_fault(answer, 500)
    assert "secret" not in answer.text


async def test_the_description_is_there_and_every_error_has_the_shape(pit: Town) -> None:
    owner = await pit.owner()
    document = (await owner.client.get("/api/openapi.json")).json()
    assert set(document["paths"]) == {
        "/api/readings",
        "/api/cooks",
        *(f"/api/cooks/{{cook_id}}/{what}" for what in ("events", "outlook", "entries", "chart")),
    }
    for ways in document["paths"].values():
        for what in ways.values():
            assert what["summary"]
            for status, answer in what["responses"].items():
                if not status.startswith("2"):
                    (content,) = answer["content"].values()
                    assert content["schema"]["$ref"].endswith("/Fault"), status
    page = (await owner.get("/api")).text
    assert "/api/readings" in page


async def test_a_reading_is_described_as_it_is_read(pit: Town) -> None:
    """What the schema has (JSON Schema 2020-12) is what is taken: these keys and no others, of these types."""
    owner = await pit.owner()
    document = (await owner.client.get("/api/openapi.json")).json()
    body = document["paths"]["/api/readings"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    reading = body["properties"]["readings"]["items"]
    assert (reading["type"], reading["required"], reading["additionalProperties"]) == ("object", ["value"], False)
    types = {
        key: {each.get("type") for each in of.get("anyOf", [of])} | set(of.get("enum", ()))
        for key, of in reading["properties"].items()
    }
    assert types == {
        "value": {"number", "null"},
        "unit": {"string", "null"},
        "at": {"string", "number", "null"},
        "on": {"string", "null"},
        "channel": {"string", "null"},
        "piece": {"integer", "null"},
        "id": {"string", "null"},
    }
    assert all(of["description"] for of in reading["properties"].values())
    token = pit.app.state.app_state.accounts.put_device("barn box", None)
    plain = {"at": NOW.isoformat(), "on": "wings", "value": 104.0, "unit": "F"}
    changes = [{}, {"value": None}, {"piece": 1}, {"id": "b7"}, {"at": NOW.timestamp()}]
    slips = [{"value": "104"}, {"unit": "K"}, {"smell": "good"}, {"piece": 1.5}, {"at": True}]
    with pit.browser() as box:
        for good, cases in ((True, changes), (False, slips)):
            for n, change in enumerate(cases):
                sent = {"readings": [plain | {"value": 104.0 + n} | change]}
                head = {"Authorization": f"Bearer {token}"}
                answer = await box.client.post("/api/readings", json=sent, headers=head)
                assert answer.is_success is good, answer.text


@pytest.mark.parametrize("count", [1, 2, 499, 500, 501, 999, 1000, 1001, 1499])
async def test_the_newest_reading_is_in_the_chart(pit: Town, count: int) -> None:
    house = pit.app.state.app_state
    house.store.add_cook(COOK, "long", cook_id="long")
    entries = [
        Entry(f"r{n}", Reading(NOW + timedelta(seconds=10 * n), "pit air", "barn kettle", None, 150.0 + n / 100), "box")
        for n in range(count)
    ]
    house.store.append("long", entries)
    (line,) = house.measured("long")
    assert line["at"][-1] == entries[-1].event.at_utc.timestamp()
    assert line["at"][0] == entries[0].event.at_utc.timestamp()
    assert len(line["at"]) == len(line["value"]) <= 2 * POINTS
    assert list(line["at"]) == sorted(set(line["at"]))


async def test_exports(pit: Town) -> None:
    owner = await pit.owner()
    await owner.send(EVENTS, {"events": [look(), act(id="a2")]})
    csv = await owner.client.get("/cook/wings/export.csv")
    assert csv.headers["content-type"].startswith("text/csv")
    assert "wings,,colour,amber" in csv.text
    lines = (await owner.client.get("/cook/wings/export.jsonl")).text.splitlines()
    assert len([json.loads(line) for line in lines]) >= 3


SPOT = "spot temperature"
FORM = {
    "name": "harvest supper",
    "zone": "America/Chicago",
    "serve": "2026-10-17T18:00",
    "pit_name": "barn pit",
    "pit_kind": "pellet-cooker",
    "pit_set": "275",
    "item_cut": ["st-louis-ribs", ""],
    "item_pieces": ["4", ""],
    "item_weight": ["2 lb 10 oz", ""],
    "item_put_on": ["2026-10-17T13:15", ""],
    "item_name": ["racks", ""],
}


async def test_a_cook_is_made_by_form(pit: Town) -> None:
    owner = await pit.owner()
    answer = await owner.post("/setup/cook", FORM)
    assert answer.status_code == 303, answer.text
    cook = pit.app.state.app_state.live_cook(answer.headers["location"].split("/")[2])
    (item,) = cook.items
    assert (item.label, item.pieces, round(item.mass_kg, 2)) == ("racks", 4, 1.19)
    assert cook.pits[0].set_c == pytest.approx(135.0)
    assert (await owner.get("/")).headers["location"] == answer.headers["location"]


async def test_who_makes_a_cook_by_form_is_told_to_light_and_to_feed(pit: Town) -> None:
    """Nobody was asked for it: a fire is steady when the first meat goes on, by the time that such a pit takes."""
    owner = await pit.owner()
    two = {
        "pit_name": ["log", "box", "idle"],
        "pit_kind": ["offset-log-burner", "pellet-cooker", "kettle"],
        "pit_set": ["275", "250", "300"],
        "item_cut": ["st-louis-ribs", "chicken-wing"],
        "item_pieces": ["4", "24"],
        "item_weight": ["2 lb 10 oz", "3 oz"],
        "item_put_on": ["2026-10-17T13:15", "2026-10-17T16:30"],
        "item_name": ["racks", "wings"],
        "item_pit": ["1", "2"],
    }
    answer = await owner.post("/setup/cook", FORM | two)
    assert answer.status_code == 303, answer.text
    cook = pit.app.state.app_state.live_cook(answer.headers["location"].split("/")[2])
    log, box, idle = cook.pits
    for pit_of, item in ((log, cook.items[0]), (box, cook.items[1])):
        fire = catalog.pit(pit_of.kind).fire
        assert fire is not None
        assert pit_of.light_utc is not None
        early_s = (item.put_on_utc - pit_of.light_utc).total_seconds() - fire.lit_s.value
        assert 0.0 <= early_s < 300.0
    assert log.feed_every_s is not None
    assert log.feed_kg is not None
    assert box.feed_every_s is None, "a hopper feeds itself"
    assert idle.light_utc is None, "nothing goes on it"
    told = fire_tasks(cook, Ledger(), log.light_utc - timedelta(hours=1), ())
    assert [(each.at_utc, each.task.act, each.task.item) for each in told] == [
        (log.light_utc, "light", "log"),
        (box.light_utc, "light", "box"),
    ]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "name"),
        ({"zone": "Nowhere"}, "zone"),
        ({"pit_set": "9000"}, "set"),
        ({"item_weight": ["much", ""]}, "weight"),
        ({"item_put_on": ["2026-10-17T19:00", ""]}, "serve"),
        ({"item_cut": ["", ""]}, "cut"),
        ({"item_weight": [], "item_put_on": [], "item_name": []}, "item"),
    ],
)
async def test_a_fault_in_the_form_is_named_and_all_that_was_typed_stays(
    pit: Town, change: dict[str, object], words: str
) -> None:
    owner = await pit.owner()
    answer = await owner.post("/setup/cook", FORM | change)
    assert answer.status_code == 422
    trouble = answer.text.split('role="alert">')[1].split("</p>")[0]
    assert words in trouble
    assert 'value="barn pit"' in answer.text
    if "name" not in change:
        assert 'value="harvest supper"' in answer.text


async def test_a_plan_is_replaced_and_keeps_what_the_ledger_names(pit: Town) -> None:
    owner = await pit.owner()
    await owner.send(EVENTS, {"events": [look()]})
    path = "/cook/wings/plan/text"
    assert (await owner.post(path, {"plan": COOK.replace('"wings"', '"wing"')})).status_code == 422
    assert (await owner.post(path, {"plan": COOK.replace("3 oz", "4 oz").replace("\n", "\r\n")})).status_code == 303
    assert pit.app.state.app_state.live_cook("wings").items[0].mass_kg == pytest.approx(0.1134, rel=1e-3)


async def test_the_plan_page_shows_the_plans_before_this_one(pit: Town) -> None:
    owner = await pit.owner()
    assert "Earlier plans" not in (await owner.get("/cook/wings/plan")).text
    for ounces in (4, 5):
        text = COOK.replace("3 oz", f"{ounces} oz") + "# <b>dry</b>\n"
        assert (await owner.post("/cook/wings/plan/text", {"plan": text})).status_code == 303
    page = (await owner.get("/cook/wings/plan")).text
    assert "Earlier plans (2)" in page
    assert page.index("Plan 2, replaced at") < page.index("Plan 1, replaced at"), "the latest first"
    assert page.count("by owner") == 2
    earlier = page[page.index("Earlier plans") :]
    assert [earlier.count(f"weight = &#34;{ounces} oz&#34;") for ounces in (3, 4, 5)] == [1, 1, 0]
    assert "&lt;b&gt;dry" in earlier
    assert "Earlier plans (2)" in (await (await pit.somebody("viewer", "aunt")).get("/cook/wings/plan")).text


async def test_the_page_records_without_a_script(pit: Town) -> None:
    owner = await pit.owner()
    for form, what in (
        ({"record": "look|colour|amber", "on": "wings", "ago": "5"}, "colour"),
        (
            {"record": "look|spot temperature|spot-0", "spot-0": "140", "piece-0": "2", "on": "wings"},
            "spot temperature",
        ),
        ({"record": "act|lid open|1 min", "on": "barn kettle"}, "lid open"),
    ):
        assert (await owner.post("/cook/wings/record", form)).status_code == 303
        (last,) = pit.app.state.app_state.store.entries("wings", limit=1, newest_first=True)
        assert (last.event.act if isinstance(last.event, Act) else last.event.kind) == what
    looks = pit.app.state.app_state.store.ledger("wings").all_looks
    assert [round((NOW - look.at_utc).total_seconds() / 60) for look in looks] == [5, 0]
    assert (looks[1].piece, looks[1].value) == (2, pytest.approx(60.0))
    (first, *_) = pit.app.state.app_state.store.entries("wings", limit=1)
    assert (await owner.post("/cook/wings/record", {"record": f"correction|{first.id}|"})).status_code == 303
    assert len(pit.app.state.app_state.store.ledger("wings").all_looks) == 1


AGAIN = (
    ({"record": "look|colour|amber", "on": "wings"}, {"record": "look|colour|mahogany", "on": "wings"}),
    ({"record": "act|sauced|", "on": "wings"}, {"record": "act|sauced|", "on": "wings", "ago": "5"}),
    ({"record": "act|put on|", "on": "wings", "ago": "20"}, {"record": "act|wrapped|foil", "on": "wings"}),
)


@pytest.mark.parametrize("form", AGAIN)
async def test_a_form_that_is_sent_again_adds_nothing(pit: Town, form: tuple[dict[str, str], dict[str, str]]) -> None:
    """The server died after it had kept it, and the browser was told to load the answer again."""
    owner = await pit.owner()
    store = pit.app.state.app_state.store
    (key,) = set(re.findall(r'name="key" value="(\w+)"', (await owner.get("/cook/wings/look")).text))
    one, other = ({**each, "key": key} for each in form)
    before = store.last_seq("wings")
    for _ in range(2):
        assert (await owner.post("/cook/wings/record", one)).status_code == 303
    assert store.last_seq("wings") == before + 1
    assert (await owner.post("/cook/wings/record", other)).status_code == 303, "another button of the same form"
    assert store.last_seq("wings") == before + 2
    (last,) = store.entries("wings", limit=1, newest_first=True)
    moved = {"of": last.id, "seq": str(last.seq), "at": "2026-10-17T16:31", "key": key}
    taken = {"record": f"correction|{last.id}|taken back", "key": key}
    for path, sent in (("retime", moved), ("record", taken)):
        for _ in range(2):
            assert (await owner.post(f"/cook/wings/{path}", sent)).status_code == 303
    assert store.last_seq("wings") == before + 4
    (another,) = set(re.findall(r'name="key" value="(\w+)"', (await owner.get("/cook/wings/look")).text))
    assert another != key


HELD = {"key": "ab12cd34ef", "on": ["wings", "wings"], "what": ["took off", "hold"], "value": ["", "65.0 C"]}


async def test_a_what_if_of_several_acts_is_recorded_without_a_script(pit: Town) -> None:
    owner = await pit.owner()
    store = pit.app.state.app_state.store
    assert (await owner.post("/cook/wings/acts", HELD)).headers["location"] == "/cook/wings/plan"
    acts = store.ledger("wings").all_acts
    assert [(act.act, act.on, act.air_c) for act in acts] == [
        ("took off", "wings", None),
        ("hold", "wings", pytest.approx(65.0)),
    ]
    assert (await owner.post("/cook/wings/acts", HELD)).status_code == 303  # a second tap
    assert store.last_seq("wings") == 2
    assert (await owner.post("/cook/wings/acts", HELD | {"key": "ab12cd34ee"})).status_code == 303
    assert store.last_seq("wings") == 4


@pytest.mark.parametrize(
    "change",
    [
        {"what": ["took off", "fly"]},
        {"value": ["", "9000 C"]},
        {"on": ["wings", "wing"]},
        {"on": ["wings"]},
        {"on": [], "what": [], "value": []},
        {"on": ["wings"] * 99, "what": ["took off"] * 99, "value": [""] * 99},
        {"key": "../.."},
    ],
)
async def test_of_several_acts_all_are_recorded_or_none(pit: Town, change: dict[str, object]) -> None:
    owner = await pit.owner()
    assert (await owner.post("/cook/wings/acts", HELD | change)).status_code == 422
    assert pit.app.state.app_state.store.last_seq("wings") == 0


async def test_a_page_that_was_made_before_the_latest_news_can_tell(pit: Town) -> None:
    """What is told while a page is on its way has no ear yet; so the stream's first word says how far the news are."""
    owner = await pit.owner()
    house = pit.app.state.app_state

    async def page_told() -> str:
        page = (await owner.get("/cook/wings/plan")).text
        return page.split('data-told="')[1].split('"')[0]

    async def stream_told() -> str:
        lines = (await stream_of(house, "wings", visitor)).body_iterator
        first = str(await anext(lines))
        await lines.aclose()  # type: ignore[attr-defined]
        return str(json.loads(first.split("data: ")[1])["told"])

    visitor = Visitor(house.accounts.owner(), "s", "f")
    assert await page_told() == await stream_told()
    before = await page_told()
    await house.live.seen("wings", "nothing")
    assert await stream_told() != before
    assert await page_told() == await stream_told()


async def test_each_reads_in_their_own_units(pit: Town) -> None:
    owner = await pit.owner()
    viewer = await pit.somebody("viewer", "aunt")
    await owner.send(EVENTS, {"events": [look(what="spot temperature", value="140 F")]})
    assert (
        await viewer.post("/setup/me", {"degrees": "C", "mass": "kg", "hands": "12", "theme": "sun"})
    ).status_code == 303
    theirs, ours = [(await door.get("/cook/wings/ledger")).text for door in (viewer, owner)]
    assert "60 °C" in theirs
    assert "4:35 pm" in theirs
    assert 'data-theme="sun"' in theirs
    assert "140 °F" in ours
    assert "16:35" in ours
