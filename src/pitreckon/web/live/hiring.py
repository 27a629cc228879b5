"""Where workers come from: processes of this machine, or a Dask cluster that is named by its address."""

from __future__ import annotations

import asyncio
import logging
import secrets
import time
from contextlib import ExitStack
from typing import Any, Final, cast

from pitreckon import __version__
from pitreckon.errors import PitreckonError
from pitreckon.web.live.answering import WorkerGoneError, answered_there
from pitreckon.web.live.crew import Crew, Hiring
from pitreckon.web.live.questions import P, Question, T
from pitreckon.web.live.worker import ROOM_BYTES, Process, Worker, WorkerDiedError, checked
from pitreckon.web.settings import WebSettings
from pitreckon.work.lean import memory_bytes
from pitreckon.work.pools import connected, cores

log = logging.getLogger(__name__)
FEWEST: Final = 2
"""Workers that there may be if nobody says how many, at least: a look then waits for no plan of a day."""
SHARE: Final = 8
"""A share of the machine's memory, one in so many, is for what all workers keep of cooks."""
COUNT_EVERY_S: Final = 10.0
"""A cluster is asked so often how many workers it has [s]."""
LOST: Final = "the cluster has lost the reckoning; it is asked again"


def crew_of(settings: WebSettings) -> Crew:
    """The crew that a server is to have.

    Raises InputError: no cluster answers at its address. MissingExtraError.
    """
    return Crew(Here(settings.workers) if settings.cluster is None else Cluster(settings.cluster, settings.workers))


class Here(Hiring):
    """Processes of this machine."""

    def __init__(self, most: int | None = None) -> None:
        """most: None: one for each core, and no fewer than FEWEST."""
        self.cores = cores()
        self._most = most or max(self.cores, FEWEST)

    @property
    def most(self) -> int:
        """See Hiring."""
        return self._most

    def hire(self) -> Worker:
        """See Hiring."""
        return Process(memory_bytes() // SHARE // self._most)

    def close(self) -> None:
        """Each ends by itself."""


class Cluster(Hiring):
    """Workers of a Dask cluster, one question each at a time. A worker there is a process with so many threads."""

    cores = 0

    def __init__(self, address: str, most: int | None = None) -> None:
        """most: questions that it is asked at once; None: as many as it has workers.

        Raises InputError: nobody answers at the address. MissingExtraError.
        """
        self.topic = f"pitreckon-{secrets.token_hex(6)}"
        self.taken: dict[str, There] = {}
        self.at_work: dict[int, There] = {}
        self._number = 0
        self._left = ExitStack()
        self._client: Any = self._left.enter_context(cast("Any", connected(address)))
        self._executor = self._client.get_executor(pure=False)
        self._client.subscribe_topic(self.topic, self._heard)
        self._at_most, self._counted, self._counted_at = most, self._count(), time.monotonic()

    @property
    def most(self) -> int:
        """See Hiring. Workers that came or went are known before the next question."""
        return max(min(self._counted, self._at_most or self._counted), 1)

    def hire(self) -> Worker:
        """See Hiring."""
        return There(self)

    def close(self) -> None:
        """The cluster stays as it was; what it was asked and is not at yet, it is asked no more."""
        self._executor.shutdown(wait=False)
        self._left.close()

    def number(self, whose: There) -> int:
        """Of the next question."""
        self._number += 1
        self.at_work = {**{n: each for n, each in self.at_work.items() if each is not whose}, self._number: whose}
        return self._number

    def submit(self, asking: Any, at: str) -> Any:
        """Its future. at: of the worker that is to answer it if it is still there, "": of any"""
        if time.monotonic() - self._counted_at > COUNT_EVERY_S:
            self._counted, self._counted_at = self._count(), time.monotonic()
        where = {"workers": [at], "allow_other_workers": True} if at else {}
        return self._executor.submit(answered_there, asking, self.topic, ROOM_BYTES, __version__, **where)

    def _count(self) -> int:
        return len(self._client.nthreads())

    def _heard(self, event: tuple[Any, dict[str, Any]]) -> None:
        """What a worker tells, by way of the scheduler."""
        _, said = event
        whose = self.at_work.get(said["number"])
        if whose is not None:
            whose.progress = said["words"]


class There:
    """A worker of a cluster: any at first, then the one that answered last, if it is still there."""

    def __init__(self, cluster: Cluster) -> None:
        self.threads = 1
        self.progress = ""
        self._cluster = cluster
        self._at = ""

    async def ask(self, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """See Worker. What has begun there is not stopped; nobody waits for it then."""
        self.progress = ""
        asking = (self._cluster.number(self), question.__name__, args, more)
        at = self._at if self._cluster.taken.get(self._at) is self else ""
        try:
            future = await asyncio.to_thread(self._cluster.submit, asking, at)
            self._at, answer = await asyncio.wrap_future(future)
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is not None and not task.cancelling():  # not whoever waits for it: the cluster has let it go
                raise WorkerDiedError(LOST) from None
            raise
        except PitreckonError:
            raise
        except Exception as fault:
            if type(fault).__name__ == "KilledWorker":  # the cluster has asked it again by itself, as often as it does
                raise WorkerGoneError("the cluster's workers died of it, one after the other") from fault
            raise WorkerGoneError(f"{type(fault).__name__}: {fault}") from fault
        self._cluster.taken.setdefault(self._at, self)
        return cast("T", checked(answer))

    def give_way(self) -> None:
        """What a cluster is at is not left."""

    def forget(self, key: str) -> None:
        """Any of a cluster's may be asked next: what each keeps goes as its room ends."""

    def close(self) -> None:
        """It is the cluster's own."""
        if self._cluster.taken.get(self._at) is self:
            del self._cluster.taken[self._at]
