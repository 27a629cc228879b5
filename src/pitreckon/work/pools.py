"""Who does the work: a standard executor, of this machine's processes or of a cluster that is named by its address.

Everything that is too much for one process goes through ``concurrent.futures.Executor``; nobody else in the program
knows which kind it is.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import current_process, get_context, parent_process
from typing import TYPE_CHECKING, Any

from pitreckon import __version__
from pitreckon.errors import InputError
from pitreckon.extras import loading

if TYPE_CHECKING:
    from distributed import Client

WITH_PORT = ("tcp", "tls", "ws", "wss", "http", "https")
"""How an address may begin that names a host and a port; what is not spoken by Dask is told by it."""
PACKAGE = "pitreckon"
ENDS_S = 5.0
"""How long the processes of an executor that broke may take to end."""
PATIENCE_S = 20.0
"""How long a cluster may take to answer."""


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def processes(workers: int | None = None, begin: Callable[..., Any] | None = None) -> ProcessPoolExecutor:
    """An executor of ``workers`` processes of this machine (none: one a core), each begun by ``begin``.

    They are spawned, not forked: a process that runs threads of the kernel must not be copied. An interrupt at the
    terminal is left to whoever asked for the work; where that one dies, they end too.
    Raises InputError: no workers.
    """
    many = cores() if workers is None else workers
    if many < 1:
        raise InputError("no worker is left to do the work", "Ask for one or more")
    return ProcessPoolExecutor(many, mp_context=get_context("spawn"), initializer=_begun, initargs=(begin,))


def not_read_by_a_worker() -> None:
    """Raises InputError: this process is a worker that begins, and reads the script that asked for it."""
    if getattr(current_process(), "_inheriting", False):
        raise unguarded()


def unguarded() -> InputError:
    """What to do where a script starts workers, each of which reads it from its beginning and so starts its own."""
    return InputError(
        "the workers cannot begin: each reads the script that asks for them, from its first line",
        'Put the call below if __name__ == "__main__": in a file, or ask for one worker',
    )


def could_not_begin(executor: Executor) -> bool:
    """Did a process of this machine end by a fault of its own before it took any work, rather than be killed?"""
    running = list((getattr(executor, "_processes", None) or {}).values())
    last = time.monotonic() + ENDS_S
    while any(process.exitcode is None for process in running) and time.monotonic() < last:
        time.sleep(0.01)  # one is known to have ended a moment before it can be asked how
    return any(process.exitcode == 1 for process in running)


def _begun(begin: Callable[..., Any] | None) -> None:
    """The first thing that a process does."""
    with suppress(ValueError):  # not in the main thread: nobody interrupts it there
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_with_parent, name="with its parent", daemon=True).start()
    if begin is not None:
        begin()


def _with_parent() -> None:
    """End when the process that wants the work is gone: an executor's own workers would wait for ever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def places(executor: Executor) -> int:
    """How many pieces of work it does at a time; 0: it has nobody to do them."""
    client = getattr(executor, "_client", None)
    return int(getattr(executor, "_max_workers", 1) if client is None else sum(client.ncores().values()))


def stop(executor: Executor) -> None:
    """Drop what is not begun and do not wait for what is: processes are ended, a cluster's work is called back."""
    if isinstance(executor, ProcessPoolExecutor):
        running = list((executor._processes or {}).values())
        executor.shutdown(wait=False, cancel_futures=True)
        for process in running:
            process.terminate()
    else:
        executor.shutdown(wait=False)


def connected(address: str) -> Client:
    """A client of the Dask cluster whose scheduler is at ``address``; to be used in a ``with``.

    Raises MissingExtraError; InputError: it is no address, nobody answers there, or a worker there has another
    Pitreckon, or none.
    """
    with loading("distributed", "work on a cluster"):
        from distributed import Client  # noqa: PLC0415  (takes a second, and is an extra)
        from distributed.comm.addressing import get_address_host_port, parse_address  # noqa: PLC0415
    try:
        if parse_address(address)[0] in WITH_PORT:  # a client that could not be made would be waited for
            get_address_host_port(address)
        client = Client(address, timeout=PATIENCE_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as fault:
        raise InputError(
            f"no cluster answers at {address}: {fault}",
            "Start its scheduler, and give its address as it prints it, as in tcp://10.0.0.5:8786",
        ) from fault
    for at, version in _others(client).items():
        client.close()  # type: ignore[no-untyped-call]
        trouble = "no Pitreckon is" if version is None else f"Pitreckon {version} and not {__version__} is"
        raise InputError(
            f"{trouble} installed for {at} of the cluster at {address}",
            "Install the same version for every worker, or stop that one",
        )
    return client


def _others(client: Client) -> dict[str, str | None]:
    """Workers with another version, or none: they would die of the first piece of work, or be killed by it in turn."""
    told: Any = client.get_versions(packages=[PACKAGE])
    found = {at: known["packages"].get(PACKAGE) for at, known in sorted(told["workers"].items())}
    return {at: version for at, version in found.items() if version != __version__}


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """The executor of a Dask cluster whose scheduler is at ``address``; it is left as it was found.

    Raises MissingExtraError; InputError: nobody answers there.
    """
    with connected(address) as client:
        yield client.get_executor(pure=False)


@contextmanager
def pool(
    on: str | None = None, workers: int | None = None, begin: Callable[..., Any] | None = None
) -> Iterator[Executor]:
    """An executor: this machine's processes, or, where ``on`` is an address, the cluster there.

    begin: with it each process of this machine begins

    Raises InputError, MissingExtraError: as ``processes`` and ``cluster``.
    """
    if on is not None:
        with cluster(on) as executor:
            yield executor
        return
    with processes(workers, begin) as executor:
        yield executor
