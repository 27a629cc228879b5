"""A copy of the ledger each night. Where that finds the ledger damaged, nothing more is taken into it."""

import asyncio
import contextlib
import logging
from datetime import datetime
from pathlib import Path
from typing import Final

from pitreckon.errors import StoreError
from pitreckon.ledger.keeping.backup import nightly
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.errors import DAMAGED

log = logging.getLogger(__name__)
LOOK_EVERY_S: Final = 1800.0
"""So often it is looked whether a new day has begun [s]."""


async def copy_nightly(store: Store, place: str, folder: Path, closing: asyncio.Event) -> None:
    """Keep a copy of each day, until the server ends: the first at once."""
    while not closing.is_set():
        await asyncio.to_thread(copy_once, store, place, folder)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(closing.wait(), LOOK_EVERY_S)


def copy_once(store: Store, place: str, folder: Path) -> None:
    """Today's copy, unless it is there. What is wrong is said in the server's messages; the page goes on."""
    try:
        made = nightly(place, folder, datetime.now().astimezone())
    except StoreError as fault:
        log.error("no copy of the ledger was made: %s", fault)  # noqa: TRY400  it has its words
        if "damaged" in fault.trouble:
            store.refuse(StoreError(*DAMAGED, store.where))
        return
    if made is not None:
        log.info("%s is today's copy", made)
