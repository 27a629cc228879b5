"""Who may come in, kept in the store: people, sessions, devices, pairing links, and the house's settings."""

import secrets
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from pitreckon.ledger.store import Device, Person, Session, Store, accounts
from pitreckon.web.access.secrets import digest, new_token
from pitreckon.web.errors import RefusalError

ROLES: Final = ("viewer", "cook", "owner")
"""Each may do what those before it may."""
ROLE_WORDS: Final = {"viewer": "may look", "cook": "may look and record", "owner": "may do everything"}
ROLE_NAMES: Final = {"viewer": "onlooker", "cook": "helper", "owner": "owner"}
"""What each is called on the page; "cook" there is a supper, or a deed."""
SESSION_LASTS: Final = timedelta(days=30)
PAIRING_LASTS: Final = timedelta(minutes=15)
SEEN_EVERY: Final = timedelta(minutes=10)
OWNER: Final = "owner"


class Accounts:
    """People, sessions, devices and settings.

    now: the machine's own time, UTC (not that of a replay)
    """

    def __init__(self, store: Store, now: Callable[[], datetime]) -> None:
        self._store, self.now = store, now
        accounts.drop_expired_sessions(store, now())

    # settings

    def setting(self, key: str, left_out: Any = None) -> Any:
        """A setting of the house."""
        return accounts.setting(self._store, key, left_out)

    def set(self, key: str, value: Any) -> None:
        """Set one."""
        accounts.set_setting(self._store, key, value)

    def key(self) -> str:
        """What sessions are signed with, made the first time."""
        key = self.setting("signing key")
        if key is None:
            key = new_token()
            self.set("signing key", key)
        return str(key)

    # people

    def people(self) -> list[Person]:
        """Everybody who may come in."""
        return accounts.all_people(self._store)

    def owner(self) -> Person | None:
        """The owner, if there is one yet."""
        return next((person for person in self.people() if person.role == OWNER), None)

    def set_owner(self, password_hash: str) -> Person:
        """Make the owner, or give them another password, which ends their sessions."""
        owner = self.owner()
        if owner is None:
            return accounts.add_person(self._store, OWNER, OWNER, password_hash)
        accounts.set_password_hash(self._store, owner.id, password_hash)
        return owner

    def merge_prefs(self, person: Person, changes: dict[str, Any]) -> None:
        """Set some of how a person reads numbers, and which cook they look at; the rest stays."""
        accounts.merge_prefs(self._store, person.id, changes)

    def scales(self) -> tuple[str, ...]:
        """The scales of temperature in which somebody here reads."""
        return tuple(sorted({person.prefs.get("degrees", "F") for person in self.people()} & {"F", "C"})) or ("F",)

    def drop_person(self, person_id: str) -> None:
        """Somebody goes, and all their sessions. Raises RefusalError: the owner stays."""
        found = accounts.person(self._store, person_id)
        if found is not None and found.role == OWNER:
            raise RefusalError(403, "the owner cannot be sent away", "Give them a new password instead")
        accounts.remove_person(self._store, person_id)

    # sessions

    def begin(self, person: Person, browser: str = "") -> str:
        """A session for a browser; its secret goes into the cookie and nowhere else. browser: what it runs on"""
        secret = new_token()
        accounts.open_session(self._store, digest(secret), person.id, self.now() + SESSION_LASTS, browser)
        return secret

    def sessions(self, person: Person) -> list[Session]:
        """Where a person is logged in, the one seen last first."""
        return accounts.sessions_of(self._store, person.id, self.now())

    def end_one(self, person: Person, id_hash: str) -> None:
        """Log a person out of one browser, by what is kept of its session."""
        accounts.end_sessions(self._store, person.id, id_hash)

    def end_all(self, person: Person) -> None:
        """Log a person out everywhere."""
        accounts.end_sessions(self._store, person.id)

    def who(self, secret: str) -> Person | None:
        """Whose session it is; None: nobody's, or it is over."""
        now = self.now()
        session = accounts.session_of(self._store, digest(secret), now)
        if session is None:
            return None
        if now - session.last_seen_utc > SEEN_EVERY:
            accounts.touch_session(self._store, session, now, now + SESSION_LASTS)
        return accounts.person(self._store, session.person_id)

    def end(self, secret: str) -> None:
        """Log out."""
        accounts.end_session(self._store, digest(secret))

    # devices

    def devices(self) -> list[Device]:
        """Every device that may send."""
        return [device for device in accounts.all_devices(self._store) if device.revoked_utc is None]

    def put_device(self, label: str, cook_id: str | None) -> str:
        """A new device; returns its token, which is kept by nobody here."""
        token = new_token()
        accounts.add_device(self._store, label, digest(token), cook_id)
        return token

    def device_of(self, token: str) -> Device | None:
        """The device of a token; None: nobody's, or it may no longer send."""
        return accounts.device_with(self._store, digest(token))

    def last_heard(self, device: Device, cook_ids: Sequence[str]) -> datetime | None:
        """When its last reading came in, in one of these cooks; None: none has."""
        return accounts.last_heard(self._store, device.label, cook_ids)

    def revoke(self, device_id: str) -> None:
        """From now on it may not send."""
        accounts.revoke_device(self._store, device_id)

    # pairing links

    def pairing(self, role: str, lasts: timedelta = PAIRING_LASTS) -> str:
        """The secret of a link that lets one phone in, once, within its time."""
        secret, now = secrets.token_urlsafe(18), self.now()
        accounts.add_link(self._store, digest(secret), role, now + lasts, now)
        return secret

    def pairing_role(self, secret: str) -> str:
        """As what a link lets in. Raises RefusalError: used, too old or nobody's."""
        role = accounts.link_role(self._store, digest(secret), self.now())
        if role is None:
            raise _used_up()
        return role

    def pair(self, secret: str, name: str) -> Person:
        """Use up a link: somebody new may come in.

        The first phone of the owner is the owner; everybody else is somebody of their own.

        Raises RefusalError: used, too old or nobody's. InputError: a bad name, or one that somebody has.
        """
        person = accounts.pair(self._store, digest(secret), name, self.now(), OWNER)
        if person is None:
            raise _used_up()
        return person


def _used_up() -> RefusalError:
    return RefusalError(403, "this link has been used or is too old", "Ask the owner for a new one under Set-up")
