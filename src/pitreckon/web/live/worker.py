"""Reckoning happens in a process of its own, so that the page never waits for it.

There are two of them: ``live`` has one for the cook that is going on, ``jobs`` one for what is planned and written up.
Each is spawned, asked one thing at a time, and thrown away when it takes too long or dies. What can wait gives way.
"""

import asyncio
import contextlib
import logging
import signal
import threading
from collections.abc import Collection
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Final, cast

from pitreckon.errors import PitreckonError
from pitreckon.web.live.giveway import GaveWayError, GivesWay, Left, Shared, ask_to_give_way
from pitreckon.web.live.questions import QUESTIONS, Memory, P, Progress, Question, T

log = logging.getLogger(__name__)
LONGEST_S: Final = 120.0
"""A reckoning that takes longer is given up [s]; the first may have to compile the kernel."""


class WorkerGoneError(PitreckonError):
    """The process died, or took too long."""


def _serve(pipe: Connection, shared: Shared) -> None:
    """The process: answers until the pipe is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it will end it
    memory = Memory(tell=lambda words: pipe.send(Progress(words)), gives_way=GivesWay(shared))
    while True:
        try:
            number, name, args, more = pipe.recv()
        except (EOFError, OSError):
            return
        answer: Any
        try:
            memory.gives_way.begins(number)
            answer = QUESTIONS[name](memory, *args, **more)
        except Left:
            answer = GaveWayError("it was left for something more urgent")
        except Exception as fault:  # whatever it is, the one who asked hears of it
            answer = fault if isinstance(fault, PitreckonError) else WorkerGoneError(f"{type(fault).__name__}: {fault}")
        try:
            pipe.send(answer)
        except (BrokenPipeError, OSError):
            return


class Worker:
    """The process as the server sees it. Started when it is first asked, and again after it has died."""

    def __init__(self, patient: Collection[str] = ()) -> None:
        """patient: questions that are never given up, since whoever asked one may stop it."""
        self._patient = patient
        self.progress = ""
        self._turn = asyncio.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._shared: Shared | None = None
        self._number = 0
        self._guard = threading.Lock()
        self._closed = False

    async def ask(self, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question.

        Raises PitreckonError: what it is at fault for, WorkerGoneError, or GaveWayError after ``give_way``
        """
        async with self._turn:
            self._number += 1
            what = (self._number, question.__name__, args, more)
            answering = asyncio.get_running_loop().run_in_executor(None, self._ask, what)
            longest_s = None if question.__name__ in self._patient else LONGEST_S
            try:
                answer = await asyncio.wait_for(asyncio.shield(answering), longest_s)
            except (TimeoutError, asyncio.CancelledError) as ended:
                self._kill()
                with contextlib.suppress(WorkerGoneError):
                    await answering
                if isinstance(ended, asyncio.CancelledError):
                    raise
                log.warning("%s took longer than %.0f s and was given up", question.__name__, LONGEST_S)
                raise WorkerGoneError(f"the reckoning took longer than {LONGEST_S:.0f} s and was given up") from None
        if isinstance(answer, PitreckonError):
            raise answer
        return cast("T", answer)

    def give_way(self) -> None:
        """The question at work is to be left, if it is one that can be; its asker hears a GaveWayError."""
        with self._guard:
            process = self._process
            if self._shared is not None and process is not None and process.pid is not None and process.is_alive():
                ask_to_give_way(self._shared, self._number, process.pid)

    def _ask(self, what: object) -> Any:
        try:
            pipe = self._running()
            self.progress = ""
            pipe.send(what)
            while isinstance(answer := pipe.recv(), Progress):
                self.progress = answer.words
        except (EOFError, OSError) as gone:
            self._kill()
            raise WorkerGoneError("the reckoning process has died; it is started again") from gone
        return answer

    def _running(self) -> Connection:
        with self._guard:
            if self._closed:
                raise EOFError
            if self._pipe is None or self._process is None or not self._process.is_alive():
                context = get_context("spawn")
                self._pipe, theirs = context.Pipe()
                self._shared = cast("Shared", context.RawArray("Q", 2))
                arguments = (theirs, self._shared)
                self._process = context.Process(target=_serve, args=arguments, name="pitreckon-reckons", daemon=True)
                self._process.start()
                theirs.close()
            return self._pipe

    def _kill(self) -> None:
        with self._guard:
            if self._process is not None:
                self._process.kill()
                self._process.join(1.0)
            if self._pipe is not None:
                with contextlib.suppress(OSError):
                    self._pipe.close()
            self._process = self._pipe = None

    def close(self) -> None:
        """End the process, whatever it is at."""
        self._closed = True
        self._kill()
