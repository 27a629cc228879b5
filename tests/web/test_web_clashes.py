"""Two phones that say what cannot both be are shown, and one tap takes one of them back."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import pytest_asyncio
from conftest import COOK
from tests.web.house import NOW, Town, settings, town
from tests.web.test_web_strips import HANDS
from tests.web.test_web_strips import NOW as AT

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Look
from pitreckon.ledger.store import StoredEntry
from pitreckon.web.views.clashes import ASKED_FOR, CLOSE, TWICE, clashes

SECOND = timedelta(seconds=1)


def look(word: str, by: str, ago: timedelta, kind: str = "colour", piece: int | None = None) -> StoredEntry:
    at = AT - ago
    event = Look(at, "racks", piece, kind, LOOK_KINDS[kind].scale[word], word)
    return StoredEntry(1, f"{by} {word} {ago.seconds}", event, by, at)


def act(what: str, by: str, ago: timedelta, detail: str = "", on: str = "racks") -> StoredEntry:
    return StoredEntry(2, f"{by} {what} {ago.seconds}", Act(AT - ago, on, what, detail), by, AT - ago)


def heads(*entries: StoredEntry, seen: tuple[str, ...] = ()) -> list[tuple[str, bool, tuple[str, ...]]]:
    return [(c.what, c.act, tuple(side.words for side in c.sides)) for c in clashes(entries, seen, HANDS)]


def test_two_hands_that_see_what_cannot_both_be() -> None:
    ours, theirs = look("tan", "owner", timedelta(minutes=4)), look("mahogany", "hand", timedelta(minutes=1))
    assert heads(theirs, ours) == [("colour", False, ("tan", "mahogany"))]
    assert heads(ours, look("amber", "hand", timedelta(minutes=1))) == []  # a step apart: two pairs of eyes
    assert heads(ours, look("mahogany", "owner", timedelta(minutes=1))) == []  # one hand that has looked again
    assert heads(ours, look("mahogany", "hand", timedelta(minutes=1), piece=2)) == []  # of one rack only
    late = look("mahogany", "hand", timedelta(minutes=4) - CLOSE - SECOND)
    assert heads(ours, late) == []
    old = ASKED_FOR + timedelta(minutes=1)
    assert heads(look("tan", "owner", old), look("mahogany", "hand", old)) == []
    (found,) = clashes([ours, theirs], (), HANDS)
    assert clashes([ours, theirs], (found.key,), HANDS) == []


def test_two_thermometers_may_differ_by_where_they_stand_and_no_more() -> None:
    """Two standard errors of the difference, by hand: 2 sqrt 2 hypot(1.5, 4.0) = 12.1 K."""

    def spot(value_c: float, by: str) -> StoredEntry:
        event = Look(AT, "racks", None, "spot temperature", value_c, "")
        return StoredEntry(1, f"{by} {value_c}", event, by, AT)

    assert heads(spot(70.0, "owner"), spot(82.0, "hand")) == []
    assert heads(spot(70.0, "owner"), spot(82.2, "hand")) == [("spot temperature", False, ("158 °F", "180 °F"))]


def test_an_act_that_stands_there_twice() -> None:
    one, two = act("wrapped", "owner", timedelta(minutes=9), "foil"), act("wrapped", "owner", timedelta(0), "paper")
    assert heads(one, two) == [("wrapped", True, ("wrapped in foil", "wrapped in paper"))]
    assert heads(one, act("unwrapped", "owner", timedelta(minutes=5)), two) == []
    assert heads(act("wrapped", "owner", TWICE + SECOND), two) == []
    sauced = act("sauced", "owner", timedelta(minutes=3)), act("sauced", "owner", timedelta(0))
    assert heads(*sauced) == []  # one hand may do that again; two at once did it once
    assert heads(sauced[0], act("sauced", "hand", timedelta(0))) == [("sauced", True, ("sauced", "sauced"))]


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made


def event(what: str, value: str, at: datetime, key: str) -> dict[str, object]:
    return {"id": key, "at": at.isoformat(), "kind": "look", "on": "wings", "what": what, "value": value}


@pytest.mark.asyncio
async def test_one_tap_takes_one_back_and_another_lets_both_stand(pit: Town) -> None:
    owner, hand = await pit.owner(), await pit.somebody("cook", "hand")
    for n, (ours, theirs) in enumerate((("tan", "mahogany"), ("raw", "red-brown"))):
        when = NOW - timedelta(minutes=20 * n)
        first = {"events": [event("colour", ours, when - timedelta(minutes=2), f"owner{n}aaaa")]}
        other = {"events": [event("colour", theirs, when, f"hand{n}aaaaa")]}
        assert (await owner.send("/api/cooks/wings/events", first)).status_code == 200
        assert (await hand.send("/api/cooks/wings/events", other)).status_code == 200
    for page in ("now", "look", "ledger"):
        assert (await owner.get(f"/cook/wings/{page}")).text.count("Which is right?</b>") == 2, page
    page = (await owner.get("/cook/wings/ledger")).text
    (keep,) = re.findall(r'value="(correction\|hand0aaaaa\|[^"]+)" aria-label="tan owner', page)
    answer = await owner.post("/cook/wings/record", {"record": keep, "to": "/cook/wings/ledger"})
    assert answer.status_code == 303
    (both,) = re.findall(r'name="key" value="(both owner1aaaa hand1aaaaa)"', page)
    answer = await owner.post("/cook/wings/seen", {"key": both, "to": "/cook/wings/look"})
    assert answer.headers["location"] == "/cook/wings/look"
    assert "Which is right?" not in (await hand.get("/cook/wings/now")).text
    left = [look.text for look in pit.app.state.app_state.store.ledger("wings").all_looks]
    assert left == ["raw", "red-brown", "tan"]
