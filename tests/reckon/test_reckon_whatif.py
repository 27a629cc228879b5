"""What-ifs: from the same members, the right way, and nothing that was done is undone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from supper import START, air, at, cook, look, put_on, racks, wings

from pitreckon import catalog
from pitreckon.cli.screen import Screen
from pitreckon.cli.supposed import print_options
from pitreckon.cook import StagePlan, Until
from pitreckon.ledger import Act, Ledger
from pitreckon.reckon import fromnow, whatif
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.fromnow import Drawn
from pitreckon.reckon.minutes import Air
from pitreckon.reckon.summary import last_ready, share_by
from pitreckon.reckon.turning import turning_words
from pitreckon.reckon.whatif import (
    LEAVE,
    WORTH_SAYING_LOSS,
    Option,
    WhatIf,
    _result,
    live_options,
    ready_together,
    what_ifs,
)
from pitreckon.section import machine

pytestmark = pytest.mark.kernel

EVENTS = [put_on("racks"), *air(135.0, 0, 90), look(85, "colour", 0.55, "racks")]


@pytest.fixture(scope="module")
def answers():
    plan = cook(racks(pieces=1), set_c=135.0, serve_h=6.0)
    done = reckoning(plan, Ledger.of(EVENTS), now=at(90), members=128)
    return {each.what: each for each in what_ifs(done, members=96)}, done


def median(each):
    return each.items[0].ready.p50


def test_every_kind_is_there(answers):
    got, _ = answers
    assert set(got) == {
        LEAVE,
        "drum hotter",
        "drum cooler",
        "wrap racks now",
        "hold racks when ready",
    }


def test_hotter_is_sooner_and_cooler_later(answers):
    got, _ = answers
    assert median(got["drum hotter"]) < median(got[LEAVE]) < median(got["drum cooler"])
    assert got["drum hotter"].moved_s < -200.0 < 200.0 < got["drum cooler"].moved_s
    assert got["drum hotter"].acts[0].air_c == pytest.approx(135.0 + 25.0 / 1.8)


def test_where_all_is_late_what_is_soonest_comes_first():
    """Twenty minutes before supper, two hours short: cooler is no remedy, and it is told when all of it is ready."""
    plan = cook(racks(pieces=2), set_c=121.0, serve_h=110 / 60)
    done = reckoning(plan, Ledger.of(EVENTS), now=at(90), members=128)
    options = what_ifs(done, members=64)
    order = [each.what for each in options]
    assert options[0].moved_s < 0.0
    assert max(order.index("drum hotter"), order.index(LEAVE)) < order.index("drum cooler")
    left = next(each for each in options if each.what == LEAVE)
    assert left.all_ready == ready_together(done)  # one time everywhere
    hotter = next(each for each in options if each.what == "drum hotter")
    assert hotter.all_ready[1] < left.all_ready[1]
    early, half, sure = ready_together(done)
    assert early is not None
    assert half is not None
    assert sure is not None
    assert at(110) < early < half < sure
    share = np.mean([share_by(last_ready(run), half.timestamp() - run.put_on_utc.timestamp()) for run in done.runs])
    assert share == pytest.approx(0.5, abs=0.01)


def test_where_all_is_well_nothing_is_done(capsys):
    plan = cook(racks(pieces=1), set_c=135.0, serve_h=7.0)
    hold = StagePlan("hold", Until("clock", at(420)), air_c=65.0)
    plan = replace(plan, items=(replace(plan.items[0], stages=(*plan.items[0].stages, hold)),))
    options = what_ifs(reckoning(plan, Ledger.of(EVENTS), now=at(90), members=128), members=96)
    assert options[0].what == LEAVE
    print_options(Screen("F"), plan, options, at(90), "F", (None, None, None))
    assert "All is well as it is." in capsys.readouterr().out


def test_a_pit_that_is_turned_up_is_hotter_for_what_goes_on_later():
    """Readings from before a piece's own put-on miss what the pit was set to then, not what it is set to afterwards."""
    plan = cook(racks(pieces=1), wings(put_on_utc=at(180)), set_c=121.0, serve_h=6.0)
    done = reckoning(plan, Ledger.of([put_on("racks"), *air(121.0, 0, 90)]), now=at(90), members=32)
    lived = {option.what: runs for option, runs in live_options(done, 32)}
    means = {what: float(runs[1].tracks[0].ensemble.air_c.on_knots.mean()) for what, runs in lived.items()}
    step = 25.0 / 1.8
    assert means["drum hotter"] - means[LEAVE] == pytest.approx(step, abs=0.1)
    assert means["drum cooler"] - means[LEAVE] == pytest.approx(-step, abs=0.1)


