"""What became of cooks that were not served: called off, or put away out of sight. It goes into their exports.

A ledger is never cut: a cook that is put away keeps all of it. The states of all cooks are one small setting.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, select

from pitreckon.errors import InputError
from pitreckon.ledger.store.documents import check_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.schema import settings

KEY: Final = "cooks on the shelf"


@dataclass(frozen=True, slots=True)
class CookState:
    """off_utc: when it was called off, ISO 8601, "" if it was not; by: who did; away: it is out of sight"""

    off_utc: str = ""
    by: str = ""
    away: bool = False

    @property
    def document(self) -> dict[str, Any]:
        """As it is kept and exported."""
        return {"off_utc": self.off_utc, "by": self.by, "away": self.away}

    @property
    def words(self) -> str:
        """``called off 2026-10-17 by owner, put away``; "" for a cook like any other."""
        off = f"called off {self.off_utc[:10]} by {self.by}" if self.off_utc else ""
        return ", ".join(part for part in (off, "put away" if self.away else "") if part)


NO_STATE: Final = CookState()


def state_of(document: Any) -> CookState:
    """A state from what was exported. Raises InputError: it is none."""
    kinds = {"off_utc": str, "by": str, "away": bool}
    if not isinstance(document, Mapping) or any(type(document.get(name)) is not kind for name, kind in kinds.items()):
        raise InputError("the state of the cook is not whole", "Give a file that 'pitreckon export' wrote, whole")
    state = CookState(**{name: document[name] for name in kinds})
    if state.off_utc:
        try:
            aware = datetime.fromisoformat(state.off_utc).tzinfo is not None
        except ValueError:
            aware = False
        if not aware:
            raise InputError(
                f"'{state.off_utc[:30]}' is no time with a zone", "Write it as in 2026-10-17T14:05:00+00:00"
            )
    check_text("by", state.by)
    return state


def states_in(connection: Connection, *, to_change: bool = False) -> dict[str, CookState]:
    """The cooks that have one, by their ids."""
    asked = select(settings.c.content).where(settings.c.name == KEY)
    content = connection.execute(asked.with_for_update() if to_change else asked).scalar()
    return {cook_id: CookState(**each) for cook_id, each in json.loads(content or "{}").items()}


def change_state(
    connection: Connection, cook_id: str, change: Callable[[CookState], CookState]
) -> dict[str, CookState]:
    """Give a cook another state, whatever others have changed meanwhile; all states then."""
    states = states_in(connection, to_change=True)
    state = change(states.pop(cook_id, CookState()))
    states |= {} if state == CookState() else {cook_id: state}
    put(connection, settings, {"name": KEY, "content": json.dumps({key: s.document for key, s in states.items()})})
    return states
