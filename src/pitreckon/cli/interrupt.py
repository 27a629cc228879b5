"""Ctrl-C: a command ends within a second and says what it has kept, whatever it is in the middle of.

The interpreter tells of an interrupt only between two steps of its own, and a compiled kernel or a solver is one step
of many seconds. So a thread waits for the signal beside it: where the command has not ended by itself soon after, it
is ended there. Files are written whole or not at all, and a ledger takes in batches, so nothing is torn.
"""

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Final

from pitreckon.cli.kept import kept_words

CODE: Final = 130
"""128 and the number of the signal, as shells have it."""
GRACE_S: Final = 0.6
"""How long a command may take to end by itself."""
OWN_WAY: Final = ("serve", "demo", "watch")
"""Commands that an interrupt is the usual end of, and that close up in their own time."""
_SHOW_CURSOR: Final = "\x1b[?25h"


class Interrupts:
    """Whether an interrupt has come."""

    def __init__(self) -> None:
        self.came = threading.Event()
        self.ended = threading.Event()

    def end(self) -> None:
        """Say what is kept and end, without waiting for threads that nobody wants any more."""
        with suppress(OSError, ValueError):
            sys.stdout.flush()
            if sys.stderr.isatty():
                sys.stderr.write(_SHOW_CURSOR)
            sys.stderr.write(f"pitreckon: {kept_words()}\n")
            sys.stderr.flush()
        os._exit(CODE)


@contextmanager
def interruptible(command: str) -> Iterator[Interrupts]:
    """Watch for an interrupt while a command runs. command: its name; some are left alone"""
    interrupts = Interrupts()
    if command in OWN_WAY or threading.current_thread() is not threading.main_thread() or os.name != "posix":
        yield interrupts
        return
    heard, told = os.pipe()
    os.set_blocking(told, False)
    before = signal.set_wakeup_fd(told, warn_on_full_buffer=False)
    threading.Thread(target=_wait, args=(heard, interrupts), name="interrupts", daemon=True).start()
    try:
        yield interrupts
    finally:
        interrupts.ended.set()
        signal.set_wakeup_fd(before)
        os.close(told)  # which ends the thread


def _wait(heard: int, interrupts: Interrupts) -> None:
    try:
        while number := os.read(heard, 1):
            if number[0] == signal.SIGINT and _handler() is signal.default_int_handler:
                interrupts.came.set()
                if not interrupts.ended.wait(GRACE_S):
                    interrupts.end()
                return
    finally:
        os.close(heard)


def _handler() -> object:
    """Who hears an interrupt now: somebody else's handler ends what it is in by itself."""
    found: object = signal.getsignal(signal.SIGINT)
    return found
