"""Waiting for what a test looks at, and measuring work where it has to be measured, on a machine that does much else.

A test that waits for a time, or for the first thing that comes, fails on a busy machine without anything being wrong.
So it waits for what it looks at, and gives up only after what no machine takes. Where the cost of something is the
matter, its work is counted; if that cannot be, its processor time is held against other work of the same run.
"""

from __future__ import annotations

import asyncio
import gc
import time
from collections.abc import Callable

PATIENCE_S = 300.0
"""After so long a test says that what it waits for never comes [s]. It guards against hanging and promises nothing."""


def until(holds: Callable[[], object], what: str = "what is waited for", every_s: float = 0.02) -> None:
    """Wait until something holds. Raises AssertionError: it never does."""
    ends = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < ends, f"it never came: {what}"
        time.sleep(every_s)


async def comes(holds: Callable[[], object], what: str = "what is waited for", every_s: float = 0.02) -> None:
    """The same on a loop, which goes on meanwhile."""
    ends = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < ends, f"it never came: {what}"
        await asyncio.sleep(every_s)


def least_cpu_s(work: Callable[[], object], runs: int = 3) -> float:
    """The least of a few runs [s]: of this thread alone, without the collector, to which all that is loaded belongs."""
    took = []
    collects = gc.isenabled()
    for _ in range(runs):
        gc.disable()
        begun = time.thread_time()
        try:
            work()
        finally:
            took.append(time.thread_time() - begun)
            if collects:
                gc.enable()
    return min(took)
