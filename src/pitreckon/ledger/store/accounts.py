"""The small tables beside the ledger: people, pairing links, devices, sessions, alerts seen and told, settings.

Hashes and secrets are made and checked by whoever opens the doors; here they are only kept. Each function raises
StoreError as :class:`Store` does.
"""

import json
import secrets
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, func, insert, select, update

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, is_label
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.records import Acknowledged, Device, Person, Session
from pitreckon.ledger.store.schema import (
    acknowledged,
    devices,
    drafts,
    events,
    pairing_links,
    people,
    sessions,
    settings,
    told_to,
    us_of,
    utc_of,
)
from pitreckon.ledger.store.store import Store, utc_now


def _new_id() -> str:
    return secrets.token_hex(8)


# --- people


def add_person(
    store: Store, name: str, role: str, password_hash: str, prefs: Mapping[str, Any] | None = None
) -> Person:
    """Keep a person. Raises InputError: a bad name, or one that somebody has."""
    is_label("name", name)
    person = Person(_new_id(), name, role, password_hash, dict(prefs or {}))
    return store.write(lambda connection: _add(connection, person))


def _add(connection: Connection, person: Person) -> Person:
    if connection.execute(select(people.c.id).where(people.c.name == person.name)).first():
        raise fault("name", f"somebody is named '{person.name}' already", "Give another name")
    row = {"id": person.id, "name": person.name, "role": person.role, "password_hash": person.password_hash}
    connection.execute(insert(people), {**row, "prefs": json.dumps(person.prefs)})
    return person


def all_people(store: Store) -> list[Person]:
    """Everybody, by name."""
    asked = select(people).order_by(people.c.name)
    return store.read(lambda connection: [_person(row) for row in connection.execute(asked)])


def person(store: Store, person_id: str) -> Person | None:
    """The person of an id."""
    asked = select(people).where(people.c.id == person_id)
    row = store.read(lambda connection: connection.execute(asked).first())
    return None if row is None else _person(row)