def test_a_wrap_is_moister_and_paler(answers):
    got, _ = answers
    wrapped, left = got["wrap racks now"].items[0], got[LEAVE].items[0]
    assert wrapped.loss.p50 < left.loss.p50
    assert wrapped.colour.p50 < left.colour.p50


def test_raw_is_no_remedy_and_what_is_done_may_come_off(answers):
    got, done = answers
    assert "racks off and held now" not in got
    lived = {option.what: runs for option, runs in live_options(done, 64)}
    off = _result(done, Option("", "racks", (), done.cook), lived["racks off and held now"]).items[0]
    assert off.ready.p50 == pytest.approx(90 * 60.0, abs=61.0)
    assert off.done < 0.2  # 4 h 30 min in the hold do soften some
    assert off.on_time <= off.done  # called ready, and not done: never on time
    acts = (Act(at(90), "racks", "took off"), Act(at(90), "racks", "hold", air_c=65.0))
    told = _result(done, Option("", "racks", acts, done.cook), lived["racks off and held now"])
    assert not told.items[0].ready.p50 <= 91 * 60.0  # in the box, and not ready by that
    plan = cook(racks(pieces=1), set_c=135.0, serve_h=6.0)
    later = reckoning(plan, Ledger.of([*EVENTS, look(300, "probe feel", 1.0, "racks")]), now=at(300), members=64)
    assert "racks off and held now" in {each.what for each in what_ifs(later, members=64)}


def test_a_pit_option_says_what_to_do_at_this_pit(answers):
    got, _ = answers
    assert "vents" in got["drum hotter"].how  # an upright drum burns charcoal
    assert "vents" in got["drum cooler"].how
    assert got["wrap racks now"].how == ""
    pits = catalog.pits()
    assert "split" in turning_words(pits["offset-log-burner"], "hotter")
    assert "setting" in turning_words(pits["pellet-cooker"], "hotter")


def test_every_option_but_leaving_it_has_its_price(answers):
    got, _ = answers
    for what, option in got.items():
        assert bool(option.costs) is (what not in {LEAVE, "hold racks when ready"})
    for option in got.values():
        kept = got[LEAVE].items[0].loss.p50 - option.items[0].loss.p50
        told = any("of its weight kept" in each for each in (*option.brings, *option.costs))
        assert told is (abs(kept) >= WORTH_SAYING_LOSS)
    assert got["wrap racks now"].items[0].loss.p50 < got[LEAVE].items[0].loss.p50 - 0.005


def test_leaving_it_is_the_outlook_itself(answers):
    got, done = answers
    ready = done.outlook.items[0].marks["ready"]
    assert median(got[LEAVE]) == pytest.approx(ready.p50, abs=600.0)
    assert got[LEAVE].items[0].ready.p95 - got[LEAVE].items[0].ready.p05 == pytest.approx(
        ready.p95 - ready.p05, rel=0.4
    )


def test_a_hold_helps_who_is_early(answers):
    got, _ = answers
    assert got["hold racks when ready"].on_time > got[LEAVE].on_time + 0.3


def test_fuel_goes_with_heat_and_time(answers):
    got, _ = answers
    assert got["drum cooler"].fuel_kg != got["drum hotter"].fuel_kg


def test_before_put_on_only_the_pit_can_be_set():
    done = reckoning(cook(racks(pieces=1), set_c=135.0), now=START - timedelta(hours=1), members=32)
    assert {each.what for each in what_ifs(done, members=32)} == {LEAVE, "drum hotter", "drum cooler"}


def test_the_past_is_not_reckoned_again(answers):
    """What was recorded before now is the same to the bit."""
    got, done = answers
    kept = done.runs[0].tracks[0].trace.snapshot
    assert kept is not None
    assert kept.knot == 90
    assert np.isfinite(median(got["wrap racks now"]))


