"""A cook's ledger as it grows: only what is new is read, and of readings only what counts is kept.

Reading a whole ledger for each look would take longer the longer a cook lasts. A place that asks again and again keeps
one of these; it is safe to share by threads.
"""

import threading
from dataclasses import dataclass, field
from typing import Final

from sqlalchemy import Connection

from pitreckon.ledger.condense import Condenser
from pitreckon.ledger.events import Event, Ledger, Look, Reading
from pitreckon.ledger.store.reading import last_seq, rows_between, seen_by
from pitreckon.ledger.store.records import Correction
from pitreckon.ledger.store.store import Store

_MOST_COOKS: Final = 32


@dataclass(slots=True)
class _Held:
    """What is held of one cook, up to a number.

    others: looks and acts in their order, None where taken back; authors: of looks, as they were recorded
    """

    seq: int = 0
    readings: Condenser = field(default_factory=Condenser)
    others: dict[str, Event | None] = field(default_factory=dict)
    authors: dict[str, str] = field(default_factory=dict)
    ledger: Ledger = field(default_factory=Ledger)


class Following:
    """The ledgers of a store, condensed, each read on from where it was."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._held: dict[str, _Held] = {}

    def ledger(self, cook_id: str, until_seq: int | None = None) -> Ledger:
        """``condensed(store.ledger(cook_id, until_seq))``, soon. Raises InputError: no such cook."""
        with self._lock:
            held = self._held.get(cook_id) or _Held()
            if until_seq is not None and until_seq < held.seq:
                held = _Held()
            return self._store.read(lambda connection: self._read_on(connection, cook_id, held, until_seq))

    def _read_on(self, connection: Connection, cook_id: str, held: _Held, until_seq: int | None) -> Ledger:
        last = last_seq(connection, cook_id)
        until = last if until_seq is None else min(until_seq, last)
        if until > held.seq:
            on = self._with_rows(connection, cook_id, held, until)
            # A reading is taken back or put right: rare, and what it stood for may be in none of what is held.
            held = on or self._with_rows(connection, cook_id, _Held(), until) or _Held()
        self._held.pop(cook_id, None)
        self._held[cook_id] = held
        while len(self._held) > _MOST_COOKS:
            del self._held[next(iter(self._held))]
        return held.ledger

    @staticmethod
    def _with_rows(connection: Connection, cook_id: str, before: _Held, until: int) -> _Held | None:
        """What is held with the rows up to a number; None if they correct a reading that is condensed already."""
        rows = list(rows_between(connection, cook_id, before.seq, until))
        corrections = {event.of_id: event for _, event in rows if isinstance(event, Correction)}
        fresh = {entry_id for entry_id, event in rows if not isinstance(event, Correction)}
        if any(of_id not in before.others and of_id not in fresh for of_id in corrections):
            return None
        held = _Held(until, before.readings, before.others, before.authors)
        for of_id, correction in corrections.items():
            if of_id in held.others:
                held.others[of_id] = seen_by(correction.event, held.authors.get(of_id, ""))
        for entry_id, event in rows:
            if isinstance(event, Correction):
                continue
            author = event.by if isinstance(event, Look) else ""
            if author:
                held.authors[entry_id] = author
            stands = seen_by(corrections[entry_id].event, author) if entry_id in corrections else event
            if isinstance(stands, Reading):
                held.readings.add(stands)
            else:
                held.others[entry_id] = stands
        others = [event for event in held.others.values() if event is not None]
        held.ledger = Ledger.of([*held.readings.readings, *others])
        return held
