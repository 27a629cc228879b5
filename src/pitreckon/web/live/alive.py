"""A sign of life to an address, again and again: whoever watches there rings when it stops coming.

It is sent only while all is well: the ledger can be read, and the outlook of a cook that is going on is no older than
it may be. A power cut, a dead disk and a reckoning that hangs all end it.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from pitreckon.alerts import Alert
from pitreckon.alerts.outbox import Outbox
from pitreckon.ledger.store import Store
from pitreckon.web.live.live import Live

log = logging.getLogger(__name__)

STALE: Final = timedelta(minutes=15)
"""An outlook older than this by the server's clock is no sign of life."""


@dataclass(frozen=True, slots=True)
class Alive:
    """url: as Apprise writes addresses; every_s: from one sign to the next [s]."""

    url: str
    every_s: float = 300.0


def sign_of_life(store: Store, live: Live, now: datetime) -> Alert | str:
    """The message to send; a text where all is not well, which says why none is sent.

    Raises StoreError: the ledger cannot be read.
    """
    rows = store.cooks()
    said = [f"The ledger has {len(rows)} {'cook' if len(rows) == 1 else 'cooks'}."]
    for shown in live.going_on(now):
        outlook = shown.outlook
        if shown.trouble:
            return f"{shown.cook.name}: {shown.trouble}"
        if outlook is not None and now - outlook.now_utc > STALE:
            return f"{shown.cook.name}: its outlook is of {outlook.now_utc:%H:%M} UTC"
        at = "not reckoned yet" if outlook is None else f"reckoned at {outlook.now_utc:%H:%M} UTC"
        said.append(f"{shown.cook.name}: {at}.")
    return Alert("alive", "", "Pitreckon is up", " ".join(said), now, (f"alive|{now.isoformat()}",))


async def say_so(
    alive: Alive, outbox: Outbox, store: Store, live: Live, now: Callable[[], datetime], closing: asyncio.Event
) -> None:
    """Send a sign of life each time that it is due, until the server ends."""
    while not closing.is_set():
        try:
            sign = await asyncio.to_thread(sign_of_life, store, live, now())
        except Exception as fault:  # whatever is wrong, it is no sign of life
            sign = str(fault)
        if isinstance(sign, str):
            log.warning("no sign of life is sent: %s", sign)
        outbox.put("", alive.url, () if isinstance(sign, str) else (sign,))
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(closing.wait(), alive.every_s)