def test_leaving_it_is_no_run_but_what_the_members_do(answers):
    _, done = answers
    (_, (run,)), *_ = live_options(done, 64)
    drawn, old = Drawn.of(done.runs[0].tracks[0], 64), done.runs[0].tracks[0]
    np.testing.assert_array_equal(run.trace.marks_s, old.as_run.marks_s[:, drawn.which])
    assert drawn.weights.sum() == pytest.approx(1.0)
    assert np.all(np.diff(drawn.which) > 0)  # each once
    assert drawn.weights @ old.ensemble.z[0, drawn.which] == pytest.approx(old.weights @ old.ensemble.z[0], abs=0.1)


def test_options_that_run_together_are_to_the_bit_what_each_is_alone(answers):
    """One has more stages than the other, and another horizon."""
    _, done = answers
    together = {option.what: runs[0].trace for option, runs in live_options(done, 64)}
    alone = {option.what: runs[0].trace for option, runs in live_options(done, 64, {"wrapped"})}
    assert set(alone) == {LEAVE, "wrap racks now"}
    for what, trace in alone.items():
        for channel in ("core_c", "colour", "evaporated", "stage"):
            rows = min(trace.written(channel).shape[0], together[what].written(channel).shape[0])
            np.testing.assert_array_equal(trace.written(channel)[:rows], together[what].written(channel)[:rows])
        np.testing.assert_array_equal(trace.marks_s, together[what].marks_s)
        np.testing.assert_array_equal(trace.stage_end_s, together[what].stage_end_s)


def test_all_options_run_by_the_code_that_is_there(answers, monkeypatch):
    """Arrays in another order than usual would have the kernel compiled once more, for those."""
    _, done = answers
    monkeypatch.setattr(machine, "_of_numba", lambda arguments: pytest.fail("these arguments are the compiler's"))
    jobs = []
    run_all = whatif.simulate_all
    monkeypatch.setattr(whatif, "simulate_all", lambda of: jobs.extend(of) or run_all(of))
    live_options(done, 64)
    assert jobs
    for job in jobs:
        arrays = (job.drive.air_c, job.course.table, job.members.values, job.start.columns)
        assert all(array.flags.c_contiguous for array in arrays)


def test_what_is_after_serving_changes_no_answer(answers, monkeypatch):
    got, done = answers
    monkeypatch.setattr(fromnow, "_followed_to", lambda course, serve_s, stands_s: course)
    for each in what_ifs(done, members=96):
        assert [replace(item, outlook=None) for item in each.items] == [
            replace(item, outlook=None) for item in got[each.what].items
        ]
        assert each.on_time == got[each.what].on_time


@pytest.mark.parametrize("thinned", [False, True])
def test_air_of_some_members_and_warmer(thinned):
    air_c = np.random.default_rng(1).normal(120.0, 3.0, (9, 4))
    more_k, chosen = np.linspace(0.0, 8.0, 9), np.array([3, 1])
    warmer = Air.of(air_c, thinned=thinned).take(chosen).plus(more_k)
    np.testing.assert_array_equal(warmer[np.arange(9)], air_c[:, chosen] + more_k[:, None])


def test_a_pit_that_was_turned_up_goes_on_from_there():
    events = [*EVENTS, Act(at(60), "drum", "set pit", air_c=150.0)]
    done = reckoning(cook(racks(pieces=1), set_c=135.0), Ledger.of(events), now=at(90), members=32)
    up = next(each for each in what_ifs(done, members=32) if each.what == "drum hotter")
    assert up.acts[0].air_c == pytest.approx(150.0 + 25.0 / 1.8)


@pytest.mark.parametrize(
    ("act", "moved_s", "moved", "cost"),
    [
        ("wrapped", -104 * 60.0, "1 h 44 min sooner", "softens in the wrap"),
        ("unwrapped", 35 * 60.0, "35 min later", "cools it towards its plateau"),
        ("hold", 60.0, "", "its bark softens"),
    ],
)
def test_an_option_says_what_it_costs_and_by_how_much(act: str, moved_s: float, moved: str, cost: str) -> None:
    done = Act(datetime(2026, 10, 17, 17, tzinfo=UTC), "butt", act)
    option = WhatIf(f"{act} butt now", "butt", (done,), 0.5, None, moved_s, ())
    assert option.moved == moved
    assert cost in "; ".join(option.costs)
    assert bool(option.costs) == bool(cost)
