"""A member's numbers are its own: the same to the bit whoever runs beside it, wherever, on however many threads."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.section.compiled.lanes import LANES
from pitreckon.section.course import Drive, Until
from pitreckon.section.members import ROW
from pitreckon.section.simulate import Job, simulate_all

pytestmark = pytest.mark.kernel

N = 3 * LANES + 5


def cook(n: int = N, shape: str = "block", hours: float = 1.5, seed: int = 11, **over) -> Job:
    """Members that leave their stages, and the whole course, at very different times, so that lanes change hands."""
    rng = np.random.default_rng(seed)
    spread = {
        name: trial.PORK[name] * np.exp(0.4 * rng.standard_normal(n))
        for name in ("transport", "diffusion", "drip", "skin_b", "colour_rate")
    }
    members = trial.members(n, scale=np.exp(0.2 * rng.standard_normal(n)), **spread)
    stages = trial.course(
        n,
        trial.stage(until=Until.CORE, value=rng.uniform(10.0, 40.0, n), longest_s=1800.0),
        trial.stage(
            until=Until.MINUTES, value=rng.uniform(200.0, 2500.0, n), vapour=1e-4, holds_liquid=1.0, lid_dip_k=30.0
        ),
        trial.stage(until=Until.CLOCK, value=rng.uniform(1200.0, 6000.0, n), glaze_water=0.2, glaze_solid=0.3),
    )
    air = 125.0 + 10.0 * rng.standard_normal((round(60 * hours), n))
    return Job(trial.SMALL[shape](), members, Drive(air, known_until_s=600.0), stages, 3600.0 * hours, **over)


def some(job: Job, index) -> Job:
    """The same job for some of its members, in any order."""
    index = np.asarray(index)
    return Job(
        job.section,
        job.members.take(index),
        Drive(np.ascontiguousarray(job.drive.air_c[:, index]), known_until_s=job.drive.known_until_s),
        job.course.take(index),
        job.horizon_s,
    )


def run(job: Job, **over):
    return simulate_all([job], **({"threads": 1} | over))[0]


@pytest.fixture(scope="module", params=["single", "double"])
def whole(request):
    """The job, its run in one batch, and the precision."""
    job = cook()
    trace = run(job, precision=request.param)
    assert trace.failed == {}
    assert len(set(trace.effort[0])) > 10
    return job, trace, request.param


def test_order_changes_nothing(whole):
    job, trace, precision = whole
    index = np.random.default_rng(1).permutation(N)
    trial.assert_same(run(some(job, index), precision=precision), trace.take(index))


@pytest.mark.parametrize("n", [1, 2, LANES - 1, LANES, LANES + 1, 2 * LANES])
def test_number_changes_nothing(whole, n):
    job, trace, precision = whole
    trial.assert_same(run(some(job, np.arange(n)), precision=precision), trace.take(np.arange(n)))


@settings(max_examples=examples(15))
@given(data=st.data())
def test_any_company_will_do(data):
    job = cook(LANES + 3, "slab", 1.0)
    trace = run(job)
    index = data.draw(st.lists(st.integers(0, LANES + 2), min_size=1, max_size=2 * LANES + 3))
    trial.assert_same(run(some(job, index)), trace.take(np.array(index)))


def test_absurd_neighbours_change_nothing(whole):
    """In every other lane somebody with no size, no capacity, or water that jumps."""
    job, trace, precision = whole
    doubled = some(job, np.repeat(np.arange(N), 2))
    for member in range(1, 2 * N, 2):
        name, value = (("scale", np.nan), ("dry_cp", -3e4), ("transport", 1e3), ("start_c", np.inf))[member // 2 % 4]
        doubled.members.values[ROW[name], member] = value
    both = run(doubled, precision=precision)
    trial.assert_same(both.take(np.arange(0, 2 * N, 2)), trace)


@pytest.mark.parametrize("threads", [2, 3])
def test_threads_change_nothing(threads):
    job = cook(5 * LANES + 7, "slab", 0.75)
    trial.assert_same(run(job, threads=threads), run(job, threads=1))


def test_other_jobs_change_nothing():
    jobs = [
        cook(5, "slab", 0.5, 1),
        cook(4 * LANES + 9, "ball", 0.75, 2, snapshot_s=1200.0),
        cook(LANES, "rack", 1.0, 3),
        cook(1, "block", 0.5, 4),
    ]
    alone = [run(job) for job in jobs]
    for threads in (1, 2):
        for one, other in zip(simulate_all(jobs, threads=threads), alone, strict=True):
            trial.assert_same(one, other)
    kept = simulate_all(jobs, threads=2)[1].snapshot
    np.testing.assert_array_equal(kept.columns, alone[1].snapshot.columns)


def test_the_same_run_twice():
    trial.assert_same(run(cook()), run(cook()))
