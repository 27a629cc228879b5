"""The store: every cook's plan and its append-only ledger, in a file or a database.

What is kept is plain records; the store itself loads the database library when it is first asked for, so that whoever
reads a log needs none.
"""

from typing import TYPE_CHECKING

from pitreckon.extras import loading
from pitreckon.ledger.store.records import (
    Acknowledged,
    BatchRow,
    CameOut,
    CookRow,
    Correction,
    Device,
    Entry,
    HouseRows,
    LearnedCook,
    LeftOut,
    MeatSaid,
    MixRow,
    Person,
    PitAnew,
    PitSaid,
    Receipt,
    ReplacedPlan,
    Session,
    StoredEntry,
)

if TYPE_CHECKING:
    from pitreckon.ledger.store.following import Following
    from pitreckon.ledger.store.store import Store
else:

    def __getattr__(name: str) -> type:
        """``Store`` and ``Following``. Raises MissingExtraError: the database library is not installed."""
        if name not in {"Following", "Store"}:
            raise AttributeError(f"module '{__name__}' has no attribute '{name}'")
        with loading("sqlalchemy", "a ledger that is kept"):
            from pitreckon.ledger.store.following import Following  # noqa: PLC0415
            from pitreckon.ledger.store.store import Store  # noqa: PLC0415
        globals().update(Following=Following, Store=Store)
        return globals()[name]
