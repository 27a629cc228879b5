"""How work that can wait gives way, in its middle, to a question that cannot.

The server says by number which question is to give way, and wakes the process with a signal. There the question is
left where it stands, but only in a stretch that has said it may be: what the process remembers is never half-changed.
"""

import os
import signal
from collections.abc import MutableSequence
from types import FrameType, TracebackType
from typing import Final

from pitreckon.errors import PitreckonError

SIGNAL: Final = getattr(signal, "SIGUSR1", None)
"""Wakes the process; where there is no such signal it looks when a stretch begins, and not later."""
WANTED, AT_WORK, PROCESS, SIZE = 0, 1, 2, 3
Shared = MutableSequence[int]
"""Numbers that both see: of the question that is to give way, of the one that can just now, and of the process."""


class GaveWayError(PitreckonError):
    """The question was left for a more urgent one: it has no answer."""


class Left(BaseException):
    """Raised where the question stands. No fault: nothing on the way may take it for one."""


class GivesWay:
    """A stretch of work that may be left; used as ``with memory.gives_way:``. Of the process."""

    def __init__(self, shared: Shared | None = None) -> None:
        """shared: None: nobody ever asks for it."""
        self._shared, self._number, self._may = shared, 0, False
        if shared is not None and SIGNAL is not None:
            signal.signal(SIGNAL, self._woken)

    def begins(self, number: int) -> None:
        """The next question."""
        self._number, self._may = number, False
        if self._shared is not None:
            self._shared[AT_WORK] = 0

    def __enter__(self) -> None:
        if self._shared is None:
            return
        self._may = True
        self._shared[AT_WORK] = self._number  # said before it is looked: one of the two sides sees the other
        self._look()

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, where: TracebackType | None
    ) -> None:
        self._may = False
        if self._shared is not None:
            self._shared[AT_WORK] = 0

    def _woken(self, _number: int, _frame: FrameType | None) -> None:
        self._look()

    def _look(self) -> None:
        if self._may and self._shared is not None and self._shared[WANTED] == self._number:
            self._may = False
            raise Left


def ask_to_give_way(shared: Shared, number: int) -> None:
    """The process is to leave a question, in its next stretch that may be left or in the one that it is in."""
    shared[WANTED] = number
    if SIGNAL is not None and shared[AT_WORK] == number:  # it is there, and so listens
        os.kill(shared[PROCESS], SIGNAL)
