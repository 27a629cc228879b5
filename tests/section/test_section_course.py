"""When a stage ends: by its own criterion, by the ledger, or given up."""

from __future__ import annotations

import numpy as np
import pytest
import trial

from pitreckon.section.course import COLUMN, Course, Drive, Until
from pitreckon.section.simulate import simulate

KNOT = 60.0
both = trial.by_engine


def cooked(engine, *stages, n=1, horizon_s=3600.0, record_every=1, air=120.0, **over):
    return simulate(
        trial.SMALL["slab"](),
        trial.members(n, **over),
        air if isinstance(air, Drive) else trial.steady(air, n),
        trial.course(n, *stages),
        horizon_s=horizon_s,
        record_every=record_every,
        engine=engine,
    )


def rest(**over):
    return trial.stage(until=Until.NEVER, off_pit=1.0, air_c=25.0, **over)


@both
def test_minutes_count_from_the_stage_and_the_clock_from_put_on(engine):
    trace = cooked(
        engine,
        trial.stage(until=Until.MINUTES, value=600.0),
        trial.stage(until=Until.MINUTES, value=300.0),
        trial.stage(until=Until.CLOCK, value=1500.0),
        rest(),
    )
    assert trace.stage_end_s[:3, 0].tolist() == [600.0, 900.0, 1500.0]
    assert np.isnan(trace.stage_end_s[3, 0])
    assert trace["stage"][[0, 11, 16, 26], 0].tolist() == [0.0, 1.0, 2.0, 3.0]
    assert trace["air_c"][[0, 5, 40], 0].tolist() == [120.0, 120.0, 25.0]


@both
def test_each_member_leaves_on_its_own_core(engine):
    trace = cooked(engine, trial.stage(until=Until.CORE, value=[20.0, 30.0, 40.0]), rest(), n=3, core_done_c=30.0)
    ends = trace.stage_end_s[0]
    assert ends[0] < ends[1] < ends[2]
    for member, goal in enumerate((20.0, 30.0, 40.0)):
        at_end = round(ends[member] / KNOT)
        assert trace["core_c"][at_end - 1, member] < goal <= trace["core_c"][at_end, member]
    assert ends[1] - KNOT < trace.mark("core_done")[1] <= ends[1]


@both
def test_mark_lies_on_the_straight_line_between_knots(engine):
    trace = cooked(engine, core_done_c=33.3)
    expected = np.interp(33.3, trace["core_c"][:, 0], trace.time_s)
    assert trace.mark("core_done")[0] == pytest.approx(expected, abs=1e-3)  # the compiled one is in single precision


@both
def test_colour_and_tenderness_end_stages(engine):
    trace = cooked(
        engine,
        trial.stage(until=Until.COLOUR, value=2.0),
        trial.stage(until=Until.TENDER, value=0.5),
        rest(),
        colour_rate=10.0,
        gelatin_rate=5e-2,
        tender_at=0.2,
    )
    first, second = (round(t / KNOT) for t in trace.stage_end_s[:2, 0])
    assert trace["colour"][first - 1, 0] < 2.0 <= trace["colour"][first, 0]
    assert trace["gelatin_core"][second - 1, 0] < 0.1 <= trace["gelatin_core"][second, 0]
    assert trace.mark("colour_set")[0] < trace.stage_end_s[0, 0]


@both
def test_glaze_sets_when_its_water_has_gone(engine):
    """Also in the first stage, where it must not count as set before it was looked at."""
    glaze = trial.stage(until=Until.GLAZE, glaze_water=0.3, glaze_solid=0.3)
    for stages in ((glaze, rest()), (trial.stage(until=Until.MINUTES, value=300.0), glaze, rest())):
        trace = cooked(engine, *stages, glaze_set_at=0.6)
        end = round(trace.stage_end_s[len(stages) - 2, 0] / KNOT)
        ratio = trace["glaze_ratio"][:, 0]
        assert ratio[end - 1] > 0.6 >= ratio[end]
        assert trace.mark("glaze_set")[0] == pytest.approx(end * KNOT, abs=KNOT)


@both
def test_the_ledger_ends_a_stage_whatever_its_criterion(engine):
    trace = cooked(engine, trial.stage(until=Until.CORE, value=15.0, forced_s=[1210.0, np.inf]), rest(), n=2)
    assert trace.stage_end_s[0, 0] == 1200.0  # the nearest knot
    assert trace.stage_end_s[0, 1] < 1200.0


@both
def test_the_ledger_keeps_a_stage_running(engine):
    trace = cooked(engine, trial.stage(until=Until.CORE, value=15.0, not_before_s=1800.0), rest())
    assert trace.stage_end_s[0, 0] == 1800.0


@both
def test_a_stage_is_given_up(engine):
    trace = cooked(engine, trial.stage(until=Until.CORE, value=99.0, longest_s=900.0), trial.stage(until=Until.NEVER))
    assert trace.stage_end_s[0, 0] == 900.0


@both
def test_stages_in_the_past_are_passed_at_once(engine):
    trace = cooked(
        engine,
        trial.stage(until=Until.NEVER, forced_s=600.0),
        trial.stage(until=Until.NEVER, forced_s=600.0),
        trial.stage(until=Until.CLOCK, value=600.0),
        rest(),
    )
    assert trace.stage_end_s[:3, 0].tolist() == [600.0] * 3


@both
def test_records_stop_when_the_course_is_over(engine):
    trace = cooked(engine, trial.stage(until=Until.MINUTES, value=[600.0, 1200.0]), n=2)
    assert np.isfinite(trace["core_c"][:11, 0]).all()
    assert np.isnan(trace["core_c"][11:, 0]).all()
    assert np.isfinite(trace["core_c"][:21, 1]).all()
    assert np.isnan(trace["core_c"][21:, 1]).all()


@both
def test_a_lid_dips_the_air_only_past_the_readings(engine):
    stages = (
        trial.stage(until=Until.MINUTES, value=600.0, lid_dip_k=30.0),
        trial.stage(until=Until.NEVER, lid_dip_k=30.0, lid_recovery_s=300.0),
    )
    for known_s, expected in ((0.0, 120.0 - 30.0 * np.exp(-1.0)), (1200.0, 120.0)):
        trace = cooked(engine, *stages, air=trial.steady(120.0, known_until_s=known_s), record_every=5)
        assert trace["air_c"][2, 0] == 120.0  # the first stage has no lid to open
        assert trace["air_c"][3, 0] == pytest.approx(expected, abs=1e-9)


@both
def test_air_lies_on_the_line_between_its_knots_and_holds_after_them(engine):
    trace = cooked(engine, air=Drive(np.array([[100.0], [110.0], [130.0]]), knot_s=KNOT), horizon_s=300.0)
    assert trace["air_c"][:, 0] == pytest.approx([100.0, 110.0, 130.0, 130.0, 130.0, 130.0])


def test_course_of_names_and_defaults():
    course = Course.of(2, [{"until": Until.CORE, "value": [90.0, 95.0]}], names=["open"])
    assert course.names == ("open",)
    assert course.table[0, COLUMN["value"]].tolist() == [90.0, 95.0]
    assert np.isinf(course.table[0, COLUMN["forced_s"]]).all()
    assert course.take(np.array([1])).table[0, COLUMN["value"]].tolist() == [95.0]
    with pytest.raises(KeyError):
        Course.of(1, [{"untill": 1.0}])


def test_members_must_be_whole():
    with pytest.raises(KeyError, match="scale"):
        trial.members(1).of(1, {k: v for k, v in trial.PORK.items() if k != "scale"})
