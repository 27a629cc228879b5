"""Heat and water that went in and out are what is missing or there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import real
import trial
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.section.course import COLUMN, Until
from pitreckon.section.simulate import raw_mass, simulate, simulate_all

CLOSED = {"single": 1e-6, "double": 1e-12}
"""Fault of the balances, relative to the water there was and the heat that moved."""
patient = {"deadline": None, "derandomize": True}


def factor(low, high):
    return st.lists(st.floats(low, high), min_size=3, max_size=3).map(np.array)


@st.composite
def cooks(draw):
    """Three members that differ, and a course of three stages that go anywhere."""
    spread = {
        name: trial.PORK[name] * draw(factor(0.3, 3.0))
        for name in ("transport", "diffusion", "drip", "drink", "skin_b", "skin_r", "skin_e", "gelatin_rate")
    }
    spread |= {"scale": draw(factor(0.7, 1.4)), "start_c": draw(factor(-1.0, 20.0))}
    spread |= {"water": draw(factor(1.5, 4.0)), "hold_drop": draw(factor(0.2, 0.7))}
    wrapped = trial.every_face("vapour", 0.0) | trial.every_face("through", draw(st.floats(0.0, 1e-3)))
    stages = [
        trial.stage(until=Until.MINUTES, value=300.0, convection=draw(st.floats(2.0, 40.0))),
        trial.stage(until=Until.MINUTES, value=300.0, holds_liquid=1.0, liquid=draw(st.floats(0.0, 0.1))) | wrapped,
        trial.stage(
            until=Until.NEVER,
            glaze_water=draw(st.floats(0.0, 0.5)),
            glaze_solid=draw(st.sampled_from([0.0, 0.3])),
            off_pit=draw(st.sampled_from([0.0, 1.0])),
            air_c=25.0,
        ),
    ]
    return spread, stages, draw(st.floats(80.0, 180.0))


def closed(shape, engine, precision, cook):
    spread, stages, air_c = cook
    trace = simulate(
        trial.SMALL[shape](),
        trial.members(3, **spread),
        trial.steady(air_c, 3),
        trial.course(3, *stages),
        horizon_s=900.0,
        engine=engine,
        precision=precision,
    )
    assert trace.failed == {}
    assert np.max(np.abs(trace.balance)) < CLOSED[precision]


@pytest.mark.kernel
@pytest.mark.parametrize("precision", CLOSED)
@settings(max_examples=examples(40), **patient)
@given(shape=st.sampled_from(sorted(trial.SMALL)), cook=cooks())
def test_balances_close(precision, shape, cook):
    closed(shape, None, precision, cook)


@settings(max_examples=4, **patient)
@given(shape=st.sampled_from(sorted(trial.SMALL)), cook=cooks())
def test_balances_close_readable(shape, cook):
    closed(shape, trial.READABLE, "double", cook)


@pytest.mark.kernel
@pytest.mark.parametrize("shape", trial.SMALL)
def test_what_a_piece_lost_is_missing_in_its_cells(shape):
    """The books kept by the kernel against a weighing of the cells from outside, bare and then wrapped."""
    section, members = trial.SMALL[shape](), trial.members(2, scale=[1.0, 1.3], drip=[5e-7, 1e-5])
    stages = trial.course(
        2,
        trial.stage(until=Until.MINUTES, value=900.0),
        trial.stage(until=Until.NEVER, vapour=0.0, holds_liquid=1.0) | trial.every_face("through", 1e-4),
    )
    mass = raw_mass(section, members)
    meat = (section.volume * (1.0 - section.bone))[:, None] * members["dry_density"]
    for precision, closed_to in CLOSED.items():
        trace = simulate(
            section, members, trial.steady(130.0, 2), stages, horizon_s=1200.0, snapshot_s=1200.0, precision=precision
        )
        water = trace.snapshot.columns[section.cells : 2 * section.cells]
        lost = trace.loss[-1] * mass
        assert np.all(lost > 0.0)
        missing = (meat * (members["water"] - water)).sum(axis=0)
        np.testing.assert_allclose(missing, lost, atol=closed_to * (meat * members["water"]).sum(axis=0).max())


@pytest.mark.kernel
@pytest.mark.parametrize("precision", CLOSED)
def test_balances_close_over_a_whole_cook(precision):
    """A real cut with all that happens to it; rounding adds up over some hundred steps."""
    (trace,) = simulate_all([real.cook(*real.BUTT)], precision=precision)
    assert np.max(np.abs(trace.balance)) < CLOSED[precision]


LONG = {"a day in foil": ("boston-butt", 121.0, 24.0), "a rack bare to the end": ("st-louis-ribs", 135.0, 14.0)}


@pytest.mark.parametrize("name", LONG)
@pytest.mark.kernel
def test_balances_close_over_the_longest_cooks(name):
    """In single precision as it is used: foil was once seen to lose 2e-5 of the heat in a day."""
    key, air_c, hours = LONG[name]
    job = real.cook(key, air_c, hours, 95.0, n=32)
    if name == "a rack bare to the end":
        job = replace(job, course=trial.course(32, job_stage(job)))
    (trace,) = simulate_all([job])
    assert trace.failed == {}
    assert np.max(np.abs(trace.balance)) < CLOSED["single"]


def job_stage(job):
    """The first stage of a job's course, without an end."""
    first = dict(zip(COLUMN, job.course.table[0, :, 0], strict=True))
    return first | {"until": Until.NEVER, "value": 0.0}
