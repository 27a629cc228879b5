"""A sign of life goes out while all is well, and stops when it is not; a copy of the ledger is made each night."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from conftest import COOK
from tests.patience import comes
from tests.web.house import NOW, Town, settings, town

from pitreckon.alerts import Alert
from pitreckon.errors import StoreError
from pitreckon.ledger import Act, Reading
from pitreckon.ledger.keeping.check import look_over
from pitreckon.ledger.store import Entry, Store
from pitreckon.reckon import Outlook
from pitreckon.web.live.alive import sign_of_life
from pitreckon.web.live.live import Live
from pitreckon.web.live.watched import Watched

URL = "json://127.0.0.1:9/alive"
pytestmark = pytest.mark.asyncio


async def followed(made: Town) -> tuple[Store, Live, Watched]:
    house = made.app.state.app_state
    house.store.add_cook(COOK, "harvest table", cook_id="wings")
    watched = await house.live.watched("wings")
    watched.task = asyncio.create_task(asyncio.sleep(0))
    await watched.task
    return house.store, house.live, watched


async def test_it_is_sent_by_the_sender_of_alerts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    got: list[tuple[str, str]] = []

    def send(alerts: Sequence[Alert], urls: Sequence[str]) -> Sequence[Alert]:
        got.extend((urls[0], alert.title) for alert in alerts)
        return alerts

    monkeypatch.setattr("pitreckon.alerts.send.send", send)
    async with town(settings(tmp_path, alive=URL)):
        await comes(lambda: got, "what is sent")
    assert got == [(URL, "Pitreckon is up")]


async def test_an_old_outlook_and_a_reckoning_that_fails_are_no_sign_of_life(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as made:
        store, live, watched = await followed(made)

        def sign() -> Alert | str:
            return sign_of_life(store, live, NOW)

        begun = await asyncio.to_thread(sign)
        assert isinstance(begun, Alert)
        assert "harvest table: not reckoned yet" in begun.text
        fresh = Outlook("harvest table", "America/Chicago", NOW, None, 8, 1, (), ())
        watched.shown = replace(watched.shown, outlook=fresh)
        assert isinstance(await asyncio.to_thread(sign), Alert)
        watched.shown = replace(watched.shown, outlook=replace(fresh, now_utc=NOW - timedelta(minutes=16)))
        assert await asyncio.to_thread(sign) == "harvest table: its outlook is of 21:19 UTC"
        watched.shown = replace(watched.shown, outlook=fresh, trouble="the reckoning failed")
        assert await asyncio.to_thread(sign) == "harvest table: the reckoning failed"
        assert isinstance(await asyncio.to_thread(sign_of_life, store, live, NOW + timedelta(days=2)), Alert), (
            "a cook that is over worries nobody"
        )


async def test_a_ledger_that_cannot_be_read_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with town(settings(tmp_path)) as made:
        store, live, _ = await followed(made)

        def broken(self: Store) -> list[object]:
            raise StoreError("the file is damaged", "Put back a copy", "ledger")

        monkeypatch.setattr(Store, "cooks", broken)
        with pytest.raises(StoreError):
            await asyncio.to_thread(sign_of_life, store, live, NOW)


async def test_a_copy_of_the_ledger_is_made_at_the_start(tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    async with town(settings(tmp_path, backup=folder)) as made:
        await followed(made)
        await comes(lambda: list(folder.glob("ledger-*.sqlite")), "the copy")
    (copy,) = folder.glob("*")
    found = await asyncio.to_thread(look_over, copy)
    assert found.faults == ()


async def test_a_pit_that_says_nothing_is_told_of_while_nothing_can_be_reckoned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At commit f67b174 alerts came of outlooks alone: while reckoning failed, none was told."""
    got: list[str] = []

    def send(alerts: Sequence[Alert], _urls: Sequence[str]) -> Sequence[Alert]:
        got.extend(alert.kind for alert in alerts)
        return alerts

    monkeypatch.setattr("pitreckon.alerts.send.send", send)
    file = tmp_path / "settings.toml"
    file.write_text('[alerts]\nurls = ["json://127.0.0.1:9"]\n', encoding="utf-8")
    async with town(settings(tmp_path, settings_file=file)) as made:
        store, live, watched = await followed(made)
        begun = NOW - timedelta(minutes=40)
        entries = [
            Entry("on", Act(begun, "wings", "put on"), "Ann"),
            Entry("air", Reading(begun, "pit air", watched.shown.cook.pits[0].label, None, 120.0), "barn box"),
        ]
        await asyncio.to_thread(store.append, "wings", entries)
        await live._alerts_alone(watched)
        await comes(lambda: got, "what is sent")
        assert [alert.kind for alert in watched.shown.alerts] == ["no word from the pit"]
    assert got == ["no word from the pit"]
