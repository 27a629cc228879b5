"""Alerts in the page, and out of the house: what is due, what was told already, what somebody has seen."""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pitreckon.alerts import Alert, AlertSettings, due, read_alert_settings
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Cook, Ledger
from pitreckon.ledger.store import Store, accounts

if TYPE_CHECKING:
    from pitreckon.reckon import Outlook

log = logging.getLogger(__name__)


class Teller:
    """Finds what is due in a cook and sends it once."""

    def __init__(self, store: Store, settings_file: Path | None) -> None:
        self._store, self._file = store, settings_file

    @property
    def sends(self) -> bool:
        """Is there a settings file that may hold addresses?"""
        return self._file is not None

    def due(self, cook_id: str, cook: Cook, outlook: Outlook, ledger: Ledger, now: datetime) -> tuple[Alert, ...]:
        """What the page shows: all that is due and nobody has said to have seen. Sends what was not sent yet."""
        settings = self._settings(cook)
        seen = {each.alert_key for each in accounts.all_acknowledged(self._store, cook_id)}
        told_key = f"told:{cook_id}"
        told = set(accounts.setting(self._store, told_key, []))
        if settings.urls:
            new = due(outlook, ledger, settings, now, seen | told)
            sent = self._send(new, settings.urls)
            if sent:
                told |= {key for alert in sent for key in alert.keys}
                accounts.set_setting(self._store, told_key, sorted(told))
        awake = replace(settings, quiet=None)  # a page wakes nobody
        return tuple(due(outlook, ledger, awake, now, seen))

    def _settings(self, cook: Cook) -> AlertSettings:
        try:
            return AlertSettings(cook) if self._file is None else read_alert_settings(self._file, cook)
        except PitreckonError as fault:  # an outlook is worth more than its alerts
            log.warning("the usual alerts, and none sent: %s", fault)
            return AlertSettings(cook)

    def _send(self, alerts: list[Alert], urls: tuple[str, ...]) -> list[Alert]:
        if not alerts:
            return []
        from pitreckon.alerts.send import send  # noqa: PLC0415  an extra, and slow to load

        try:
            return send(alerts, urls)
        except PitreckonError as fault:
            log.warning("alerts are not sent: %s", fault)
            return []
