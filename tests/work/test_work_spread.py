"""Work that is spread loses no answer when its workers die, asks for nothing twice, and does not go on for ever."""

from __future__ import annotations

import math
import os
import signal
import time
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from tests.patience import PATIENCE_S

from pitreckon.errors import InputError
from pitreckon.work import spread as spread_module
from pitreckon.work.spread import MOST_LOST, spread

NUMBERS = list(range(12))
FACTORIALS = {n: math.factorial(n) for n in NUMBERS}


def dies_once(folder: Path, n: int) -> int:
    """Its process is killed at the fifth number, the first time that it is asked."""
    (folder / f"{n}.{time.monotonic_ns()}").touch()
    if n == 5 and not (folder / "dead").exists():
        (folder / "dead").touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return math.factorial(n)


def dies(n: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return n


def refuses(n: int) -> int:
    if n == 3:
        raise InputError("three is none", "Ask for another")
    return n


def test_one_worker_is_this_process_and_keeps_the_order():
    asked: list[int] = []

    def work(n: int) -> int:  # no other process could find it
        asked.append(n)
        return math.factorial(n)

    assert list(spread(work, NUMBERS, workers=1)) == list(FACTORIALS.items())
    assert asked == NUMBERS


@pytest.mark.servers
@pytest.mark.slow
def test_a_killed_worker_loses_only_what_it_was_at(tmp_path):
    assert dict(spread(partial(dies_once, tmp_path), NUMBERS, workers=2)) == FACTORIALS
    assert (tmp_path / "dead").exists()
    asked = [path.name.split(".")[0] for path in tmp_path.iterdir() if path.name != "dead"]
    assert len(asked) <= len(NUMBERS) + 3  # two places and one ahead


@pytest.mark.servers
@pytest.mark.slow
def test_work_that_kills_its_workers_is_given_up():
    with pytest.raises(InputError, match=f"{MOST_LOST} workers died one after another"):
        list(spread(dies, NUMBERS, workers=2))


@pytest.mark.servers
@pytest.mark.slow
def test_its_own_fault_comes_through_and_ends_it():
    with pytest.raises(InputError, match="three is none"):
        list(spread(refuses, NUMBERS, workers=2))


@pytest.mark.servers
@pytest.mark.slow
def test_who_stops_listening_ends_what_runs():
    long_s = 2.0 * PATIENCE_S
    answers = spread(time.sleep, [0.0, 0.0, *[long_s] * 6], workers=2)
    next(answers)
    begun = time.monotonic()
    answers.close()
    assert time.monotonic() - begun < long_s


@pytest.mark.servers
@pytest.mark.slow
def test_a_cluster_that_loses_a_node_answers_the_same(tmp_path):
    """The node that is at the fifth number is killed with ``kill -9``; its nanny, or another node, takes over."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        assert dict(spread(partial(dies_once, tmp_path), NUMBERS, on=cluster.scheduler_address)) == FACTORIALS
    assert (tmp_path / "dead").exists()


@pytest.mark.servers
@pytest.mark.slow
def test_a_cluster_without_workers_is_told():
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=None, host="127.0.0.1") as cluster,
        pytest.raises(InputError, match="has no workers"),
    ):
        list(spread(math.factorial, NUMBERS, on=cluster.scheduler_address))


class KilledWorker(Exception):  # noqa: N818  as Dask Distributed has it
    """What comes of work whose workers died."""


class Executor:
    """One that does its work at once; ``fails`` tells what comes of the nth piece instead."""

    _max_workers = 1

    def __init__(self, fails: Callable[[int], BaseException | None]) -> None:
        self.fails, self.asked, self.stopped = fails, 0, False

    def submit(self, work: Callable[[int], int], task: int) -> Future[int]:
        self.asked += 1
        future: Future[int] = Future()
        fault = self.fails(self.asked)
        if fault is None:
            future.set_result(work(task))
        else:
            future.set_exception(fault)
        return future

    def shutdown(self, *, wait: bool) -> None:
        self.stopped = not wait


def with_executor(monkeypatch: pytest.MonkeyPatch, fails: Callable[[int], BaseException | None]) -> Executor:
    executor = Executor(fails)

    @contextmanager
    def pool(*_: object) -> Iterator[Executor]:
        yield executor

    monkeypatch.setattr(spread_module, "pool", pool)
    return executor


def test_nodes_that_die_of_a_piece_in_turn_are_tried_again_and_then_given_up(monkeypatch):
    executor = with_executor(monkeypatch, lambda n: KilledWorker() if n in {2, 5} else None)
    assert dict(spread(math.factorial, NUMBERS, on="somewhere")) == FACTORIALS
    assert executor.asked == len(NUMBERS) + 2
    executor = with_executor(monkeypatch, lambda n: KilledWorker() if n > 4 else None)
    answers = []
    with pytest.raises(InputError, match="3 workers died one after another"):
        answers.extend(spread(math.factorial, NUMBERS, on="somewhere"))
    assert executor.stopped


def test_a_cluster_that_goes_away_is_told(monkeypatch):
    executor = with_executor(monkeypatch, lambda n: CancelledError() if n == 4 else None)
    with pytest.raises(InputError, match=r"the cluster at somewhere went away. Begin again once it is there"):
        list(spread(math.factorial, NUMBERS, on="somewhere"))
    assert executor.stopped
