"""Twins are what they say they are, and a fast cut of them holds the forecast to loose bounds."""

from __future__ import annotations

import ast
import dataclasses
import itertools
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from validation import twins
from validation.twins import day, deal, fire, habits, judge, observe, replay, run, tables, truth
from validation.twins.habits import Life

from pitreckon.units import instant_after

SEED = 11
ROOM = Path(twins.__file__).parent
QUICK = {"st-louis-ribs", "back-ribs", "country-style-ribs", "chicken-thigh", "chicken-half", "pork-loin"}


@pytest.fixture(scope="module")
def ribs():
    """A rack that is looked at and has a probe in it."""
    return next(
        found
        for index in range(200)
        if deal.kind_of(SEED, index) == "all"
        and deal.deal(SEED, index).item.cut == "st-louis-ribs"
        and (found := day.day_of(SEED, index)).twin.attempt == 0
    )


@pytest.mark.parametrize("name", ["deal", "fire", "truth", "habits", "observe", "day", "usual", "timetable", "streams"])
def test_no_twin_is_made_with_the_forecaster(name):
    imported = set()
    for node in ast.walk(ast.parse((ROOM / f"{name}.py").read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom):
            imported |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            imported |= {alias.name for alias in node.names}
    assert imported
    assert not [module for module in imported if module.startswith("pitreckon.reckon")]


def test_classes_come_in_equal_shares():
    assert set(Counter(deal.kind_of(SEED, i) for i in range(400)).values()) == {100}
    assert len({tuple(deal.kind_of(SEED, i) for i in range(b, b + 4)) for b in range(0, 400, 4)}) > 10


@pytest.mark.kernel
def test_a_day_is_a_function_of_seed_and_index(ribs):
    again = day.day_of(SEED, ribs.twin.index)
    assert again.ledger == ribs.ledger
    assert again.marks == ribs.marks
    assert day.day_of(SEED + 1, ribs.twin.index).marks != ribs.marks


@pytest.mark.kernel
def test_the_truth_keeps_its_books_on_a_finer_grid(ribs):
    from pitreckon import catalog
    from pitreckon.section import material

    assert not ribs.life.thick.failed
    assert np.abs(ribs.life.thick.balance).max() < 1e-3  # single precision, a record every minute
    usual = material.section_of(catalog.cut(ribs.twin.item.cut))
    assert ribs.twin.meat.thick.cells > 2 * usual.cells
    assert ribs.twin.meat.thick.y_m[-1] > usual.y_m[-1] > ribs.twin.meat.thin.y_m[-1]


@pytest.mark.kernel
def test_humidity_and_draught_change_within_a_stage(ribs):
    twin = ribs.twin
    flat = np.full(twin.fire.vapour_pa.size, twin.fire.vapour_pa[0])
    assert np.ptp(twin.fire.vapour_pa[:8]) > 0.02 * flat[0]
    stretches = truth._stretches(twin, twin.meat.thick, twin.stages[0], None, 0.0, 4 * fire.SEGMENT_S)
    assert [s["forced_s"] for s in stretches] == [n * fire.SEGMENT_S for n in range(1, 5)]
    assert len({float(s["vapour_pa"]) for s in stretches}) == 4


@pytest.mark.kernel
def test_no_stage_ends_before_its_time_and_each_at_a_visit(ribs):
    """The cook acts at a visit, at or after the moment when the truth's own criterion is met."""
    life, twin = ribs.life, ribs.twin
    begin = 0.0
    visits = {visit.at_s: visit for visit in life.visits}
    assert [stage for stage in twin.stages if stage.until.ends_by != "minutes"]
    for stage, end in zip(twin.stages, life.ends_s, strict=True):
        if stage.until.ends_by != "minutes":
            met = truth.met_s(twin, life.thick, stage, begin)
            assert begin < met <= end <= met + 2 * 3600.0
            assert visits[end].act
        begin = end


@pytest.mark.kernel
def test_an_open_lid_lets_the_heat_out_and_it_comes_back(ribs):
    burning = ribs.twin.fire
    shut = burning.grate_c((), 120)
    opened = burning.grate_c([fire.Opening(1800.0, 30.0)], 120)
    assert (opened[:30] == shut[:30]).all()
    fell = shut - opened
    depth = burning.dip_k * (1 - np.exp(-30.0 / fire.SHUT_S)) / (1 - np.exp(-1.0))
    assert fell[30] == pytest.approx(fire.OF_AIR * depth)
    shown = [burning.readout_steady_c(openings, 120) for openings in ((), [fire.Opening(1800.0, 30.0)])]
    assert (shown[0] - shown[1])[30] == pytest.approx(depth)
    assert (np.diff(fell[30:]) < 0.0).all()


def test_a_fire_fades_until_it_is_fed():
    burning = next(
        twin.fire
        for i in range(200)
        if np.isfinite((twin := deal.deal(SEED, i)).fire.lasts_s) and not twin.fire.pit.fan
    )
    knots = int(burning.lasts_s / fire.KNOT_S) + 100
    left, fed = (
        burning.readout_steady_c(openings, knots)
        for openings in ((), (fire.Opening(burning.lasts_s + 3600.0, 0.0, fed=True),))
    )
    assert (fed == left)[: int(burning.lasts_s / fire.KNOT_S) + 60].all()
    assert fed[-1] > left[-1] + 8.0 * burning.fades > left[-1] + 2.0


@pytest.mark.kernel
def test_what_was_written_down_does_not_depend_on_what_came_after(ribs):
    """The replay of trips rests on this: the ledger of half a life is the first half of the whole ledger."""
    at_s = ribs.life.visits[len(ribs.life.visits) // 2].at_s
    before = Life([end for end in ribs.life.ends_s if end <= at_s], [v for v in ribs.life.visits if v.at_s <= at_s])
    half = observe.ledger_of(ribs.twin, replay._so_far(ribs.twin, before, at_s))
    whole = ribs.ledger.until(instant_after(ribs.twin.put_on_utc, at_s))
    assert half == whole
    assert len(whole) > 30


@pytest.mark.kernel
def test_looks_are_off_by_about_a_step_and_right_on_the_whole():
    """Of many cooks: words of colour against the true colour, both on the scale."""
    off = []
    racks = [
        index
        for index in range(400)
        if deal.kind_of(SEED, index) in {"looks", "all"} and "back-ribs" in deal.deal(SEED, index).item.cut
    ]
    for index in racks[:6]:
        found = day.day_of(SEED, index)
        hands = observe.hands_of(found.twin)
        for look in found.ledger.looks():
            at_s = (look.at_utc - found.twin.put_on_utc).total_seconds()
            colour = 0.5 * sum(observe.at(t, "colour", at_s) for t in (found.life.thick, found.life.thin))
            if look.kind == "colour" and 0.02 < colour < 1.0:
                off.append(look.value - colour**hands.eye_power)
    assert len(off) > 15
    assert abs(np.mean(off)) < 0.15
    assert 0.08 < np.std(off) < 0.25


def test_every_question_lies_before_its_mark():
    marks = {"done": 3 * 3600.0, "colour_set": 3000.0}
    asked = judge.moments_of(marks)
    assert [(mark, moment) for mark, moment, _ in asked] == [
        ("done", "put-on"), ("done", "half-way"), ("done", "60 min"), ("done", "30 min"),
        ("colour_set", "put-on"), ("colour_set", "half-way"), ("colour_set", "30 min"),
    ]  # fmt: skip
    assert all(0.0 <= now_s < marks[mark] for mark, _, now_s in asked)


@pytest.mark.kernel
def test_a_cook_who_comes_late_misses_what_closes(ribs):
    often = replay.replay(ribs.twin, lambda _twin, _life, now_s: now_s + 600.0)
    seldom = replay.replay(ribs.twin, lambda _twin, _life, now_s: now_s + 4 * 3600.0)
    assert often.missed == 0
    assert often.windows == seldom.windows == 3
    assert often.trips > seldom.trips
    assert seldom.missed > 0
    assert seldom.late_min > often.late_min
    assert often.late_min <= 3 * 10.0


@pytest.fixture(scope="module")
def fast_cut():
    """Sixteen cooks of what does not take all day, asked an hour before it is done, with small ensembles."""
    quick = (i for i in range(400) if deal.deal(SEED, i).item.cut in QUICK)
    rows = []
    for index in itertools.islice(quick, 16):
        rows += judge.judge(day.day_of(SEED, index), 64, {("done", "60 min")})
    return tables.score(rows)


def sound(scored: tables.Scored) -> bool:
    """Loose bounds, for few cooks and small ensembles; of CRPS the middle one, which no single cook can upset."""
    ours, prior, table = (np.median(each) for each in (scored.crps, scored.prior, scored.timetable))
    return tables.figures(scored).cover90 >= 0.5 and ours <= min(prior, table)


@pytest.mark.kernel
@pytest.mark.slow
def test_forecasts_of_the_fast_cut_are_sound(fast_cut):
    got = tables.figures(fast_cut)
    assert got.count >= 12
    assert sound(fast_cut), got


@pytest.mark.kernel
@pytest.mark.slow
@pytest.mark.parametrize("wrong", [0.4, 2.0], ids=["far too early", "far too late"])
def test_forecasts_that_are_off_would_not_pass(fast_cut, wrong):
    """The same forecasts with what is left multiplied."""
    p = {name: fast_cut.now + wrong * (value - fast_cut.now) for name, value in fast_cut.p.items()}
    off = [np.abs(np.minimum(middle, 1800.0) - fast_cut.truth) for middle in (p["p50"], fast_cut.p["p50"])]
    assert not sound(dataclasses.replace(fast_cut, p=p, crps=fast_cut.crps + off[0] - off[1]))


def test_classes_of_a_run_are_known():
    assert set(run.WORKS) == {"scores", "trips"}
    for _, columns in run.WORKS.values():
        assert {"index", "rows", "seed", "members"} <= set(columns)


@pytest.mark.kernel
def test_a_cook_who_is_never_done_is_given_up():
    cold = next(deal.deal(SEED, i) for i in range(100) if deal.deal(SEED, i).item.cut == "boston-butt")
    frozen = dataclasses.replace(cold, fire=dataclasses.replace(cold.fire, offset_k=-70.0))
    assert habits.live(frozen) is None
