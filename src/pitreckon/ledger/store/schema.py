"""The tables. What builds them in a store is in ``migrations``; a test holds the two together.

Instants are whole microseconds since 1970 UTC (``_us``): exact, sortable, and the same in every database.
"""

from datetime import UTC, datetime, timedelta
from typing import Final

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

REVISIONS: Final = ("0001", "0002", "0003", "0004", "0005")  # every state that a store can be in, oldest first
VERSION_TABLE: Final = "pitreckon_version"
APPLICATION_ID: Final = 0x50495452  # marks an SQLite file as ours, before anything is written to it

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND: Final = timedelta(microseconds=1)


def us_of(at_utc: datetime) -> int:
    """Microseconds since 1970 of an instant."""
    return (at_utc - _EPOCH) // _MICROSECOND


def utc_of(us: int) -> datetime:
    """The instant of microseconds since 1970."""
    return _EPOCH + timedelta(microseconds=us)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

cooks = Table(
    "cooks",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("plan_toml", Text, nullable=False),
    Column("plan_version", Integer, nullable=False),
    Column("created_us", BigInteger, nullable=False),
    Column("last_seq", BigInteger, nullable=False),
    Column("link", String(64), nullable=False, server_default=""),
)

# A row is never changed nor deleted (triggers hold it). `what` is a reading's channel too; `value` is a reading's
# or a look's, NULL for NaN; `body` is the rest as JSON, NULL for none.
events = Table(
    "events",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("id", String(64), nullable=False),
    Column("at_us", BigInteger, nullable=False),
    Column("recorded_us", BigInteger, nullable=False),
    Column("kind", String(10), nullable=False),
    Column("what", String(20), nullable=False),
    Column("on_label", Text, nullable=False),
    Column("piece", Integer),
    Column("value", Double),
    Column("rejected", Text),
    Column("source_line", Integer),
    Column("of_id", String(64)),
    Column("body", Text),
    Column("by_whom", Text, nullable=False),
    CheckConstraint("kind IN ('reading', 'look', 'act', 'correction')", name="kind"),
    sqlite_with_rowid=False,
)
ID_INDEX: Final = "ix_events_cook_id_id"  # an index and no constraint, so that a question can name it
Index(ID_INDEX, events.c.cook_id, events.c.id, unique=True)
# Corrections are few; the ledger page asks for those of a page's entries.
Index(
    "ix_events_cook_id_of_id",
    events.c.cook_id,
    events.c.of_id,
    sqlite_where=events.c.of_id.is_not(None),
    postgresql_where=events.c.of_id.is_not(None),
)

people = Table(
    "people",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("prefs", Text, nullable=False),
)

devices = Table(
    "devices",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("label", Text, nullable=False),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("cook_id", String(64), ForeignKey("cooks.id")),
    Column("created_us", BigInteger, nullable=False),
    Column("revoked_us", BigInteger),
)

