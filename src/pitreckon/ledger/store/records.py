"""What goes into a store and comes out of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from pitreckon.ledger.events import Event

KINDS: Final = ("reading", "look", "act", "correction")


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry that takes an earlier one back, or puts another in its place; the earlier one stays on record.

    of_id: id of the reading, look or act that was wrong; of several corrections the latest taken in holds
    event: what should have been there; None: nothing
    why: in the cook's words
    """

    of_id: str
    event: Event | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """What somebody wants recorded.

    id: made by whoever sends it, 1 to 64 characters, one of its own for each entry of a cook: sent again, it is
        known, and recorded once
    by: who or what sends it: the label of a person or a device
    """

    id: str
    event: Event | Correction
    by: str = ""


@dataclass(frozen=True, slots=True)
class Receipt:
    """The answer to one entry, given once it is kept for good.

    seq: its number in the cook's ledger, from 1, in the order of taking in
    new: False when it had been recorded before
    """

    id: str
    seq: int
    new: bool


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """An entry as the ledger has it.

    recorded_utc: when it was taken in, UTC, by the clock of the machine that did
    corrected_by: id of the correction that holds for it, if there is one
    """

    seq: int
    id: str
    event: Event | Correction
    by: str
    recorded_utc: datetime
    corrected_by: str | None = None


@dataclass(frozen=True, slots=True)
class CookRow:
    """A cook in the store.

    plan_toml: its plan, as in a cook file
    plan_version: 1, and one more each time the plan is replaced
    last_seq: number of the latest entry, 0 for none
    """

    id: str
    name: str
    plan_toml: str
    plan_version: int
    created_utc: datetime
    last_seq: int


@dataclass(frozen=True, slots=True)
class ReplacedPlan:
    """A plan that a cook had, until somebody put another in its place."""

    cook_id: str
    plan_version: int
    plan_toml: str
    replaced_utc: datetime
    replaced_by: str


@dataclass(frozen=True, slots=True)
class MeatSaid:
    """What was done to an item's meat before it went on, in words, as somebody said; a later number holds."""

    item: str
    number: int
    words: str
    said_utc: datetime
    by: str


@dataclass(frozen=True, slots=True)
class LearnedCook:
    """What a finished cook taught.

    seq, plan_version: number of the last entry that counted, and of the plan; made_with: version of Pitreckon
    ended_utc: when the cook was at its end; content: a file of lessons, which means nothing to the store
    """

    cook_id: str
    seq: int
    plan_version: int
    made_with: str
    ended_utc: datetime
    learned_utc: datetime
    content: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A cook from which nothing is to be learned."""

    cook_id: str
    said_utc: datetime
    by: str


@dataclass(frozen=True, slots=True)
class CameOut:
    """How a cook came out, as one of those who ate says. rating: 1 poor to 5 the best yet; note: in their words"""

    cook_id: str
    by: str
    rating: int
    note: str
    said_utc: datetime


@dataclass(frozen=True, slots=True)
class PitAnew:
    """Since when a pit, by its label, is another one."""

    pit: str
    since_utc: datetime
    said_utc: datetime
    by: str


@dataclass(frozen=True, slots=True)
class PitSaid:
    """What a person says of a pit outright.

    kind: catalog key; what: which of its unknowns, or "same": that it is the same pit up to then
    amount: what that comes to, give: by how much it may be wrong, nine times in ten, both in the unknown's unit
    since_utc: from when it is so
    """

    id: str
    pit: str
    kind: str
    what: str
    amount: float
    give: float
    since_utc: datetime
    said_utc: datetime
    by: str


@dataclass(frozen=True, slots=True)
class HouseRows:
    """All that is kept of what a house has learned, each in an order that does not change by itself."""

    learned: tuple[LearnedCook, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    anew: tuple[PitAnew, ...] = ()
    said: tuple[PitSaid, ...] = ()


@dataclass(frozen=True, slots=True)
class MixRow:
    """A mix of the house, as a mix file. parts: names of the mixes in it, in the order of its lines."""

    id: str
    name: str
    mix_toml: str
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BatchRow:
    """The record of a batch made for sale. content: JSON text; link: of it and all before it, hex."""

    seq: int
    lot: str
    content: str
    recorded_utc: datetime
    by: str
    link: str


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may log in. ``password_hash`` and ``prefs`` mean nothing to the store."""

    id: str
    name: str
    role: str
    password_hash: str
    prefs: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Device:
    """Something that sends readings. cook_id None: to any cook; ``revoked_utc``: since when no longer."""

    id: str
    label: str
    token_hash: str
    cook_id: str | None
    created_utc: datetime
    revoked_utc: datetime | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """A person's way in from one browser, known by a hash of its secret. browser: what it runs on, "": not known"""

    id_hash: str
    person_id: str
    created_utc: datetime
    last_seen_utc: datetime
    expires_utc: datetime
    browser: str = ""


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """Somebody has seen an alert; ``alert_key`` names the occasion."""

    cook_id: str
    alert_key: str
    at_utc: datetime
    by: str
