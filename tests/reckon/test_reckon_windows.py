"""Windows open when what ends a stage is met, and close at the rates from before that."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from supper import START

from pitreckon import catalog
from pitreckon.cook import StagePlan, Until
from pitreckon.reckon.stages import Stage
from pitreckon.reckon.summary import HOT_HOLD_C
from pitreckon.reckon.windows import GLAZE_BURNS_S, OVER_K, coming_acts, window_of
from pitreckon.section.trace import CHANNEL, CHANNELS, MARKS, Trace

EVERY_S = 300.0
RACKS = (
    StagePlan("open", Until("colour")),
    StagePlan("wrapped", Until("tender"), wrap="foil"),
    StagePlan("sauced", Until("glaze")),
    StagePlan("rest", Until("minutes", 600.0)),
    StagePlan("hold", Until("minutes", 3600.0), air_c=65.0),
)


class Ensemble:
    """Members whose channels are straight lines: ``of`` gives their start and their rise an hour."""

    def __init__(self, plans, ends_h, cut="st-louis-ribs", running=None, ended=None, put_on_planned=False, **of):
        ends = np.atleast_2d(np.asarray(ends_h, dtype=float) * 3600.0)
        n = ends.shape[1]
        times = np.arange(0.0, 20 * 3600.0 + 1.0, EVERY_S)
        values = np.zeros((times.size, len(CHANNELS), n))
        for name, (start, rise) in of.items():
            values[:, CHANNEL[name]] = np.asarray(start) + np.asarray(rise) * (times[:, None] / 3600.0)
        marks = np.full((len(MARKS), n), np.nan)
        trace = Trace(times, values, marks, ends, np.zeros((2, n)), np.full(n, np.nan), np.zeros((2, n)))
        members = {"dark_at": 8.0, "tender_at": 0.8, "soft_at": 0.95, "core_done_c": 74.0, "boil_c": 100.0}
        members = {name: np.full(n, value) for name, value in (members | {"glaze_set_at": 1.0}).items()}
        ended = ended or {}
        self.run = SimpleNamespace(
            stages=tuple(
                Stage(plan, plan.wrap, START + timedelta(hours=ended[i]) if i in ended else None, running == i)
                for i, plan in enumerate(plans)
            ),
            trace=trace,
            evidence=SimpleNamespace(weights=np.full(n, 1.0 / n)),
            draw=SimpleNamespace(members=members),
            cut=catalog.cut(cut),
            put_on_utc=START,
        )
        words = [SimpleNamespace(until=p.until.ends_by, until_core_c=p.until.core_c) for p in plans]
        self.item = SimpleNamespace(stages=words, put_on_planned=put_on_planned)

    def acts(self, now_h=0.0, serve_h=None):
        serve = None if serve_h is None else START + timedelta(hours=serve_h)
        return coming_acts(self.run, self.item, START + timedelta(hours=now_h), serve)


def planned(**changes):
    ends = [[2.0, 2.5], [4.0, 4.5], [4.25, 4.75], [4.5, 5.0], [5.5, 6.0]]
    lines = {"colour": (0.0, 0.5), "gelatin_core": (0.0, 0.01), "core_c": (100.0, -4.0)}
    return Ensemble(RACKS, ends, **(lines | changes))


def test_the_acts_of_a_course():
    assert [act.act for act in planned(put_on_planned=True).acts()] == ["put on", "wrap", "sauce", "take off", "hold"]
    assert [act.wrap for act in planned().acts()] == ["foil", None, None, None]


@pytest.mark.parametrize(
    ("before", "after", "act"),
    [
        (RACKS[1], StagePlan("open", Until("tender")), "unwrap"),
        (RACKS[0], StagePlan("open", Until("tender")), None),
        (RACKS[0], RACKS[3], "take off"),
        (RACKS[0], RACKS[4], "take off"),
        (RACKS[3], StagePlan("open", Until("colour")), "put back"),
        (RACKS[3], RACKS[3], None),
        (RACKS[4], None, None),
        (RACKS[0], None, "take off"),
    ],
)
def test_what_leads_from_a_stage_to_the_next(before, after, act):
    plans = [before] if after is None else [before, after]
    acts = Ensemble(plans, [[1.0 + i] for i in range(len(plans))], core_c=(80.0, 0.0)).acts()
    assert [a.act for a in acts if a.opens_s[0] == 3600.0] == ([] if act is None else [act])


def test_a_wrap_is_too_late_when_the_colour_gets_too_dark():
    wrap = planned(colour=(0.0, [0.5, 2.0])).acts()[0]
    np.testing.assert_allclose(wrap.opens_s, [7200.0, 9000.0])
    np.testing.assert_allclose(wrap.closes_s, [np.nan, 4 * 3600.0])  # 16 h is too far off to tell
    assert wrap.closes_by == "too dark"


def test_a_colour_that_stands_still_never_gets_too_dark():
    wrap = planned(colour=(3.0, 0.0)).acts()[0]
    assert np.isnan(wrap.closes_s).all()
    assert window_of(wrap, np.array([0.5, 0.5]), 0.0).closes_s.reached == 0.0


def test_too_dark_before_the_wrap_is_due_is_too_late_at_once():
    dark = planned(colour=(9.0, 1.0)).acts(now_h=0.0)[0]
    np.testing.assert_allclose(dark.closes_s, dark.opens_s)


def test_a_pull_is_too_late_when_the_collagen_has_gone():
    """What is left goes on by its share: for a true first-order reaction the time is exact up to the record."""
    hours = np.arange(0.0, 20.0 + 1e-9, EVERY_S / 3600.0)
    one = Ensemble(
        [StagePlan("wrapped", Until("tender"), wrap="foil"), RACKS[3]], [[4.0, 4.0], [4.5, 4.5]], core_c=(90.0, 0.0)
    )
    rate = np.array([0.4, 0.5])
    one.run.trace.values[:, CHANNEL["gelatin_core"]] = 1.0 - np.exp(-rate * hours[:, None])
    np.testing.assert_allclose(one.acts()[0].closes_s, np.log(20.0) / rate * 3600.0, rtol=1e-9)
    assert one.acts()[0].closes_by == "too soft"


def test_a_cut_done_by_its_core_is_too_late_some_kelvins_on():
    plans = [StagePlan("open", Until("core", 79.0)), StagePlan("rest", Until("minutes", 300.0))]
    act = Ensemble(plans, [[1.0], [1.1]], cut="chicken-thigh", core_c=(49.0, 30.0)).acts()[0]
    np.testing.assert_allclose(act.closes_s, 3600.0 + OVER_K / 30.0 * 3600.0)
    assert (act.act, act.closes_by) == ("take off", "dried out")


def test_a_glaze_and_a_rest():
    _, _, pull, hold = planned().acts()
    np.testing.assert_allclose(pull.closes_s, pull.opens_s + GLAZE_BURNS_S)
    np.testing.assert_allclose(hold.closes_s, (100.0 - HOT_HOLD_C) / 4.0 * 3600.0)
    assert (pull.closes_by, hold.closes_by) == ("the glaze burns", "gone cold")
    assert [act.carries for act in planned().acts()] == [False, False, True, True]


def test_the_last_time_that_leaves_the_rest_of_the_course_its_time():
    wrap, sauce, pull, hold = planned().acts(serve_h=6.0)
    np.testing.assert_allclose(wrap.serve_by_s, [3.5 * 3600.0, 3.5 * 3600.0])
    np.testing.assert_allclose(sauce.serve_by_s, [5.5 * 3600.0, 5.5 * 3600.0])
    np.testing.assert_allclose(pull.serve_by_s, [5.75 * 3600.0, 5.75 * 3600.0])
    np.testing.assert_allclose(hold.serve_by_s, 6.0 * 3600.0)
    assert np.isinf(planned().acts()[0].serve_by_s).all()


def test_who_never_gets_ready_is_not_too_late_for_serving():
    some_never = planned()
    some_never.run.trace.stage_end_s[2:, 1] = np.nan
    np.testing.assert_allclose(some_never.acts(serve_h=6.0)[0].serve_by_s, [3.5 * 3600.0, np.inf])
    assert np.isinf(some_never.acts()[0].serve_by_s).all()


@pytest.mark.parametrize(
    ("plan", "lines", "met_h"),
    [
        (RACKS[0], {"colour": (0.0, [0.5, 0.8])}, [2.0, 1.25]),
        (StagePlan("open", Until("colour", 0.85)), {"colour": (0.0, [0.5, 0.8])}, [1.445, 0.903125]),
        (StagePlan("open", Until("tender")), {"gelatin_core": (0.0, [0.4, 0.32])}, [2.0, 2.5]),
        (StagePlan("open", Until("core", 90.0)), {"core_c": (0.0, [45.0, 40.0])}, [2.0, 2.25]),
        (StagePlan("sauced", Until("glaze")), {"glaze_ratio": (2.0, [-0.5, -0.8])}, [2.0, 1.25]),
        (StagePlan("open", Until("minutes", 3600.0)), {}, [1.0, 1.0]),
        (StagePlan("open", Until("clock", START + timedelta(hours=2))), {}, [2.0, 2.0]),
    ],
    ids=["colour", "amber", "tender", "core", "glaze", "minutes", "clock"],
)
def test_a_stage_that_runs_on_was_due_when_its_end_was_met(plan, lines, met_h):
    """The run keeps the running stage until now; the window has been open since the criterion was met."""
    rest = StagePlan("rest", Until("minutes", 600.0))
    late = Ensemble([plan, rest], [[3.0, 3.0], [3.2, 3.2]], running=0, **lines).acts(now_h=3.0)[0]
    np.testing.assert_allclose(late.opens_s, np.array(met_h) * 3600.0, atol=1.0)
    window = window_of(late, np.array([0.25, 0.75]), 3.0 * 3600.0)
    assert window.open_now == pytest.approx(1.0)
    assert np.all(late.closes_s[np.isfinite(late.closes_s)] >= late.opens_s[np.isfinite(late.closes_s)])


def test_chances_now_go_by_the_weights():
    half = planned(running=0, colour=(0.0, [0.5, 0.1]))
    half.run.trace.stage_end_s[0] = [3 * 3600.0, 10 * 3600.0]
    window = window_of(half.acts(now_h=3.0)[0], np.array([0.3, 0.7]), 3 * 3600.0)
    assert window.open_now == pytest.approx(0.3)
    assert window.too_late_now == 0.0


def test_what_the_log_says_is_done_is_no_act():
    acts = planned(ended={0: 2.2}, running=1).acts(now_h=2.5)
    assert [act.act for act in acts] == ["sauce", "take off", "hold"]


def test_without_a_log_the_plan_has_been_followed():
    assert [act.act for act in planned().acts(now_h=3.0)] == ["sauce", "take off", "hold"]
    assert planned().acts(now_h=7.0) == ()


def test_members_that_never_get_there():
    never = planned()
    never.run.trace.stage_end_s[0:, 1] = np.nan
    wrap = never.acts()[0]
    assert np.isnan(wrap.opens_s[1])
    assert np.isnan(wrap.closes_s[1])
    assert window_of(wrap, np.array([0.5, 0.5]), 0.0).opens_s.reached == pytest.approx(0.5)


def test_an_hour_is_over_and_minutes_are():
    for seconds, says in ((3600.0, "the hour is over"), (600.0, "the minutes are over")):
        plans = [RACKS[0], StagePlan("rest", Until("minutes", seconds)), RACKS[-1]]
        acts = Ensemble(plans, [[2.0], [3.0], [4.0]]).acts()
        assert acts[-1].until == says
