"""What one running server holds."""

import asyncio
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any, Final

from starlette.templating import Jinja2Templates

from pitreckon.cook import Cook
from pitreckon.ledger.store import CookRow, Following, Store
from pitreckon.web.access.accounts import Accounts
from pitreckon.web.access.secrets import Passwords, Seal
from pitreckon.web.access.throttle import Tries
from pitreckon.web.live.answers import Sent
from pitreckon.web.live.channels import Judges
from pitreckon.web.live.jobs import Jobs
from pitreckon.web.live.live import Live
from pitreckon.web.live.photos import Photos
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.series import thinned
from pitreckon.web.live.shelf import Shelf
from pitreckon.web.live.whose import Whose
from pitreckon.web.settings import WebSettings

POINTS: Final = 500
"""Measured points of one line in the chart."""


@dataclass
class AppState:
    """Store, doors and reckoning of a server.

    logins, tokens, links: failures by address or browser; everyone: wrong passwords of all strangers together
    streams: open ones by person
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
    shelf: Shelf
    logins: Tries = field(default_factory=lambda: Tries(5, 15 * 60.0))
    everyone: Tries = field(default_factory=lambda: Tries(60, 15 * 60.0))
    tokens: Tries = field(default_factory=lambda: Tries(20, 5 * 60.0))
    links: Tries = field(default_factory=lambda: Tries(20, 5 * 60.0))
    one_hash: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(1))
    streams: Counter[str] = field(default_factory=Counter)
    jobs: Jobs = field(init=False)
    following: Following = field(init=False)
    whose: Whose = field(init=False)
    photos: Photos = field(init=False)
    sent: Sent = field(default_factory=Sent)

    def __post_init__(self) -> None:
        self.following = Following(self.store)
        self.whose = Whose(self.store, self.following, self.settings.clock.now, self.shelf)
        self.photos = Photos(self.settings.store)
        self.jobs = Jobs(self.live.crew, self.settings.store)

    def cooks(self) -> list[CookRow]:
        """Every cook that was not put away, the latest made first."""
        return [row for row in self.store.cooks() if not self.shelf.of(row.id).away]

    def live_cook(self, cook_id: str) -> Cook:
        """The plan of a cook as it is now."""
        return cook_of(self.store.cook(cook_id).plan_toml)

    def recorded_at(self, cook_id: str) -> Callable[[str], datetime | None]:
        """When an entry of an id was recorded; for retries of readings that came without a time."""
        return partial(self.store.entry_at, cook_id)

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
