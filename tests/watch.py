"""Holds the two markers that say what a test needs: ``kernel`` and ``servers``.

A test that runs the compiled kernel and is not marked ``kernel`` fails, and so does one that starts a program and is
not marked ``servers``. So ``make quick`` stays as quick as it is, whoever adds a test.
"""

from __future__ import annotations

import os
import subprocess
import threading
from collections.abc import Callable, Iterator
from functools import wraps
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

import pytest
from numba.core.dispatcher import Dispatcher

from pitreckon.section import simulate

ROOT = Path(__file__).parents[1]
PAGES = {
    "docs/how-to/call-it-from-python.md": "kernel",
    "docs/how-to/cool-leftovers.md": "kernel",
    "docs/how-to/reckon-how-much.md": "kernel",
    "docs/how-to/run-a-study.md": "kernel",
}
"""Pages whose examples need one of them: a page cannot carry a marker."""
LOADS_AHEAD = "kernel"
"""The thread in which a command loads machine code that is ready, for one member of two minutes."""
LOOK_AT_THE_MACHINE = {"ldconfig", "gcc", "cc", "ld", "objdump", "lscpu", "uname"}
ADVICE = {
    "kernel": "runs the compiled kernel; mark it @pytest.mark.kernel, or ask for less",
    "servers": "starts a program; mark it @pytest.mark.servers, or do without",
}


class Watch:
    """The plugin. It looks at the calls themselves, not at imports: what is only imported costs little."""

    def __init__(self) -> None:
        self._running: pytest.Item | None = None
        self._work = _method(simulate._Run, "work", self._members_run)
        self._compile = _method(Dispatcher, "compile", self._function_compiled)
        self._popen = _method(subprocess.Popen, "__init__", self._program_started)
        self._start = _method(BaseProcess, "start", lambda *_: self._asks("servers"))

    def _members_run(self, _run: Any, engine: Callable[..., None], *_: int) -> None:
        if engine.__module__.startswith("pitreckon.section.compiled"):
            self._asks("kernel")

    def _function_compiled(self, dispatcher: Any, *_: Any) -> None:
        """Ours, that is: the library of moist air has itself compiled too."""
        if dispatcher.py_func.__module__.startswith("pitreckon."):
            self._asks("kernel")

    def _program_started(self, _popen: Any, command: Any, *_: Any, **__: Any) -> None:
        """But for what ``ctypes``, NumPy and HDF5 ask about the machine: it is over at once."""
        first = command if isinstance(command, str | bytes) else next(iter(command))
        if Path(os.fsdecode(first)).name not in LOOK_AT_THE_MACHINE:
            self._asks("servers")

    def _asks(self, marker: str) -> None:
        if threading.current_thread().name == LOADS_AHEAD:
            return  # beside whatever is tested, and over in a moment: it may be another test by then
        if self._running is not None and self._running.get_closest_marker(marker) is None:
            pytest.fail(f"{self._running.nodeid} {ADVICE[marker]} (tests/watch.py)", pytrace=False)

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Mark the pages."""
        for item in items:
            marker = PAGES.get(item.path.relative_to(ROOT).as_posix())
            if marker is not None:
                item.add_marker(marker)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Know which test is at it, its fixtures included."""
        self._running = item
        try:
            return (yield)
        finally:
            self._running = None


def _method(kind: type, name: str, before: Callable[..., None]) -> None:
    """Have ``before`` called with the arguments of each call of a method."""
    plain = getattr(kind, name)

    @wraps(plain)
    def watched(*arguments: Any, **named: Any) -> Any:
        before(*arguments, **named)
        return plain(*arguments, **named)

    setattr(kind, name, watched)
