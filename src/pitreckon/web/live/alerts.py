"""Alerts in the page, and out of the house: what is due, what was told already, what somebody has seen."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pitreckon.alerts import Alert, AlertSettings, due, read_alert_settings
from pitreckon.alerts.outbox import Outbox, address_key
from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Ledger
from pitreckon.ledger.store import Following, Store, accounts
from pitreckon.web.live.shelf import Shelf

if TYPE_CHECKING:
    from pitreckon.reckon import Outlook
    from pitreckon.safety.foreseen import Foreseen

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Known:
    """Keys of what somebody has seen, and of what was sent, by the hash of the address; under "" to all."""

    seen: frozenset[str] = frozenset()
    told: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def at(self, url: str) -> frozenset[str]:
        """What need not go to an address."""
        nothing = frozenset[str]()
        return self.seen | self.told.get("", nothing) | self.told.get(address_key(url), nothing)


@dataclass(frozen=True, slots=True)
class Due:
    """Alerts for the page, and those to send, by address; an address is there if nothing is due to it too."""

    shown: tuple[Alert, ...] = ()
    unsent: Mapping[str, tuple[Alert, ...]] = field(default_factory=dict)


def settings_of(cook: Cook, settings_file: Path | None) -> AlertSettings:
    """What is wanted to be told; a fault in the settings file leaves what is usual."""
    if settings_file is not None:
        try:
            return read_alert_settings(settings_file, cook)
        except PitreckonError as fault:  # an outlook is worth more than its alerts
            log.warning("alerts are as usual, and none is sent: %s", fault)
    return AlertSettings(cook)


def find_due(
    cook: Cook,
    outlook: Outlook | None,
    ledger: Ledger,
    settings_file: Path | None,
    known: Known,
    now: datetime,
    foreseen: Sequence[Foreseen] = (),
) -> Due:
    """What is due in a cook; a fault in the settings file leaves the usual alerts, and none to send.

    outlook: None: there is none, and the readings alone are looked at
    """
    settings = settings_of(cook, settings_file)
    awake = replace(settings, quiet=None)  # a page wakes nobody
    left = {url: due(outlook, ledger, settings, now, known.at(url), foreseen) for url in settings.urls}
    unsent = {url: tuple(alert.written(settings.scale) for alert in alerts) for url, alerts in left.items()}
    return Due(tuple(due(outlook, ledger, awake, now, known.seen, foreseen)), unsent)


class Teller:
    """Knows what was told, and sends what was not."""

    def __init__(self, store: Store, settings_file: Path | None, shelf: Shelf | None = None) -> None:
        self._store, self._shelf = store, shelf or Shelf(store)
        self.settings_file = settings_file
        self._following = Following(store)
        self.outbox = Outbox(_send, self._told)

    def known(self, cook_id: str) -> Known:
        """What was seen and what was sent in a cook."""
        seen = frozenset(each.alert_key for each in accounts.all_acknowledged(self._store, cook_id))
        return Known(seen, accounts.all_told(self._store, cook_id))

    def by_readings(self, cook_id: str, cook: Cook, now: datetime) -> Due:
        """What is due by the readings alone."""
        ledger = self._following.ledger(cook_id)
        return find_due(cook, None, ledger, self.settings_file, self.known(cook_id), now)

    def by_outlook(self, cook_id: str, cook: Cook, outlook: Outlook, seq: int, foreseen: Sequence[Foreseen]) -> Due:
        """What is due by an outlook that rests on a ledger up to a number. foreseen: of the outlook before"""
        ledger, known = self._following.ledger(cook_id, seq), self.known(cook_id)
        return find_due(cook, outlook, ledger, self.settings_file, known, outlook.now_utc, foreseen)

    def send(self, cook_id: str, found: Due) -> None:
        """Send what was not sent yet, each address beside the others; returns at once. Of what is over, nothing."""
        if self._shelf.is_over(cook_id):
            return
        for url, alerts in found.unsent.items():
            self.outbox.put(cook_id, url, alerts)

    def close(self) -> None:
        """Send nothing more."""
        self.outbox.close()

    def _told(self, cook_id: str, address: str, keys: Sequence[str]) -> None:
        if not cook_id:  # a sign of life is of no cook
            return
        accounts.note_told(self._store, cook_id, keys, address)


def _send(alerts: Sequence[Alert], urls: Sequence[str]) -> Sequence[Alert]:
    from pitreckon.alerts.send import send  # noqa: PLC0415  an extra, and slow to load

    return send(alerts, urls)
