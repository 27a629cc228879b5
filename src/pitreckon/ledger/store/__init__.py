"""The store: every cook's plan and its append-only ledger, in a file or a database."""

from pitreckon.ledger.store.following import Following
from pitreckon.ledger.store.records import (
    Acknowledged,
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
from pitreckon.ledger.store.store import Store