sessions = Table(
    "sessions",
    metadata,
    Column("id_hash", String(128), primary_key=True),
    Column("person_id", String(64), ForeignKey("people.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("created_us", BigInteger, nullable=False),
    Column("last_seen_us", BigInteger, nullable=False),
    Column("expires_us", BigInteger, nullable=False),
    Column("browser", Text, nullable=False, server_default=""),
)

acknowledged = Table(
    "acknowledged",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("alert_key", String(200), primary_key=True),
    Column("at_us", BigInteger, nullable=False),
    Column("by_whom", Text, nullable=False),
)

# Plans that were replaced; the one that holds is in `cooks`. `replaced_by` is whoever put another in its place.
plan_versions = Table(
    "plan_versions",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("plan_version", Integer, primary_key=True, autoincrement=False),
    Column("plan_toml", Text, nullable=False),
    Column("replaced_us", BigInteger, nullable=False),
    Column("replaced_by", Text, nullable=False),
)

# What was asked for when a cook was planned.
wishes = Table(
    "wishes",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("wish_toml", Text, nullable=False),
)

# What a person has begun and not made anything of yet: of each kind one.
drafts = Table(
    "drafts",
    metadata,
    Column("person_id", String(64), ForeignKey("people.id", ondelete="CASCADE"), primary_key=True),
    Column("kind", String(40), primary_key=True),
    Column("content", Text, nullable=False),
)

pairing_links = Table(
    "pairing_links",
    metadata,
    Column("id_hash", String(128), primary_key=True),
    Column("role", Text, nullable=False),
    Column("expires_us", BigInteger, nullable=False),
)

# Which alert went to which address, known by a hash (addresses hold secrets); "": to all that there were.
told_to = Table(
    "told_to",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("alert_key", Text, primary_key=True),
    Column("address", String(64), primary_key=True),
)

# What was done to an item's meat before it went on, as somebody said; nothing is overwritten, the last number holds.
meat_said = Table(
    "meat_said",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("item", String(200), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("words", Text, nullable=False),
    Column("said_us", BigInteger, nullable=False),
    Column("said_by", Text, nullable=False),
)

# The link of each thousandth entry; that of the latest is in `cooks`.
seals = Table(
    "seals",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("link", String(64), nullable=False),
)

mixes = Table(
    "mixes",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("mix_toml", Text, nullable=False),
)

# The mixes in a mix, by their names and in the order of its lines.
mix_parts = Table(
    "mix_parts",
    metadata,
    Column("mix_id", String(64), ForeignKey("mixes.id", ondelete="CASCADE"), primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("part_name", Text, nullable=False),
)

# What each finished cook taught, as a file of lessons; it can be learned anew from the cook's ledger at any time.
# `seq` and `plan_version` say of how much, `made_with` by which Pitreckon, `ended_us` when the cook was at its end.
house_lessons = Table(
    "house_lessons",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("seq", BigInteger, nullable=False),
    Column("plan_version", Integer, nullable=False),
    Column("made_with", String(40), nullable=False),
    Column("ended_us", BigInteger, nullable=False),
    Column("learned_us", BigInteger, nullable=False),
    Column("content", Text, nullable=False),
)

# Cooks from which nothing is to be learned, as somebody said.
left_out = Table(
    "left_out",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("said_us", BigInteger, nullable=False),
    Column("said_by", Text, nullable=False),
)

# How a cook came out, as each of those who ate says: from 1 to 5, and a note.
came_out = Table(
    "came_out",
    metadata,
    Column("cook_id", String(64), ForeignKey("cooks.id"), primary_key=True),
    Column("said_by", String(200), primary_key=True),
    Column("said_us", BigInteger, nullable=False),
    Column("rating", Integer, nullable=False),
    Column("note", Text, nullable=False),
)

# Since when a pit, by its label, is another one: a new gasket, moved.
pits_anew = Table(
    "pits_anew",
    metadata,
    Column("pit", String(200), primary_key=True),
    Column("since_us", BigInteger, nullable=False),
    Column("said_us", BigInteger, nullable=False),
    Column("said_by", Text, nullable=False),
)

# What a person says of a pit outright: how far something is off, and by how much that may be wrong.
pits_said = Table(
    "pits_said",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("pit", String(200), nullable=False),
    Column("pit_kind", String(100), nullable=False),
    Column("what", String(40), nullable=False),
    Column("amount", Double, nullable=False),
    Column("give", Double, nullable=False),
    Column("since_us", BigInteger, nullable=False),
    Column("said_us", BigInteger, nullable=False),
    Column("said_by", Text, nullable=False),
)

# Batches made for sale. A row is never changed nor deleted (triggers hold it); `link` is of it and all before it, and
# that of the latest is in `settings` too. `content` is JSON.
batches = Table(
    "batches",
    metadata,
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("lot", String(64), nullable=False),
    Column("content", Text, nullable=False),
    Column("recorded_us", BigInteger, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("link", String(64), nullable=False),
)

# Named as they are so that no word of a table or a column is a keyword anywhere.
settings = Table(
    "settings",
    metadata,
    Column("name", String(100), primary_key=True),
    Column("content", Text, nullable=False),
)
