"""Work that is spread loses no answer when its workers die, asks for nothing twice, and does not go on for ever."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from tests.clusters import local_cluster
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
def test_a_script_that_its_workers_read_is_told_what_it_lacks(tmp_path):
    """It was told of too little memory, after six tracebacks of which each said that another run is at it."""
    (tmp_path / "script.py").write_text(
        "import math\nfrom pitreckon.work.pools import not_read_by_a_worker\nfrom pitreckon.work.spread import spread\n"
        "not_read_by_a_worker()\nprint(dict(spread(math.factorial, [1, 2, 3], workers=2)))\n"
    )
    asked = [sys.executable, "script.py"]
    run = subprocess.run(asked, cwd=tmp_path, capture_output=True, text=True, timeout=100, check=False)
    assert run.returncode == 1
    remedy = 'Put the call below if __name__ == "__main__": in a file, or ask for one worker.'
    assert run.stderr.splitlines()[-1].endswith(remedy)
    assert run.stdout == ""
    assert "memory" not in run.stderr
    piped = subprocess.run(
        asked[:1],
        input=(tmp_path / "script.py").read_text(),
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    assert piped.stderr.splitlines()[-1].endswith(remedy)  # there is no file to read


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
    with local_cluster(2) as cluster:
        assert dict(spread(partial(dies_once, tmp_path), NUMBERS, on=cluster.scheduler_address)) == FACTORIALS
    assert (tmp_path / "dead").exists()


@pytest.mark.servers
@pytest.mark.slow
def test_a_cluster_without_workers_is_told():
    with (
        local_cluster(0) as cluster,
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


def test_a_cluster_that_has_lost_all_its_nodes_is_waited_for_and_that_is_said_once(monkeypatch):
    """Nothing was said, for as long as it took."""
    late: Future[int] = Future()
    executor = with_executor(monkeypatch, lambda _: None)
    asked = []

    def submit(work: Callable[[int], int], task: int) -> Future[int]:
        asked.append(task)
        return late

    def left(_: Executor) -> int:
        return 0 if asked else 1

    executor.submit = submit  # type: ignore[method-assign]
    monkeypatch.setattr(spread_module, "places", left)
    monkeypatch.setattr(spread_module, "LOOK_S", 0.01)
    threading.Timer(0.5, lambda: late.set_result(24)).start()
    with pytest.warns(
        UserWarning, match="the cluster at somewhere has no workers left, and others are waited for"
    ) as told:
        assert list(spread(math.factorial, [4], on="somewhere")) == [(4, 24)]
    assert len(told) == 1
