"""The small tables: people, devices, sessions, acknowledged alerts, settings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pitreckon.errors import InputError
from pitreckon.ledger.store import Store, accounts

NOON = datetime(2126, 10, 10, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.servers)])
def store(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    if request.param == "sqlite":
        address = str(tmp_path_factory.mktemp("store") / "ledger.sqlite")
    else:
        address = request.getfixturevalue("postgres_server").new_database()
    with Store.open(address) as opened:
        yield opened


def test_people_and_their_sessions(store: Store) -> None:
    owner = accounts.add_person(store, "Owner", "owner", "hash", {"degrees": "F"})
    guest = accounts.add_person(store, "A guest", "viewer", "other hash")
    assert accounts.all_people(store) == [guest, owner]
    assert accounts.person(store, owner.id) == owner
    assert accounts.person(store, "nobody") is None
    with pytest.raises(InputError, match="somebody is named 'Owner'"):
        accounts.add_person(store, "Owner", "viewer", "hash")
    with pytest.raises(InputError, match="name"):
        accounts.add_person(store, " ", "viewer", "hash")
    assert accounts.merge_prefs(store, owner.id, {"degrees": "C", "clock": 24}) == {"degrees": "C", "clock": 24}
    assert accounts.person(store, owner.id) == replace(owner, prefs={"degrees": "C", "clock": 24})
    with pytest.raises(InputError, match="no such person"):
        accounts.merge_prefs(store, "nobody", {"degrees": "C"})

    session = accounts.open_session(store, "s1", owner.id, NOON)
    assert accounts.session_of(store, "s1") == session
    assert accounts.session_of(store, "s1", NOON) is None, "it has run out"
    later = accounts.touch_session(store, session, NOON, NOON + HOUR)
    assert (
        accounts.session_of(store, "s1", NOON) == later == replace(session, last_seen_utc=NOON, expires_utc=NOON + HOUR)
    )
    with pytest.raises(InputError, match="no such person"):
        accounts.open_session(store, "s2", "nobody", NOON)
    accounts.open_session(store, "s3", guest.id, NOON)
    assert accounts.drop_expired_sessions(store, NOON) == 1
    assert accounts.session_of(store, "s3") is None
    accounts.open_session(store, "s4", guest.id, NOON)
    accounts.end_session(store, "s4")
    assert accounts.session_of(store, "s4") is None

    accounts.set_password_hash(store, owner.id, "new hash")
    found = accounts.person(store, owner.id)
    assert found is not None
    assert found.password_hash == "new hash"
    assert accounts.session_of(store, "s1") is None, "a new password ends every session"
    accounts.open_session(store, "s5", guest.id, NOON)
    accounts.remove_person(store, guest.id)
    assert accounts.session_of(store, "s5") is None
    assert [person.name for person in accounts.all_people(store)] == ["Owner"]


def test_devices(store: Store) -> None:
    cook_id = store.add_cook("", "supper").id
    first = accounts.add_device(store, "logger", "token 1")
    second = accounts.add_device(store, "logger", "token 2", cook_id)
    assert accounts.device_with(store, "token 1") == first
    assert accounts.device_with(store, "token 2") == second
    assert second.cook_id == cook_id
    assert accounts.device_with(store, "token 3") is None
    with pytest.raises(InputError, match="another device has that token"):
        accounts.add_device(store, "probe", "token 1")
    with pytest.raises(InputError, match="no cook 'nowhere'"):
        accounts.add_device(store, "probe", "token 3", "nowhere")
    accounts.revoke_device(store, first.id)
    assert accounts.device_with(store, "token 1") is None
    revoked = {device.id: device.revoked_utc for device in accounts.all_devices(store)}
    assert revoked[first.id] is not None
    assert revoked[second.id] is None
    accounts.revoke_device(store, first.id)
    assert {device.id: device.revoked_utc for device in accounts.all_devices(store)} == revoked


def test_alerts_are_acknowledged_once(store: Store) -> None:
    cook_id, other = store.add_cook("", "supper").id, store.add_cook("", "lunch").id
    told: list[str] = []
    store.watch(lambda cook, _seq: told.append(cook))
    first = accounts.acknowledge(store, cook_id, "wrap racks", "Owner")
    assert accounts.acknowledge(store, cook_id, "wrap racks", "guest") == first
    assert told[0] == cook_id, "other pages hear of it"
    second = accounts.acknowledge(store, cook_id, "pit low", "guest")
    assert accounts.all_acknowledged(store, cook_id) == [first, second]
    assert accounts.all_acknowledged(store, other) == []
    with pytest.raises(InputError, match="no cook 'nowhere'"):
        accounts.acknowledge(store, "nowhere", "pit low", "guest")
    with pytest.raises(InputError, match="key"):
        accounts.acknowledge(store, cook_id, "", "guest")


@pytest.mark.parametrize("value", [None, True, 7, 0.1, "text ö", [1, {"a": None}], {}])
def test_settings(store: Store, value: object) -> None:
    assert accounts.setting(store, "pit low") is None
    assert accounts.setting(store, "pit low", "left out") == "left out"
    accounts.set_setting(store, "pit low", "before")
    accounts.set_setting(store, "pit low", value)
    assert accounts.setting(store, "pit low", "left out") == value
