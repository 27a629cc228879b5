"""Alerts in the page, and out of the house: what is due, what was told already, what somebody has seen."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pitreckon.alerts import Alert, AlertSettings, due, read_alert_settings
from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Ledger
from pitreckon.ledger.store import Store, accounts

if TYPE_CHECKING:
    from pitreckon.reckon import Outlook
    from pitreckon.safety.foreseen import Foreseen

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Known:
    """Keys of what somebody has seen, and of what was sent."""

    seen: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Due:
    """Alerts for the page, and those to send, with where to."""

    shown: tuple[Alert, ...] = ()
    unsent: tuple[Alert, ...] = ()
    urls: tuple[str, ...] = ()


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
    outlook: Outlook,
    ledger: Ledger,
    settings_file: Path | None,
    known: Known,
    now: datetime,
    foreseen: Sequence[Foreseen] = (),
) -> Due:
    """What is due in a cook; a fault in the settings file leaves the usual alerts, and none to send."""
    settings = settings_of(cook, settings_file)
    awake = replace(settings, quiet=None)  # a page wakes nobody
    unsent: Sequence[Alert] = (
        due(outlook, ledger, settings, now, known.seen | known.told, foreseen) if settings.urls else ()
    )
    return Due(tuple(due(outlook, ledger, awake, now, known.seen, foreseen)), tuple(unsent), settings.urls)


class Teller:
    """Knows what was told, and sends what was not."""

    def __init__(self, store: Store, settings_file: Path | None) -> None:
        self._store = store
        self.settings_file = settings_file

    def known(self, cook_id: str) -> Known:
        """What was seen and what was sent in a cook."""
        seen = frozenset(each.alert_key for each in accounts.all_acknowledged(self._store, cook_id))
        return Known(seen, accounts.all_told(self._store, cook_id))

    def send(self, cook_id: str, found: Due) -> None:
        """Send what was not sent yet; what does not go out is tried again with the next outlook."""
        if not found.unsent:
            return
        from pitreckon.alerts.send import send  # noqa: PLC0415  an extra, and slow to load

        try:
            sent = send(found.unsent, found.urls)
        except PitreckonError as fault:
            log.warning("alerts are not sent: %s", fault)
            return
        accounts.note_told(self._store, cook_id, [key for alert in sent for key in alert.keys])
