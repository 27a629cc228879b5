"""What became of cooks that are over without having been served, kept at hand for every page.

Another program may change it, too (an import): a change here begins with what the store has, and a new start reads it.
"""

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from pitreckon.ledger.store import Store
from pitreckon.ledger.store.states import CookState, change_state, states_in


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
