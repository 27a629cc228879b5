"""The connection to a store: opened, checked, brought to the present state."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import DBAPIError

from pitreckon.errors import StoreError
from pitreckon.extras import loading
from pitreckon.ledger.store.errors import NOT_OURS, faults_at
from pitreckon.ledger.store.place import StorePlace, prepare_file
from pitreckon.ledger.store.schema import APPLICATION_ID, REVISIONS, VERSION_TABLE, metadata

if TYPE_CHECKING:
    from alembic.config import Config

WAIT_S: Final = 10.0  # for another program's write to end, and for a server to answer
_LOCK: Final = 0x5049545245434B  # PostgreSQL's name for "one upgrade at a time"
_MIGRATIONS: Final = Path(__file__).parent / "migrations"


def open_engine(place: StorePlace) -> Engine:
    """An engine on a store that is there and in its present state; made or brought up to it where it is not.

    Raises StoreError: it cannot be opened or written, is of something else, or of a newer Pitreckon
    Raises MissingExtraError: the driver of a database is not installed
    """
    if place.file is not None:
        prepare_file(place.file)
    engine = _sqlite(place) if place.file is not None else _postgres(place)
    try:
        with faults_at(place.where):
            _bring_up(engine, place.where)
    except BaseException:
        engine.dispose()
        raise
    return engine


def writing(connection: Connection) -> Connection:
    """The connection set to take the write lock as its transaction begins, not halfway through it."""
    return connection.execution_options(pitreckon_writes=True)


def _sqlite(place: StorePlace) -> Engine:
    engine = create_engine(place.url, connect_args={"timeout": WAIT_S}, pool_size=8, max_overflow=24)

    @event.listens_for(engine, "connect")
    def _connect(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # the driver's own idea of when to begin gets in the way of ours
        cursor = connection.cursor()
        try:
            (mode,) = cursor.execute("PRAGMA journal_mode = WAL").fetchone()
            if mode != "wal":
                raise StoreError(
                    "this file system cannot keep a write-ahead log", "Keep the ledger on a local disk", place.where
                )
            # FULL, not NORMAL: what has been acknowledged also survives the plug being pulled.
            cursor.execute("PRAGMA synchronous = FULL")
            cursor.execute("PRAGMA foreign_keys = ON")
            # Ids come in no order and touch pages all over their index: folding the log into the file eight times
            # less often writes each of them once instead of again and again.
            cursor.execute("PRAGMA wal_autocheckpoint = 8000")
            cursor.execute("PRAGMA journal_size_limit = 67108864")
            cursor.execute("PRAGMA cache_size = -16000")
        finally:
            cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("pitreckon_writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _postgres(place: StorePlace) -> Engine:
    with loading("psycopg", "a ledger in PostgreSQL"):
        return create_engine(
            place.url,
            connect_args={"connect_timeout": int(WAIT_S), "application_name": "pitreckon"},
            pool_pre_ping=True,
            pool_size=8,
            max_overflow=24,
        )


def _bring_up(engine: Engine, where: str) -> None:
    with engine.connect() as connection:
        if _is_present(connection, where):
            return
    with writing(engine.connect()) as connection, connection.begin():
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        if _is_present(connection, where):  # another program was quicker
            return
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        _upgrade(connection)


def _is_present(connection: Connection, where: str) -> bool:
    """Whether the store is in the present state; False: an older one, or nothing there yet."""
    there = set(inspect(connection).get_table_names())
    if VERSION_TABLE not in there:
        if there & set(metadata.tables):
            raise StoreError(*NOT_OURS, where)
        return False
    revision = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    if revision not in REVISIONS:
        raise StoreError(
            f"the ledger was kept by a newer Pitreckon (its state is {revision}, ours {REVISIONS[-1]})",
            "Update Pitreckon, or give another file",
            where,
        )
    return bool(revision == REVISIONS[-1])


def _upgrade(connection: Connection) -> None:
    from alembic import command  # noqa: PLC0415  half a second that only a new or an old store needs

    command.upgrade(steps_of(connection), "head")


def steps_of(connection: Connection) -> Config:
    """What Alembic needs to go from one state to another in the transaction of a connection."""
    from alembic.config import Config  # noqa: PLC0415  as above

    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.attributes["connection"] = connection
    return config


def close_engine(engine: Engine) -> None:
    """Let go of every connection; SQLite's log is folded into its file."""
    with suppress(DBAPIError):
        engine.dispose()
