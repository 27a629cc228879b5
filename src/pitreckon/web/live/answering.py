"""What runs where reckoning is done: a question answered with what this process remembers.

In a process of the server's own machine it tells how far it is by a pipe, and gives way by a signal. On a cluster it
tells by the scheduler, gives way to nobody, and answers one question at a time.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from functools import partial
from multiprocessing.connection import Connection
from typing import Any, Final

from pitreckon import __version__
from pitreckon.errors import PitreckonError
from pitreckon.web.live.giveway import PROCESS, GaveWayError, GivesWay, Left, Shared
from pitreckon.web.live.lately import Kept
from pitreckon.web.live.questions import QUESTIONS, Memory
from pitreckon.work.lean import give_back, load_lean

Asking = tuple[int, str, tuple[Any, ...], dict[str, Any]]
"""A question as it is handed over: its number, its name, and what goes with it."""


class WorkerGoneError(PitreckonError):
    """The process that reckons died again and again, or what it ran failed in a way that nobody foresaw."""


class _Here:
    """Of the process. say: how far it is with the question of a number; turn: whoever answers has it"""

    memory: Memory | None = None
    say: Callable[[int, str], None] = staticmethod(lambda _number, _words: None)
    turn: Final = threading.Lock()


def begin(shared: Shared, words: Connection, room_bytes: int) -> None:
    """A process of this machine begins. room_bytes: for what it keeps of cooks"""
    shared[PROCESS] = os.getpid()
    load_lean()
    from pitreckon.reckon.readied import make_ready  # noqa: PLC0415  a process that reckons, and after what is lean

    make_ready()
    _Here.memory = Memory(gives_way=GivesWay(shared), kept=Kept(room_bytes))
    _Here.say = staticmethod(lambda number, said: words.send((number, said)))


def answered(asking: Asking, threads: int) -> Any:
    """The answer to a question, or the error that it is at fault for. threads: of the kernel"""
    number, name, args, more = asking
    memory = _Here.memory = _Here.memory or Memory()
    memory.tell = _once(partial(_Here.say, number))
    take_share(threads)
    try:
        memory.gives_way.begins(number)
        return QUESTIONS[name](memory, *args, **more)
    except Left:
        return GaveWayError("it was left for something more urgent")
    except Exception as fault:  # whatever it is, the one who asked hears of it
        return fault if isinstance(fault, PitreckonError) else WorkerGoneError(f"{type(fault).__name__}: {fault}")
    finally:
        give_back()


def forgotten(cook_id: str) -> None:
    """What is kept of a cook is out of date: another process has it newer."""
    if _Here.memory is not None and _Here.memory.kept.forget(cook_id):
        give_back()


def answered_there(asking: Asking, topic: str, room_bytes: int, version: str) -> tuple[str, Any]:
    """The same in a process of a cluster, with that process's address. version: of the Pitreckon that asks"""
    from distributed import get_worker  # noqa: PLC0415  (an extra)

    worker = get_worker()
    if version != __version__:
        words = f"the cluster's worker {worker.address} has Pitreckon {__version__}, and this server {version}"
        return worker.address, WorkerGoneError(f"{words}: install the same on both")
    with _Here.turn:
        _Here.memory = _Here.memory or Memory(kept=Kept(room_bytes))
        _Here.say = staticmethod(partial(_say_there, worker, topic))
        return worker.address, answered(asking, worker.state.nthreads)


def take_share(threads: int) -> None:
    """This process takes the machine for one of so many cores, as with Python's own ``-X cpu_count`` from 3.13 on.

    Whatever here starts a thread for each core (the kernel, the solver) then leaves the others to other processes.
    """
    os.cpu_count = lambda: threads


def _say_there(worker: Any, topic: str, number: int, words: str) -> None:
    worker.log_event(topic, {"number": number, "words": words})


def _once(say: Callable[[str], object]) -> Callable[[str], None]:
    """Say it unless it was said just before."""
    last = [""]

    def tell(words: str) -> None:
        if words != last[0]:
            last[0] = words
            with contextlib.suppress(OSError):  # nobody listens any more
                say(words)

    return tell
