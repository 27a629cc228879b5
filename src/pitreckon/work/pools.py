"""Who does the work: a standard executor, of this machine's processes or of a cluster that is named by its address.

Everything that is too much for one process goes through ``concurrent.futures.Executor``; nobody else in the program
knows which kind it is.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

from pitreckon.errors import InputError
from pitreckon.extras import loading

if TYPE_CHECKING:
    from distributed import Client

PATIENCE_S = 20.0
"""How long a cluster may take to answer."""


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def processes(workers: int | None = None, begin: Callable[..., Any] | None = None) -> ProcessPoolExecutor:
    """An executor of ``workers`` processes of this machine (none: one a core), each begun by ``begin``.

    They are spawned, not forked: a process that runs threads of the kernel must not be copied.
    Raises InputError: no workers.
    """
    many = cores() if workers is None else workers
    if many < 1:
        raise InputError("no worker is left to do the work", "Ask for one or more.")
    return ProcessPoolExecutor(many, mp_context=get_context("spawn"), initializer=begin)


def connected(address: str) -> Client:
    """A client of the Dask cluster whose scheduler is at ``address``; to be used in a ``with``.

    Raises MissingExtraError; InputError: nobody answers there.
    """
    with loading("distributed", "work on a cluster"):
        from distributed import Client  # noqa: PLC0415  (takes a second, and is an extra)
    try:
        return Client(address, timeout=PATIENCE_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as fault:
        raise InputError(
            f"no cluster answers at {address}: {fault}", "Start its scheduler, and give its address as it prints it."
        ) from fault


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """The executor of a Dask cluster whose scheduler is at ``address``; it is left as it was found.

    Raises MissingExtraError; InputError: nobody answers there.
    """
    with connected(address) as client:
        yield client.get_executor(pure=False)


@contextmanager
def pool(on: str | None = None, workers: int | None = None) -> Iterator[Executor]:
    """An executor: this machine's processes, or, where ``on`` is an address, the cluster there.

    Raises InputError, MissingExtraError: as ``processes`` and ``cluster``.
    """
    if on is not None:
        with cluster(on) as executor:
            yield executor
        return
    with processes(workers) as executor:
        yield executor
