"""What other programs commit to the same ledger: a database tells it, a file is asked whether it has changed.

PostgreSQL sends a notification with each commit (NOTIFY and LISTEN). SQLite has a number that changes when another
connection has written (``PRAGMA data_version``), which is read from memory: asking costs some microseconds.
"""

import contextlib
import logging
import secrets
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import count
from typing import Any, Final

from sqlalchemy import Connection, Engine, select, text
from sqlalchemy.exc import SQLAlchemyError

from pitreckon.ledger.store.schema import cooks

ASK_EVERY_S: Final = 0.5
"""A file is asked this often [s]."""
AGAIN_S: Final = 2.0
LOOK_EVERY_S: Final = 20
"""A server is asked besides, this often [s]: what it said on a line that is dead without anybody's knowing is late, and
not lost."""
CHANNEL: Final = "pitreckon_ledger"
log = logging.getLogger(__name__)


class Others:
    """Listens in a thread of its own. tell: is told ``(cook_id, last_seq)`` of what another program has committed"""

    def __init__(self, engine: Engine, tell: Callable[[str, int], object]) -> None:
        self.name = secrets.token_hex(6)
        self._engine, self._tell = engine, tell
        self._ends = threading.Event()
        self._seqs: dict[str, int] = {}
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Listen from now on."""
        with self._lock:
            if self._thread is None and not self._ends.is_set():
                run = self._of_server if self._engine.dialect.name == "postgresql" else self._of_file
                self._thread = threading.Thread(target=run, name="ledger news", daemon=True)
                self._thread.start()

    def close(self) -> None:
        """Listen no more."""
        self._ends.set()
        if self._thread is not None:
            self._thread.join(AGAIN_S + 2.0)

    def say(self, connection: Connection, cook_ids: Iterable[str]) -> None:
        """Tell other programs, in the transaction that they are to hear of once it is committed."""
        if connection.dialect.name == "postgresql":
            for cook_id in cook_ids:
                said = {"channel": CHANNEL, "words": f"{self.name} {cook_id}"}
                connection.execute(text("SELECT pg_notify(:channel, :words)"), said)

    @contextlib.contextmanager
    def own(self, seqs: Mapping[str, int]) -> Iterator[None]:
        """This program commits so far itself, in the block, and tells its watchers: nobody takes it for another's."""
        with self._lock:
            yield
            for cook_id, last_seq in seqs.items():
                self._seqs[cook_id] = max(last_seq, self._seqs.get(cook_id, 0))

    # --- a file

    def _of_file(self) -> None:
        with contextlib.suppress(SQLAlchemyError, sqlite3.Error):
            raw = self._engine.raw_connection()
            try:
                cursor: Any = raw.cursor()
                (before,) = cursor.execute("PRAGMA data_version").fetchone()
                self._look(first=True)
                while not self._ends.wait(ASK_EVERY_S):
                    (now,) = cursor.execute("PRAGMA data_version").fetchone()
                    if now != before:
                        self._look()
                    before = now
                cursor.close()
            finally:
                raw.close()

    # --- a server

    def _of_server(self) -> None:
        first = True
        while not self._ends.is_set():
            try:
                self._listen(first=first)
            except Exception as fault:
                log.warning("news of other programs are not heard: %s", fault)
                first = False
                self._ends.wait(AGAIN_S)

    def _listen(self, *, first: bool) -> None:
        with self._engine.connect() as connection:
            driver: Any = connection.execution_options(isolation_level="AUTOCOMMIT").connection.driver_connection
            try:
                driver.execute(f"LISTEN {CHANNEL}")
                self._look(first=first)  # it listens by now: what was said before that was said to nobody
                for second in count(1):
                    if self._ends.is_set():
                        return
                    if second % LOOK_EVERY_S == 0:
                        self._look()
                    for note in driver.notifies(timeout=1.0):
                        name, _, cook_id = note.payload.partition(" ")
                        if name != self.name:
                            self._look(cook_id)
            finally:
                connection.invalidate()  # it listens, and is of no use to anybody else

    # --- both

    def _look(self, cook_id: str | None = None, *, first: bool = False) -> None:
        """Tell of every cook that has more entries than were known."""
        asked = select(cooks.c.id, cooks.c.last_seq)
        if cook_id is not None:
            asked = asked.where(cooks.c.id == cook_id)
        try:
            with self._engine.connect() as connection:
                rows = connection.execute(asked).all()
        except SQLAlchemyError as fault:
            log.warning("news of other programs are not heard: %s", fault)
            return
        for found, last_seq in rows:
            with self._lock:
                fresh = last_seq > self._seqs.get(found, -1)
                self._seqs[found] = max(last_seq, self._seqs.get(found, 0))
            if fresh and not first:
                self._tell(found, last_seq)
