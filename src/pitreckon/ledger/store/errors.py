"""What a database says went wrong, as one :class:`StoreError` that names the place and what would help."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from pitreckon.errors import StoreError

CLOSED_FOLDER: Final = (
    "the file or its folder cannot be opened for writing",
    "Give a folder that may be written to, or change who may write there",
)
NOT_OURS: Final = (
    "it holds something else than a ledger of Pitreckon",
    "Give another file or database; a new one is made where there is none",
)
_FULL: Final = ("the disk is full", "Make room there, then send again what was not taken in")
DAMAGED: Final = (
    "the file is damaged",
    "Put back a copy ('pitreckon ledger restore'), or save what is left ('pitreckon ledger salvage')",
)
_BUSY: Final = ("another program holds the ledger", "Close it, or wait and try again")
_NOT_THERE: Final = ("the database does not answer", "Check that it runs, its address, and who may log in")

# SQLite's result codes begin with these words, PostgreSQL's states with these digits.
_SQLITE: Final = {
    "SQLITE_FULL": _FULL,
    "SQLITE_READONLY": CLOSED_FOLDER,
    "SQLITE_CANTOPEN": CLOSED_FOLDER,
    "SQLITE_PERM": CLOSED_FOLDER,
    "SQLITE_NOTADB": NOT_OURS,
    "SQLITE_CORRUPT": DAMAGED,
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
}
_POSTGRES: Final = {
    "53100": _FULL,
    "25006": ("the database may only be read", "Give one that may be written to"),
    "42501": ("the database user may not do that", "Let the user make and write tables there"),
    "55P03": _BUSY,
    "08": _NOT_THERE,
    "57P": _NOT_THERE,
    "28": _NOT_THERE,
    "3D000": ("there is no such database", "Make it first, as in createdb"),
}


def store_error(error: BaseException, where: str) -> StoreError:
    """The one error for what a driver raised."""
    cause = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    known, code = (
        (_SQLITE, getattr(cause, "sqlite_errorname", None))
        if isinstance(cause, sqlite3.Error)
        else (
            _POSTGRES,
            getattr(cause, "sqlstate", None),
        )
    )
    for begin, (trouble, remedy) in known.items():
        if str(code or "").startswith(begin):
            return StoreError(trouble, remedy, where)
    if isinstance(error, DBAPIError) and (error.connection_invalidated or code is None):
        return StoreError(*_NOT_THERE, where)
    said = " ".join(str(cause).split())[:200].rstrip(".")
    return StoreError(f"the database refuses: {said}", "Check the disk and the file, then try again", where)


@contextmanager
def faults_at(where: str) -> Iterator[None]:
    """Within it whatever a database raises is a :class:`StoreError` about ``where``."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise store_error(error, where) from error
