"""Many pieces of work over an executor: answers as they come, workers that die replaced, and nothing done twice."""

from __future__ import annotations

import warnings
from collections import deque
from collections.abc import Callable, Collection, Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from typing import Any, Final, TypeVar

from pitreckon.errors import InputError
from pitreckon.work.pools import could_not_begin, places, pool, stop, unguarded

T = TypeVar("T")
R = TypeVar("R")

MOST_LOST: Final = 3
"""Workers may die so often one after another without an answer between them; then the work itself kills them."""
LOOK_S: Final = 10.0
"""After so long without an answer a cluster is asked whether it has workers at all."""
AHEAD: Final = 1
"""Pieces handed out beyond those that are being done: enough that nobody waits, few enough that a stop loses little."""
WORKER_KILLED: Final = "KilledWorker"
"""What Dask Distributed calls it when several of its workers in turn died of one piece of work."""


def spread(
    work: Callable[[T], R],
    tasks: Sequence[T],
    *,
    on: str | None = None,
    workers: int | None = None,
    begin: Callable[..., Any] | None = None,
) -> Generator[tuple[T, R], None, None]:
    """Every task with its answer, in the order in which they are done.

    work: a pure function that another process can find by its name; its own fault ends all
    on: address of a cluster; None: ``workers`` processes of this machine (none: one a core), each begun by ``begin``;
        one worker, or one task, is done in this process

    A worker that dies loses nothing but what it was at, which is done again. Who stops listening, and closes it, ends
    what runs.

    Raises InputError: workers die one after another; no cluster, or it went away; it has no workers
    """
    if on is None and (workers == 1 or len(tasks) < 2):
        for task in tasks:
            yield task, work(task)
        return
    left, lost = deque(tasks), 0
    while left:
        with pool(on, workers, begin) as executor:
            if not places(executor):
                raise InputError(f"the cluster at {on} has no workers", "Start some, with this address")
            running: dict[Future[R], T] = {}
            try:
                while left or running:
                    broke = _hand_out(executor, work, left, running)
                    for future in [] if broke else _done(executor, running, on):
                        try:
                            answer = future.result()
                        except BrokenExecutor:
                            broke = True
                            continue
                        except CancelledError:
                            raise _gone(on) from None
                        except Exception as fault:
                            if type(fault).__name__ != WORKER_KILLED:
                                raise
                            lost = _count(lost)
                            left.append(running.pop(future))
                            continue
                        lost = 0
                        yield running.pop(future), answer
                    if broke:
                        if could_not_begin(executor):
                            raise unguarded()
                        lost = _count(lost)
                        left.extendleft(reversed(running.values()))
                        break
            finally:
                if running:
                    stop(executor)


def _done(executor: Executor, running: Collection[Future[R]], on: str | None) -> set[Future[R]]:
    """What is done next. A cluster may lose all its workers and get others: that is waited for, and said."""
    said = on is None
    while True:
        done = wait(running, None if said else LOOK_S, FIRST_COMPLETED).done
        if done:
            return done
        if not said and not places(executor):
            warnings.warn(f"the cluster at {on} has no workers left, and others are waited for", stacklevel=2)
            said = True


def _hand_out(executor: Executor, work: Callable[[T], R], left: deque[T], running: dict[Future[R], T]) -> bool:
    """Keep its places busy; whether it is found to be broken."""
    most = places(executor) + AHEAD
    while left and len(running) < most:
        try:
            future = executor.submit(work, left[0])
        except BrokenExecutor:
            return True
        running[future] = left.popleft()
    return False


def _count(lost: int) -> int:
    """One more. Raises InputError: too many."""
    if lost + 1 >= MOST_LOST:
        raise InputError(
            f"{MOST_LOST} workers died one after another, as where there is not enough memory",
            "Ask for fewer workers, or for smaller ensembles, and begin again: what is done is kept",
        )
    return lost + 1


def _gone(on: str | None) -> InputError:
    return InputError(
        f"the cluster at {on} went away" if on else "the work was called back",
        "Begin again once it is there: what is done is kept",
    )
