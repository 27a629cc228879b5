"""What became of cooks that are over without having been served, kept at hand for every page.

Another program may change it, too (an import, a second server): a change here begins with what the store has, and it is
read anew every few seconds.
"""

import asyncio
import contextlib
import logging
import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from pitreckon.errors import StoreError
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.states import CookState, change_state, states_in

log = logging.getLogger(__name__)
READ_EVERY_S = 10.0


class Shelf:
    """States of cooks, read and kept. The first question waits for the store: not on the loop."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._states: dict[str, CookState] | None = None
        self._one = threading.Lock()

    def of(self, cook_id: str) -> CookState:
        """The state of a cook."""
        with self._one:
            if self._states is None:
                self._states = self._store.read(states_in)
            return self._states.get(cook_id, CookState())

    async def keep_up(self, closing: asyncio.Event) -> None:
        """Read anew what others changed, until the server ends."""
        while not closing.is_set():
            try:
                states = await asyncio.to_thread(self._store.read, states_in)
                with self._one:
                    self._states = states
            except StoreError as fault:
                log.warning("what became of cooks is not read: %s", fault)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(closing.wait(), READ_EVERY_S)

    def is_over(self, cook_id: str) -> bool:
        """Is it called off or put away? Then nothing goes into it, and nobody is told of it."""
        state = self.of(cook_id)
        return bool(state.off_utc) or state.away

    def call_off(self, cook_id: str, now: datetime, by: str) -> None:
        """It ends without being served."""
        self._change(cook_id, lambda state: replace(state, off_utc=now.isoformat(timespec="seconds"), by=by))

    def go_on(self, cook_id: str) -> None:
        """It goes on after all, in sight."""
        self._change(cook_id, lambda _: CookState())

    def put_away(self, cook_id: str) -> None:
        """Out of sight."""
        self._change(cook_id, lambda state: replace(state, away=True))

    def bring_back(self, cook_id: str) -> None:
        """In sight again; called off it stays."""
        self._change(cook_id, lambda state: replace(state, away=False))

    def _change(self, cook_id: str, change: Callable[[CookState], CookState]) -> None:
        states = self._store.write(lambda connection: change_state(connection, cook_id, change))
        with self._one:
            self._states = states
