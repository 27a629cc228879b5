"""Reckoning happens in processes of their own, so that the page never waits for it.

Each worker is a standard executor of one process, so that a question can be sent to the one that remembers its cook.
It is spawned when it is first asked, asked one thing at a time, and spawned anew after it has died. What can wait
gives way. :mod:`.crew` says whose question goes to which.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from functools import partial
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any, Final, Protocol, cast

from pitreckon.errors import PitreckonError
from pitreckon.web.live.answering import WorkerGoneError, answered, begin, forgotten
from pitreckon.web.live.giveway import SIZE, Shared, ask_to_give_way
from pitreckon.web.live.questions import P, Question, T
from pitreckon.work.pools import processes, stop

ROOM_BYTES: Final = 256 * 1024 * 1024
"""For what a worker keeps of cooks, unless it is told otherwise."""
DIED: Final = "the reckoning process has died; it is started again"


class WorkerDiedError(WorkerGoneError):
    """The process died while it was asked: the question may be asked again."""


class Worker(Protocol):
    """Whoever answers questions, one at a time. threads: of the kernel, for the next one; progress: with the last"""

    threads: int

    @property
    def progress(self) -> str:
        """How far it is with what it is at, in words."""

    async def ask(self, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question.

        Raises PitreckonError: what it is at fault for, WorkerDiedError, or GaveWayError after ``give_way``
        """

    def give_way(self) -> None:
        """The question at work is to be left, if it is one that can be; its asker hears a GaveWayError."""

    def forget(self, key: str) -> None:
        """Another worker has what is kept under a key newer: it may go, after what is at work."""

    def close(self) -> None:
        """End, whatever it is at."""


class Process:
    """A process of this machine as the server sees it."""

    def __init__(self, room_bytes: int = ROOM_BYTES) -> None:
        self.threads = 1
        self.progress = ""
        self._room_bytes = room_bytes
        self._number = 0
        self._guard = threading.Lock()
        self._executor: Executor | None = None
        self._shared: Shared | None = None
        self._closed = False

    async def ask(self, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """See Worker. Whoever stops waiting for the answer ends the process."""
        self._number += 1
        self.progress = ""
        what = (self._number, question.__name__, args, more)
        try:
            answer = await asyncio.wrap_future(await asyncio.to_thread(self._submit, what))
        except asyncio.CancelledError:
            self._let_go()
            raise
        except BrokenExecutor as gone:
            self._let_go()
            raise WorkerDiedError(DIED) from gone
        except PitreckonError:
            raise
        except Exception as fault:  # it could not be sent, or its answer could not
            raise WorkerGoneError(f"{type(fault).__name__}: {fault}") from fault
        return cast("T", checked(answer))

    def give_way(self) -> None:
        """See Worker."""
        with self._guard:
            if self._shared is not None:
                with contextlib.suppress(ProcessLookupError):  # it has just died
                    ask_to_give_way(self._shared, self._number)

    def forget(self, key: str) -> None:
        """See Worker."""
        with self._guard, contextlib.suppress(BrokenExecutor, RuntimeError):  # it has just died, or ends
            if self._executor is not None:
                self._executor.submit(forgotten, key)

    def close(self) -> None:
        """See Worker."""
        self._closed = True
        self._let_go()

    def _submit(self, what: tuple[int, str, Any, Any]) -> Future[Any]:
        with self._guard:
            if self._closed:
                raise WorkerGoneError("the server ends")
            if self._executor is not None:
                return self._executor.submit(answered, what, self.threads)
            context = get_context("spawn")
            ours, theirs = context.Pipe(duplex=False)
            self._shared = cast("Shared", context.RawArray("Q", SIZE))
            self._executor = processes(1, partial(begin, self._shared, theirs, self._room_bytes))
            future = self._executor.submit(answered, what, self.threads)
            theirs.close()
            threading.Thread(target=_hear, args=(ours, self._heard), name="progress", daemon=True).start()
            return future

    def _heard(self, number: int, words: str) -> None:
        if number == self._number:
            self.progress = words

    def _let_go(self) -> None:
        """Of the process, dead or not."""
        with self._guard:
            if self._executor is not None:
                stop(self._executor)
            self._executor = self._shared = None


def _hear(pipe: Connection, tell: Callable[[int, str], None]) -> None:
    """What the process tells, until it ends."""
    with pipe:
        while True:
            try:
                tell(*pipe.recv())
            except (EOFError, OSError):
                return


def checked(answer: Any) -> Any:
    """An answer that came from a process. Raises PitreckonError: it is one."""
    if isinstance(answer, PitreckonError):
        raise answer
    return answer
