"""All reckoning happens in one process of its own, so that the page never waits for it.

It is spawned, asked one thing at a time, and thrown away when it takes too long or dies.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
import threading
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import TYPE_CHECKING, Any, Final

from pitreckon.errors import PitreckonError
from pitreckon.ledger import Ledger

if TYPE_CHECKING:
    from pitreckon.reckon import Outlook
    from pitreckon.reckon.forecast import Reckoning
    from pitreckon.reckon.whatif import WhatIf
    from pitreckon.web.series import Series

LONGEST_S: Final = 120.0
"""A reckoning that takes longer is given up [s]; the first may have to compile the kernel."""


@dataclass(frozen=True, slots=True)
class Reckon:
    """Ask for an outlook. key: names it for what is asked about it afterwards."""

    key: str
    plan_toml: str
    ledger: Ledger
    now: datetime
    members: int
    seed: int


@dataclass(frozen=True, slots=True)
class Suppose:
    """Ask what could be done, from the reckoning of that key."""

    key: str
    members: int


@dataclass(frozen=True, slots=True)
class Explain:
    """Ask what has moved the forecast since a moment."""

    plan_toml: str
    ledger: Ledger
    since: datetime
    now: datetime
    members: int
    seed: int
    celsius: bool


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The answer to ``Reckon``."""

    outlook: Outlook
    series: tuple[Series, ...]


class WorkerGoneError(PitreckonError):
    """The process died, or took too long."""


def _serve(pipe: Connection) -> None:
    """The process: answers until the pipe is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it will end it
    last: tuple[str, Reckoning] | None = None
    while True:
        try:
            ask = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer: Any
            if isinstance(ask, Reckon):
                last = (ask.key, _reckon(ask))
                answer = _reckoned(last[1])
            elif isinstance(ask, Suppose):
                answer = _suppose(ask, last)
            else:
                answer = _explain(ask)
        except Exception as fault:
            answer = fault if isinstance(fault, PitreckonError) else WorkerGoneError(f"{type(fault).__name__}: {fault}")
        try:
            pipe.send(answer)
        except (BrokenPipeError, OSError):
            return


def _reckon(ask: Reckon) -> Reckoning:
    from pitreckon.intake import cook_from_text  # noqa: PLC0415
    from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415

    cook = cook_from_text(ask.plan_toml, "the plan")
    return reckoning(cook, ask.ledger, now=ask.now, members=ask.members, seed=ask.seed)


def _reckoned(done: Reckoning) -> Reckoned:
    from pitreckon.web.series import series_of  # noqa: PLC0415

    return Reckoned(done.outlook, series_of(done))


def _suppose(ask: Suppose, last: tuple[str, Reckoning] | None) -> tuple[WhatIf, ...] | None:
    from pitreckon.reckon.whatif import what_ifs  # noqa: PLC0415

    if last is None or last[0] != ask.key:
        return None
    return what_ifs(last[1], members=ask.members)


def _explain(ask: Explain) -> tuple[str, ...]:
    from pitreckon.intake import cook_from_text  # noqa: PLC0415
    from pitreckon.reckon.explain import explain  # noqa: PLC0415

    cook = cook_from_text(ask.plan_toml, "the plan")
    when = (ask.ledger, ask.since, ask.ledger, ask.now)
    changes, _ = explain(cook, *when, members=ask.members, seed=ask.seed, celsius=ask.celsius)
    return tuple(change.line for change in changes)


class Worker:
    """The process as the server sees it. Started when it is first asked, and again after it has died."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._guard = threading.Lock()
        self._closed = False

    async def ask(self, what: Reckon | Suppose | Explain) -> Any:
        """The answer. Raises PitreckonError: what the question is at fault for, or WorkerGoneError."""
        async with self._turn:
            answering = asyncio.get_running_loop().run_in_executor(None, self._ask, what)
            try:
                answer = await asyncio.wait_for(asyncio.shield(answering), LONGEST_S)
            except (TimeoutError, asyncio.CancelledError):
                self._kill()
                with contextlib.suppress(WorkerGoneError):
                    await answering
                raise
        if isinstance(answer, PitreckonError):
            raise answer
        return answer

    def _ask(self, what: object) -> Any:
        try:
            pipe = self._running()
            pipe.send(what)
            return pipe.recv()
        except (EOFError, OSError) as gone:
            self._kill()
            raise WorkerGoneError("the reckoning process has died; it is started again") from gone

    def _running(self) -> Connection:
        with self._guard:
            if self._closed:
                raise EOFError
            if self._pipe is None or self._process is None or not self._process.is_alive():
                context = get_context("spawn")
                self._pipe, theirs = context.Pipe()
                self._process = context.Process(target=_serve, args=(theirs,), name="pitreckon-reckons", daemon=True)
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
