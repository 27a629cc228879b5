"""Members that were kept go on as if nothing had been: to the bit, and what is past stays past."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trial
from test_section_batch import N, cook, run

from pitreckon.section.compiled.lanes import LANES
from pitreckon.section.course import Until
from pitreckon.section.members import ROW
from pitreckon.section.snapshot import DONE, EXTRAS

pytestmark = pytest.mark.kernel

KEPT_AT_S = [0.0, 60.0, 1500.0, 3540.0, 5400.0]


@pytest.fixture(scope="module")
def straight():
    """A job and its run without a stop."""
    job = cook(shape="drum")
    return job, run(job)


@pytest.mark.parametrize("kept_at_s", KEPT_AT_S)
def test_a_run_that_was_kept_goes_on_the_same(straight, kept_at_s):
    job, trace = straight
    keeping = run(replace(job, snapshot_s=kept_at_s))
    trial.assert_same(keeping, trace)
    trial.assert_same(run(replace(job, start=keeping.snapshot)), trace)


def test_some_were_done_and_some_not(straight):
    """Else the test above would say less than it seems to."""
    job, trace = straight
    kept = run(replace(job, snapshot_s=3540.0)).snapshot
    done = kept.columns[-EXTRAS] == DONE
    assert 3 < done.sum() < N - 3
    np.testing.assert_array_equal(done, trace.stage_end_s[-1] < 3540.0)


def test_it_can_be_kept_again(straight):
    job, trace = straight
    first = run(replace(job, snapshot_s=900.0)).snapshot
    second = run(replace(job, start=first, snapshot_s=2400.0))
    np.testing.assert_array_equal(second.snapshot.columns, run(replace(job, snapshot_s=2400.0)).snapshot.columns)
    trial.assert_same(run(replace(job, start=second.snapshot)), trace)


def test_it_can_be_kept_where_a_stage_ends(straight):
    job, trace = straight
    ends = trace.stage_end_s[0]
    moment = float(np.median(ends))
    assert (ends == moment).any()
    kept = run(replace(job, snapshot_s=moment)).snapshot
    trial.assert_same(run(replace(job, start=kept)), trace)


def test_some_of_the_kept_go_on(straight):
    job, trace = straight
    index = np.random.default_rng(2).permutation(N)[: LANES + 2]
    kept = run(replace(job, snapshot_s=1500.0)).snapshot.take(index)
    fewer = replace(
        job,
        members=job.members.take(index),
        course=job.course.take(index),
        drive=replace(job.drive, air_c=np.ascontiguousarray(job.drive.air_c[:, index])),
        start=kept,
    )
    trial.assert_same(run(fewer), trace.take(index))


def test_a_shorter_and_a_longer_horizon(straight):
    job, trace = straight
    kept = run(replace(job, horizon_s=3000.0, snapshot_s=2400.0)).snapshot
    trial.assert_same(run(replace(job, start=kept)), trace)
    kept = run(replace(job, snapshot_s=1200.0)).snapshot
    short = run(replace(job, start=kept, horizon_s=3000.0))
    trial.assert_same(short, run(replace(job, horizon_s=3000.0)))


@pytest.mark.parametrize("kept_at_s", [600.0, 1500.0])
def test_a_later_course_and_pit_that_changed_leave_the_past_alone(straight, kept_at_s):
    """Stages that nobody is in yet are others, and so is the air from then on: as a straight run would have it."""
    job, trace = straight
    stages = [{"until": Until.MINUTES, "value": 900.0, "convection": 30.0, "vapour": 1e-3}] * 2
    table = job.course.table.copy()
    other = trial.course(N, *(trial.stage(**stage) for stage in stages)).table
    kept = run(replace(job, snapshot_s=kept_at_s)).snapshot
    # A stage that a member is in stays as it is, and so do those before.
    reached = (trace.stage_end_s < kept_at_s).sum(axis=0)
    for stage in (1, 2):
        table[stage][:, reached < stage] = other[stage - 1][:, reached < stage]
    assert (reached < 1).any()
    knot = round(kept_at_s / 60.0)
    air = job.drive.air_c.copy()
    air[knot + 1 :] += 20.0  # the air at the knot itself was there already, and what follows rises from it
    changed = replace(job, course=replace(job.course, table=table), drive=replace(job.drive, air_c=air))
    went_on = run(replace(changed, start=kept))
    trial.assert_same(went_on, trace, up_to_s=kept_at_s)
    trial.assert_same(went_on, run(changed))
    assert not np.array_equal(went_on.values, trace.values, equal_nan=True)


def test_air_and_course_before_are_not_looked_at(straight):
    job, trace = straight
    kept = run(replace(job, snapshot_s=1500.0)).snapshot
    air = job.drive.air_c.copy()
    air[:25] = np.nan
    trial.assert_same(run(replace(job, start=kept, drive=replace(job.drive, air_c=air))), trace)


def test_who_had_failed_stays_failed():
    job = cook(LANES + 1, "slab", 1.0)
    job.members.values[ROW["scale"], 3] = np.nan
    keeping = run(replace(job, snapshot_s=1800.0))
    assert list(keeping.failed) == [3]
    went_on = run(replace(job, start=keeping.snapshot))
    trial.assert_same(went_on, keeping)


def test_what_does_not_fit_is_refused(straight):
    job, _ = straight
    kept = run(replace(job, snapshot_s=600.0)).snapshot
    with pytest.raises(ValueError, match="precision"):
        run(replace(job, start=kept), precision="double")
    with pytest.raises(ValueError, match="shape"):
        run(replace(cook(shape="slab"), start=kept))
    with pytest.raises(ValueError, match="shape"):
        run(replace(cook(5, "drum"), start=kept))
    with pytest.raises(ValueError, match="record"):
        run(replace(job, start=kept, record_every=7))
