"""What one running server holds."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from sqlalchemy import select
from starlette.templating import Jinja2Templates

from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger.store import CookRow, Following, Store
from pitreckon.ledger.store.schema import events, utc_of
from pitreckon.web.access.accounts import Accounts
from pitreckon.web.access.secrets import Passwords, Seal
from pitreckon.web.access.throttle import Tries
from pitreckon.web.live.channels import Judges
from pitreckon.web.live.jobs import Jobs
from pitreckon.web.live.live import Live
from pitreckon.web.live.series import thinned
from pitreckon.web.settings import WebSettings

POINTS: Final = 500
"""Measured points of one line in the chart."""


@dataclass
class AppState:
    """Store, doors and reckoning of a server.

    logins, tokens: failures by address; everyone: of all addresses together
    one_hash: so that many at the door cannot fill the memory
    """

    settings: WebSettings
    store: Store
    accounts: Accounts
    seal: Seal
    passwords: Passwords
    templates: Jinja2Templates
    live: Live
    judges: Judges
    logins: Tries = field(default_factory=lambda: Tries(5, 15 * 60.0))
    everyone: Tries = field(default_factory=lambda: Tries(60, 15 * 60.0))
    tokens: Tries = field(default_factory=lambda: Tries(20, 5 * 60.0))
    one_hash: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(1))
    jobs: Jobs = field(init=False)
    following: Following = field(init=False)
    _plans: dict[tuple[str, int], Cook] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.following = Following(self.store)
        self.jobs = Jobs(self.settings.store)

    def plan_of(self, row: CookRow) -> Cook:
        """The plan of a cook, read once for each of its versions."""
        key = (row.id, row.plan_version)
        if key not in self._plans:
            if len(self._plans) > 64:
                self._plans.clear()
            self._plans[key] = cook_from_text(row.plan_toml, "the plan")
        return self._plans[key]

    def live_cook(self, cook_id: str) -> Cook:
        """The plan of a cook as it is now."""
        return self.plan_of(self.store.cook(cook_id))

    def cook_for_device(self, cook_id: str | None) -> tuple[CookRow, Cook]:
        """The cook that a device sends to: the one named, else the latest made.

        Raises InputError: there is none.
        """
        if cook_id is None:
            cooks = self.store.cooks()
            if not cooks:
                raise InputError("there is no cook yet to add readings to", "Make one under Set-up first")
            row = cooks[0]
        else:
            row = self.store.cook(cook_id)
        return row, self.plan_of(row)

    def recorded_at(self, cook_id: str) -> Callable[[str], datetime | None]:
        """When an entry of an id was recorded; for retries of readings that came without a time."""

        def asked(entry_id: str) -> datetime | None:
            this = select(events.c.at_us).where(events.c.cook_id == cook_id, events.c.id == entry_id)
            at_us = self.store.read(lambda connection: connection.execute(this).scalar())
            return None if at_us is None else utc_of(at_us)

        return asked

    def measured(self, cook_id: str) -> list[dict[str, Any]]:
        """Every line of readings, thinned to what a chart can show."""
        ledger = self.following.ledger(cook_id)
        lines: dict[tuple[str, str, int | None], list[tuple[float, float]]] = {}
        for reading in ledger.all_readings:
            if reading.rejected is None:
                key = (reading.channel, reading.on, reading.piece)
                lines.setdefault(key, []).append((reading.at_utc.timestamp(), reading.value_c))
        for look in ledger.all_looks:
            if look.rejected is None and look.kind == "spot temperature":
                key = (look.kind, look.on, look.piece)
                lines.setdefault(key, []).append((look.at_utc.timestamp(), look.value))
        out = []
        for (channel, on, piece), points in lines.items():
            at, value = zip(*(points[n] for n in thinned(len(points), POINTS)), strict=True)
            out.append({"what": channel, "on": on, "piece": piece, "at": at, "value": [round(v, 2) for v in value]})
        return out
