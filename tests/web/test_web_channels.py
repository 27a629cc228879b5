"""Readings into the page's house: judged, in their device's scale, from a broker; and alerts that it shows."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path

import aiomqtt
import pytest
from conftest import COOK
from tests.intake.broker import Broker
from tests.patience import PATIENCE_S
from tests.patience import comes as until
from tests.web.house import NOW, Town, settings, town

from pitreckon.alerts import Alert
from pitreckon.alerts.outbox import Outbox, address_key
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Store
from pitreckon.reckon import Outlook
from pitreckon.web.live import alerts as live_alerts
from pitreckon.web.live.alerts import Due, Known, Teller, find_due

pytestmark = pytest.mark.asyncio


def add_wings(made: Town) -> None:
    made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")


def readings(made: Town, cook_id: str = "wings") -> list[Reading]:
    found = made.app.state.app_state.store.entries(cook_id, kinds=("reading",))
    return [stored.event for stored in found if isinstance(stored.event, Reading)]


async def test_a_device_s_scale_is_in_the_settings_file_and_a_spike_is_not_believed(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('[[device]]\nname = "barn box"\nunit = "F"\n', encoding="utf-8")
    async with town(settings(tmp_path, settings_file=file)) as made:
        add_wings(made)
        token = made.app.state.app_state.accounts.put_device("barn box", None)
        sent = [
            {"at": (NOW + timedelta(seconds=5 * n)).isoformat(), "on": "wings", "value": value}
            for n, value in enumerate((104, 105, 190, 105))
        ]
        with made.browser() as box:
            head = {"Authorization": f"Bearer {token}"}
            answer = await box.client.post("/api/readings", json={"readings": sent}, headers=head)
        assert answer.status_code == 200, answer.text
        found = readings(made)
        assert [round(each.value_c) for each in found] == [40, 41, 88, 41]
        assert [each.rejected is None for each in found] == [True, True, False, True]
        await asyncio.sleep(0)


@pytest.mark.servers
async def test_a_broker_s_readings_go_into_the_latest_cook(tmp_path: Path) -> None:
    broker = Broker(tmp_path, to_be_killed=False).start()
    file = tmp_path / "settings.toml"
    file.write_text(
        f'[mqtt]\nhost = "127.0.0.1"\nport = {broker.port}\n\n[[mqtt.topic]]\ntopic = "barn/pit"\nunit = "F"\n'
        'on = "barn kettle"\n',
        encoding="utf-8",
    )
    try:
        async with (
            town(settings(tmp_path, settings_file=file)) as made,
            aiomqtt.Client("127.0.0.1", broker.port, timeout=PATIENCE_S) as pit,
        ):

            async def say_until(cook_id: str) -> None:
                async with asyncio.timeout(PATIENCE_S):
                    while not readings(made, cook_id):
                        await pit.publish("barn/pit", "318", qos=1)
                        await asyncio.sleep(0.3)

            add_wings(made)  # made after the server was started
            await say_until("wings")
            assert round(readings(made)[0].value_c) == 159
            made.app.state.app_state.store.add_cook(COOK, "the next one", cook_id="next")
            await say_until("next")
            before = len(readings(made))
            await pit.publish("barn/pit", "320", qos=1)
            await until(lambda: round(readings(made, "next")[-1].value_c) == 160)
            assert len(readings(made)) == before
    finally:
        broker.stop()


ALERT = Alert(
    "fire sinking", "barn kettle", "barn kettle is low", "It has been low.", NOW, ("fire sinking|barn kettle|1",)
)

GOOD, DEAD = "json://127.0.0.1:9", "json://127.0.0.2:9"


async def test_an_alert_is_on_every_page_until_somebody_has_seen_it(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as made:
        add_wings(made)
        owner, viewer = await made.owner(), await made.somebody("viewer", "aunt")
        watched = await made.app.state.app_state.live.watched("wings")
        empty = Outlook("harvest table", "America/Chicago", NOW, None, 8, 1, (), ())
        watched.shown = replace(watched.shown, outlook=replace(empty, items=()), alerts=(ALERT,))
        await asyncio.sleep(0)
        assert (await viewer.post("/cook/wings/seen", {"key": ALERT.key})).status_code == 403
        with made.app.state.app_state.live.listening(watched) as news:
            assert (await owner.post("/cook/wings/seen", {"key": ALERT.key})).status_code == 303
            told = await asyncio.wait_for(news.get(), PATIENCE_S)
        assert told is not None
        assert told.data["urgent"]
        assert watched.shown.alerts == ()
        known = Teller(made.app.state.app_state.store, None).known("wings")
        assert known.seen == {ALERT.key}


async def test_what_was_seen_or_sent_is_not_due_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "pitreckon.web.live.alerts.due",
        lambda outlook, ledger, how, now, sent, foreseen: [] if ALERT.key in sent else [ALERT],
    )
    file = tmp_path / "settings.toml"
    file.write_text(f'[alerts]\nurls = ["{GOOD}", "{DEAD}"]\n', encoding="utf-8")
    async with town(settings(tmp_path)) as made:
        add_wings(made)
        house = made.app.state.app_state
        whole = (house.live_cook("wings"), None, house.store.ledger("wings"))
        assert find_due(*whole, None, Known(), NOW) == Due((ALERT,), {})
        assert find_due(*whole, file, Known(), NOW) == Due((ALERT,), {GOOD: (ALERT,), DEAD: (ALERT,)})
        told = frozenset({ALERT.key})
        only_good = Known(told={address_key(GOOD): told})
        assert find_due(*whole, file, only_good, NOW) == Due((ALERT,), {GOOD: (), DEAD: (ALERT,)})
        assert find_due(*whole, file, Known(told={"": told}), NOW) == Due((ALERT,), {GOOD: (), DEAD: ()})
        assert find_due(*whole, file, Known(seen=told), NOW) == Due((), {GOOD: (), DEAD: ()})
        file.write_text("[alerts]\nurls = 3\n", encoding="utf-8")
        assert find_due(*whole, file, Known(), NOW).shown == (ALERT,)


async def test_a_dead_address_makes_no_other_ring_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five outlooks, one address dead: at commit f67b174 the good one got the same alert five times."""
    got: list[str] = []

    def send(alerts: list[Alert], urls: list[str]) -> list[Alert]:
        got.append(urls[0])
        return alerts if urls == [GOOD] else []

    monkeypatch.setattr("pitreckon.alerts.send.send", send)
    monkeypatch.setattr(live_alerts, "Outbox", partial(Outbox, waits_s=(PATIENCE_S, PATIENCE_S)))
    with Store.open(tmp_path / "ledger.sqlite") as store:
        store.add_cook(COOK, "harvest table", cook_id="wings")
        teller = Teller(store, tmp_path / "settings.toml")
        for _ in range(5):
            known = teller.known("wings")
            unsent = {url: () if ALERT.key in known.at(url) else (ALERT,) for url in (GOOD, DEAD)}
            teller.send("wings", Due((ALERT,), unsent))
            await until(lambda: address_key(GOOD) in teller.known("wings").told and DEAD in got)
        teller.close()
        assert got.count(GOOD) == 1
        assert got.count(DEAD) == 1, "the next try waits"
        assert teller.known("wings").told == {address_key(GOOD): frozenset({ALERT.key})}