def merge_prefs(store: Store, person_id: str, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Set those of a person's preferences that are named here, to anything that JSON can hold; all that they are then.

    Two phones of one person change each their own: what one does not name stays as the other has set it.

    Raises InputError: no such person.
    """

    def work(connection: Connection) -> dict[str, Any]:
        this = people.c.id == person_id
        before = connection.execute(select(people.c.prefs).where(this).with_for_update()).scalar()
        if before is None:
            raise _no_person()
        merged = {**json.loads(before), **changes}
        connection.execute(update(people).where(this).values(prefs=json.dumps(merged)))
        return merged

    return store.write(work)


def set_password_hash(store: Store, person_id: str, password_hash: str) -> None:
    """Replace a person's password and end every session of theirs."""

    def work(connection: Connection) -> None:
        connection.execute(update(people).where(people.c.id == person_id).values(password_hash=password_hash))
        connection.execute(delete(sessions).where(sessions.c.person_id == person_id))

    store.write(work)


def remove_person(store: Store, person_id: str) -> None:
    """Forget a person, their sessions and drafts. What they recorded stays, under the name that it was recorded by."""

    def work(connection: Connection) -> None:
        connection.execute(delete(drafts).where(drafts.c.person_id == person_id))
        connection.execute(delete(sessions).where(sessions.c.person_id == person_id))
        connection.execute(delete(people).where(people.c.id == person_id))

    store.write(work)


def _person(row: Any) -> Person:
    return Person(row.id, row.name, row.role, row.password_hash, json.loads(row.prefs))


def _no_person() -> InputError:
    return fault("person", "there is no such person", "Log in again")


# --- pairing links


def add_link(store: Store, id_hash: str, role: str, expires_utc: datetime, now_utc: datetime) -> None:
    """Keep a link that lets one phone in; those that have run out go."""
    row = {"id_hash": id_hash, "role": role, "expires_us": us_of(expires_utc)}

    def work(connection: Connection) -> None:
        connection.execute(delete(pairing_links).where(pairing_links.c.expires_us <= us_of(now_utc)))
        connection.execute(insert(pairing_links), row)

    store.write(work)


def link_role(store: Store, id_hash: str, now_utc: datetime) -> str | None:
    """As what a link lets in; None: it has been used, has run out, or is nobody's."""
    asked = select(pairing_links.c.role).where(_link(id_hash, now_utc))
    return store.read(lambda connection: connection.execute(asked).scalar())


def pair(store: Store, id_hash: str, name: str, now_utc: datetime, single: str) -> Person | None:
    """Use up a link: whoever comes in by it; None: it has been used, has run out, or is nobody's.

    single: the role of which there is one person only, who comes in by any link of it; else it is somebody new

    Raises InputError: a bad name, or one that somebody has; then the link is as good as before.
    """

    def work(connection: Connection) -> Person | None:
        role = connection.execute(
            delete(pairing_links).where(_link(id_hash, now_utc)).returning(pairing_links.c.role)
        ).scalar()
        if role is None:
            return None
        there = connection.execute(select(people).where(people.c.role == role).order_by(people.c.name)).first()
        if role == single and there is not None:
            return _person(there)
        is_label("name", name)
        return _add(connection, Person(_new_id(), name, role, ""))

    return store.write(work)


def _link(id_hash: str, now_utc: datetime) -> ColumnElement[bool]:
    return (pairing_links.c.id_hash == id_hash) & (pairing_links.c.expires_us > us_of(now_utc))


# --- devices


def add_device(store: Store, label: str, token_hash: str, cook_id: str | None = None) -> Device:
    """Keep a device. Raises InputError: a bad label, a token in use, no such cook."""
    is_label("label", label)
    device = Device(_new_id(), label, token_hash, cook_id, utc_now())

    def work(connection: Connection) -> Device:
        if cook_id is not None:
            find_cook(connection, cook_id)
        if connection.execute(select(devices.c.id).where(devices.c.token_hash == token_hash)).first():
            raise fault("token", "another device has that token", "Make a new one")
        row = {"id": device.id, "label": label, "token_hash": token_hash, "cook_id": cook_id}
        connection.execute(insert(devices), {**row, "created_us": us_of(device.created_utc)})
        return device

    return store.write(work)


def all_devices(store: Store) -> list[Device]:
    """Every device, revoked ones too, the latest added first."""
    asked = select(devices).order_by(devices.c.created_us.desc(), devices.c.id)
    return store.read(lambda connection: [_device(row) for row in connection.execute(asked)])


def device_with(store: Store, token_hash: str) -> Device | None:
    """The device of a token, unless it was revoked."""
    asked = select(devices).where(devices.c.token_hash == token_hash, devices.c.revoked_us.is_(None))
    row = store.read(lambda connection: connection.execute(asked).first())
    return None if row is None else _device(row)


def last_heard(store: Store, label: str, cook_ids: Collection[str]) -> datetime | None:
    """When the last reading of a device came in, in one of these cooks; None: none has."""
    asked = select(func.max(events.c.recorded_us)).where(
        events.c.cook_id.in_(list(cook_ids)), events.c.kind == "reading", events.c.by_whom == label
    )
    at_us = store.read(lambda connection: connection.execute(asked).scalar())
    return None if at_us is None else utc_of(int(at_us))


def revoke_device(store: Store, device_id: str) -> None:
    """Let a device send no more; when it was revoked already, that time stays."""
    changed = update(devices).where(devices.c.id == device_id, devices.c.revoked_us.is_(None))
    store.write(lambda connection: connection.execute(changed.values(revoked_us=us_of(utc_now()))).rowcount)


def _device(row: Any) -> Device:
    revoked = None if row.revoked_us is None else utc_of(row.revoked_us)
    return Device(row.id, row.label, row.token_hash, row.cook_id, utc_of(row.created_us), revoked)


# --- sessions


def open_session(store: Store, id_hash: str, person_id: str, expires_utc: datetime, browser: str = "") -> Session:
    """Keep a session of a person. browser: what it runs on, in words. Raises InputError: no such person."""
    now = utc_now()
    session = Session(id_hash, person_id, now, now, expires_utc, browser)

    def work(connection: Connection) -> Session:
        if connection.execute(select(people.c.id).where(people.c.id == person_id)).first() is None:
            raise _no_person()
        row = {"id_hash": id_hash, "person_id": person_id, "created_us": us_of(now), "last_seen_us": us_of(now)}
        connection.execute(insert(sessions), {**row, "expires_us": us_of(expires_utc), "browser": browser})
        return session

    return store.write(work)


def session_of(store: Store, id_hash: str, now_utc: datetime | None = None) -> Session | None:
    """The session of a secret's hash, unless it has run out."""
    now_us = us_of(now_utc or utc_now())
    asked = select(sessions).where(sessions.c.id_hash == id_hash, sessions.c.expires_us > now_us)
    row = store.read(lambda connection: connection.execute(asked).first())
    return None if row is None else _session(row)


def sessions_of(store: Store, person_id: str, now_utc: datetime) -> list[Session]:
    """Every session of a person that has not run out, the one seen last first."""
    asked = select(sessions).where(sessions.c.person_id == person_id, sessions.c.expires_us > us_of(now_utc))
    asked = asked.order_by(sessions.c.last_seen_us.desc(), sessions.c.id_hash)
    return store.read(lambda connection: [_session(row) for row in connection.execute(asked)])


def _session(row: Any) -> Session:
    created, seen, expires = (utc_of(us) for us in (row.created_us, row.last_seen_us, row.expires_us))
    return Session(row.id_hash, row.person_id, created, seen, expires, row.browser)


def touch_session(store: Store, session: Session, now_utc: datetime, expires_utc: datetime) -> Session:
    """The session as seen just now, to run out later."""
    seen = {"last_seen_us": us_of(now_utc), "expires_us": us_of(expires_utc)}
    changed = update(sessions).where(sessions.c.id_hash == session.id_hash).values(seen)
    store.write(lambda connection: connection.execute(changed).rowcount)
    return replace(session, last_seen_utc=now_utc, expires_utc=expires_utc)


def end_session(store: Store, id_hash: str) -> None:
    """Log out."""
    store.write(lambda connection: connection.execute(delete(sessions).where(sessions.c.id_hash == id_hash)).rowcount)


def end_sessions(store: Store, person_id: str, id_hash: str | None = None) -> int:
    """End one session of a person, or all of them; how many were."""
    ended = delete(sessions).where(sessions.c.person_id == person_id)
    if id_hash is not None:
        ended = ended.where(sessions.c.id_hash == id_hash)
    return store.write(lambda connection: int(connection.execute(ended).rowcount))


def drop_expired_sessions(store: Store, now_utc: datetime) -> int:
    """Forget those that have run out; how many."""
    ended = delete(sessions).where(sessions.c.expires_us <= us_of(now_utc))
    return store.write(lambda connection: int(connection.execute(ended).rowcount))


# --- alerts


def acknowledge(store: Store, cook_id: str, alert_key: str, by: str) -> Acknowledged:
    """Note that somebody has seen an alert; the first to do so stays noted. Raises InputError: no such cook."""
    if not 1 <= len(alert_key) <= 200:
        raise fault("alert", "the alert's key is blank or too long", "Write 1 to 200 characters")

    def work(connection: Connection) -> Acknowledged:
        find_cook(connection, cook_id)
        this = (acknowledged.c.cook_id == cook_id) & (acknowledged.c.alert_key == alert_key)
        row = connection.execute(select(acknowledged).where(this)).first()
        if row is None:
            seen = Acknowledged(cook_id, alert_key, utc_now(), by)
            values = {"cook_id": cook_id, "alert_key": alert_key, "at_us": us_of(seen.at_utc), "by_whom": by}
            connection.execute(insert(acknowledged), values)
            return seen
        return _acknowledged(row)

    return store.write(work, touched=cook_id)


def all_acknowledged(store: Store, cook_id: str) -> list[Acknowledged]:
    """What has been seen in a cook, in order of time."""
    asked = select(acknowledged).where(acknowledged.c.cook_id == cook_id).order_by(acknowledged.c.at_us)
    return store.read(lambda connection: [_acknowledged(row) for row in connection.execute(asked)])


def _acknowledged(row: Any) -> Acknowledged:
    return Acknowledged(row.cook_id, row.alert_key, utc_of(row.at_us), row.by_whom)


def note_told(store: Store, cook_id: str, alert_keys: Collection[str], address: str = "") -> None:
    """Note that alerts went to an address, by its hash; "": to all that there are. Raises InputError: no such cook."""

    def work(connection: Connection) -> None:
        find_cook(connection, cook_id)
        for key in alert_keys:
            put(connection, told_to, {"cook_id": cook_id, "alert_key": key, "address": address})

    store.write(work)


def all_told(store: Store, cook_id: str) -> dict[str, frozenset[str]]:
    """Keys of the alerts that went out in a cook, by the hash of the address; under "" those that went to all."""
    asked = select(told_to.c.address, told_to.c.alert_key).where(told_to.c.cook_id == cook_id)
    found: dict[str, set[str]] = {}
    for address, key in store.read(lambda connection: connection.execute(asked).all()):
        found.setdefault(address, set()).add(key)
    return {address: frozenset(keys) for address, keys in found.items()}


# --- settings


def setting(store: Store, key: str, left_out: Any = None) -> Any:
    """The value of a setting, anything that JSON can hold; ``left_out`` where it was never set."""
    asked = select(settings.c.content).where(settings.c.name == key)
    content = store.read(lambda connection: connection.execute(asked).scalar())
    return left_out if content is None else json.loads(content)


def made_setting(store: Store, key: str, make: Callable[[], Any]) -> Any:
    """The value of a setting; made and kept where it was never set, by one of several who ask at once."""

    def work(connection: Connection) -> Any:
        asked = select(settings.c.content).where(settings.c.name == key).with_for_update()
        content = connection.execute(asked).scalar()
        if content is None:
            content = json.dumps(make())
            put(connection, settings, {"name": key, "content": content})
        return json.loads(content)

    there = setting(store, key)
    return store.write(work) if there is None else there


def set_setting(store: Store, key: str, value: Any) -> None:
    """Keep the value of a setting."""
    row = {"name": key, "content": json.dumps(value)}
    store.write(lambda connection: put(connection, settings, row))
