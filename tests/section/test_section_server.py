"""A server that reckons beside its event loop: the loop goes on ticking, and runs do not disturb each other."""

from __future__ import annotations

import asyncio
import time

import numpy as np
import pytest
import real
import trial

from pitreckon.section.simulate import simulate_all

TICK_S, MEMBERS, RUNS = 0.005, 1024, 20


@pytest.fixture(scope="module")
def job():
    """A job that takes some tenths of a second, on a kernel that is ready."""
    job = real.cook(*real.RIBS, n=MEMBERS)
    simulate_all([real.cook(*real.RIBS, n=1)])
    return job


async def ticking(work, *arguments):
    """What ``work`` returned, on a thread of its own; ticks of the loop meanwhile; how long it took."""
    done = asyncio.Event()

    async def tick():
        ticks = 0
        while not done.is_set():
            await asyncio.sleep(TICK_S)
            ticks += 1
        return ticks

    ticker = asyncio.create_task(tick())
    await asyncio.sleep(0)
    begin = time.perf_counter()
    result = await asyncio.to_thread(work, *arguments)
    took_s = time.perf_counter() - begin
    done.set()
    return result, await ticker, took_s


@pytest.mark.kernel
@pytest.mark.parametrize("threads", [1, 2])
def test_the_event_loop_keeps_ticking(job, threads):
    """A kernel that held the interpreter would leave two ticks, each time: the one before it and the one after.

    A busy machine may give the loop no turn while a run lasts, but not each time.
    """

    def ticked() -> int:
        (trace,), ticks, took_s = asyncio.run(ticking(lambda: simulate_all([job], threads=threads)))
        assert trace.failed == {}
        assert took_s > 20 * TICK_S, "too short a run to tell"
        return ticks

    assert any(ticked() >= 5 for _ in range(RUNS))


def test_the_readable_kernel_lets_it_tick_too():
    job = real.cook(*real.RIBS[:2], 0.5, 70.0, n=2)
    assert any(asyncio.run(ticking(lambda: simulate_all([job], engine=trial.READABLE)))[1] >= 5 for _ in range(RUNS))


@pytest.mark.kernel
def test_runs_at_the_same_time_do_not_disturb_each_other(job):
    small = [real.cook(*real.RIBS, n=n) for n in (3, 40)] + [real.cook(*real.BUTT, n=5)]
    alone = [simulate_all([one])[0] for one in small]

    async def together():
        jobs = [job, *small, *small]
        return await asyncio.gather(*(asyncio.to_thread(lambda one=one: simulate_all([one])[0]) for one in jobs))

    _, *traces = asyncio.run(together())
    for trace, expected in zip(traces, alone * 2, strict=True):
        trial.assert_same(trace, expected)
    assert np.isfinite(traces[0]["core_c"]).all()
