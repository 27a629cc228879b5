"""What became of cooks that are over without having been served: called off, or put away out of sight.

A ledger is never cut: a cook that is put away keeps all of it, and can be brought back.
"""

import threading
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, Final

from pitreckon.ledger.store import Store, accounts

KEY: Final = "cooks on the shelf"


@dataclass(frozen=True, slots=True)
class Mark:
    """off_utc: when it was called off, ISO 8601, "" if it was not; by: who did; away: it is out of sight"""

    off_utc: str = ""
    by: str = ""
    away: bool = False


class Shelf:
    """Marks of cooks, read once and kept. The first question waits for the store: not on the loop."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._marks: dict[str, Mark] | None = None
        self._one = threading.Lock()

    def of(self, cook_id: str) -> Mark:
        """The mark of a cook."""
        return self._all().get(cook_id, Mark())

    def is_over(self, cook_id: str) -> bool:
        """Is it called off or put away? Then nothing goes into it, and nobody is told of it."""
        mark = self.of(cook_id)
        return bool(mark.off_utc) or mark.away

    def call_off(self, cook_id: str, now: datetime, by: str) -> None:
        """It ends without being served."""
        self._set(cook_id, replace(self.of(cook_id), off_utc=now.isoformat(timespec="seconds"), by=by))

    def go_on(self, cook_id: str) -> None:
        """It goes on after all, in sight."""
        self._set(cook_id, Mark())

    def put_away(self, cook_id: str) -> None:
        """Out of sight."""
        self._set(cook_id, replace(self.of(cook_id), away=True))

    def bring_back(self, cook_id: str) -> None:
        """In sight again; called off it stays."""
        self._set(cook_id, replace(self.of(cook_id), away=False))

    def _all(self) -> dict[str, Mark]:
        with self._one:
            if self._marks is None:
                kept: dict[str, dict[str, Any]] = accounts.setting(self._store, KEY, {})
                self._marks = {cook_id: Mark(**mark) for cook_id, mark in kept.items()}
            return self._marks

    def _set(self, cook_id: str, mark: Mark) -> None:
        marks = self._all()
        with self._one:
            left = {key: each for key, each in marks.items() if key != cook_id}
            left |= {} if mark == Mark() else {cook_id: mark}
            accounts.set_setting(self._store, KEY, {key: asdict(each) for key, each in left.items()})
            self._marks = left
