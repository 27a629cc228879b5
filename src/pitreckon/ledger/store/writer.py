"""The one writer: a thread that takes jobs from a queue and commits all that wait together.

A commit costs the disk the same for one row as for a thousand. So whatever came in while the last commit was on its
way is written in the next one, and nobody waits for a clock.
"""

import logging
import sqlite3
import threading
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from typing import Any, Final

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from pitreckon.errors import PitreckonError, StoreError
from pitreckon.ledger.store.engine import writing
from pitreckon.ledger.store.errors import DAMAGED, store_error
from pitreckon.ledger.store.others import Others

Work = Callable[[Connection], Any]
Watcher = Callable[[str, int], object]

_GROUP_ROWS: Final = 10_000  # of one commit, so that none takes long
_WAITING_ROWS: Final = 200_000  # beyond these the senders are told instead of memory filling up
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Job:
    work: Work
    rows: int
    touched: str | None
    done: Future[Any] = field(default_factory=Future)


class Writer:
    """Runs jobs one after the other in one thread, several in one transaction."""

    def __init__(self, engine: Engine, where: str, last_seq: Callable[[Connection, str], int]) -> None:
        self._engine = engine
        self._where = where
        self._last_seq = last_seq
        self._jobs: SimpleQueue[_Job | None] = SimpleQueue()
        self._watchers: tuple[Watcher, ...] = ()
        self._lock = threading.Lock()
        self._waiting_rows = 0
        self._others = Others(engine, lambda cook_id, seq: self._tell_watchers([(cook_id, seq)]))
        self._closed = False
        self._refused: StoreError | None = None
        self._looked = False
        self._thread = threading.Thread(target=self._run, name="ledger writer", daemon=True)
        self._thread.start()

    def submit(self, work: Work, *, rows: int = 1, touched: str | None = None) -> Future[Any]:
        """Have a job done in the next transaction; its future is set after the commit.

        work: given the connection; a PitreckonError from it undoes it alone, and is the future's
        touched: the cook whose watchers are told

        Raises StoreError: the store is closed, or far behind.
        """
        job = _Job(work, rows, touched)
        with self._lock:
            if self._closed:
                raise StoreError("the store is closed", "Open it again", self._where)
            if self._waiting_rows and self._waiting_rows + rows > _WAITING_ROWS:
                raise StoreError("the disk cannot keep up with what comes in", "Send it again later", self._where)
            self._waiting_rows += rows
            self._jobs.put(job)
        return job.done

    def check_waiter(self) -> None:
        """Raise RuntimeError in the thread that would wait for itself: a watcher's."""
        if threading.current_thread() is self._thread:
            raise RuntimeError("a watcher waits for the writer that waits for it")

    def watch(self, watcher: Watcher) -> Callable[[], None]:
        """Call it after each commit that touched a cook, ours or another program's, from a thread of the ledger's.

        What is returned ends that.
        """
        with self._lock:
            self._watchers = (*self._watchers, watcher)
        self._others.start()

        def stop() -> None:
            with self._lock:
                self._watchers = tuple(each for each in self._watchers if each is not watcher)

        return stop

    def close(self) -> None:
        """Do what waits, then end."""
        with self._lock:
            if not self._closed:
                self._closed = True
                self._jobs.put(None)
        self._thread.join()
        self._others.close()

    def refuse(self, error: StoreError) -> None:
        """From now on whoever wants something written is told this: the file is damaged, say."""
        self._refused = error

    def _run(self) -> None:
        end = False
        while not end:
            first = self._jobs.get()
            if first is None:
                return
            group, rows = [first], first.rows
            while rows < _GROUP_ROWS:
                try:
                    job = self._jobs.get_nowait()
                except Empty:
                    break
                if job is None:
                    end = True
                    break
                group.append(job)
                rows += job.rows
            self._do([job for job in group if job.done.set_running_or_notify_cancel()])
            with self._lock:
                self._waiting_rows -= rows

    def _do(self, group: list[_Job]) -> None:
        if not group:
            return
        try:
            self._look_first()
            results, seqs = self._commit(group)
        except Exception as error:  # whatever it is, somebody waits for it
            if len(group) > 1 and not isinstance(error, _CommitError) and error is not self._refused:
                for job in group:  # one of them is bad: it shall not take the others with it
                    self._do([job])
                return
            cause = error.__cause__ if isinstance(error, _CommitError) and error.__cause__ else error
            for job in group:
                job.done.set_exception(self._told(cause))
            return
        for job, result in zip(group, results, strict=True):
            if isinstance(result, PitreckonError):
                job.done.set_exception(result)
            else:
                job.done.set_result(result)
        self._tell_watchers(seqs.items())

    def _look_first(self) -> None:
        """Before the first word is written: are the pages whole? What is added to a torn file may be lost with it."""
        if not self._looked and self._engine.dialect.name == "sqlite":
            with self._engine.connect() as connection:
                said = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
            if said != "ok":
                self._refused = StoreError(*DAMAGED, self._where)
        self._looked = True
        if self._refused is not None:
            raise self._refused

    def _commit(self, group: list[_Job]) -> tuple[list[Any], dict[str, int]]:
        with writing(self._engine.connect()) as connection:
            transaction = connection.begin()
            try:
                results = [self._alone(connection, job.work) for job in group]
                done = zip(group, results, strict=True)
                touched = {job.touched for job, result in done if not isinstance(result, PitreckonError)}
                seqs = {cook_id: self._last_seq(connection, cook_id) for cook_id in touched if cook_id is not None}
                self._others.say(connection, seqs)
            except BaseException:
                transaction.rollback()
                raise
            try:
                with self._others.own(seqs):
                    transaction.commit()
            except Exception as error:
                raise _CommitError from error
        return results, seqs

    @staticmethod
    def _alone(connection: Connection, work: Work) -> Any:
        part = connection.begin_nested()
        try:
            result = work(connection)
        except PitreckonError as fault:
            part.rollback()
            return fault
        part.commit()
        return result

    def _told(self, error: BaseException) -> BaseException:
        of_database = isinstance(error, (SQLAlchemyError, sqlite3.Error))
        return store_error(error, self._where) if of_database else error

    def _tell_watchers(self, seqs: Iterable[tuple[str, int]]) -> None:
        for cook_id, seq in seqs:
            for watcher in self._watchers:
                try:
                    watcher(cook_id, seq)
                except Exception:
                    _log.exception("a watcher of the ledger failed")


class _CommitError(Exception):
    """The commit itself failed, so that all of it is undone and none of it is at fault."""
