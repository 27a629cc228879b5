"""The cooling planner: against an exact solution and the rules' own limits; what must hold whatever is asked."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from tests.sparing import examples

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.physics.vapour import pressure_isa
from pitreckon.safety.cooling import run as coolingrun
from pitreckon.safety.cooling.methods import DEEP_M, ICE_BATH, REFRIGERATOR, SHALLOW_M, Method, methods_for
from pitreckon.safety.cooling.plan import (
    FOOD_CODE,
    PLANTS,
    CoolingPlan,
    Limit,
    Stretch,
    _chance,
    plan_cooling,
)
from pitreckon.safety.cooling.run import UNKNOWNS, Cooled, cooked, cooled, fresh_job
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import CHANNEL

BUTT_KG, HOT_C = 2.7, 71.0


@pytest.fixture(scope="module")
def butt() -> CoolingPlan:
    return plan_cooling("boston-butt", BUTT_KG, HOT_C, members=48)


def slab_middle(time_s: float, biot: float, alpha: float, half_m: float) -> float:
    """(T - T_air) / (T_start - T_air) in the middle of a slab cooled on both faces: the series of Carslaw and Jaeger,
    Conduction of Heat in Solids, 2nd ed., section 3.11 (from memory)."""
    total = 0.0
    for n in range(12):
        root = brentq(lambda b: b * np.tan(b) - biot, n * np.pi + 1e-9, n * np.pi + np.pi / 2 - 1e-9)
        part = 4 * np.sin(root) / (2 * root + np.sin(2 * root))
        total += part * np.exp(-(root**2) * alpha * time_s / half_m**2)
    return total


@pytest.mark.kernel
def test_against_the_exact_solution_of_a_slab(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bag of pulled meat in ice water, everything at its middle value: a slab with one film on both faces."""
    z = {name: np.zeros(4) for name in UNKNOWNS}
    monkeypatch.setattr(coolingrun, "hypercube", lambda *_: z)
    cut, method = catalog.cut("boston-butt"), Method("pulled", "in a bag", ICE_BATH, True, 0.0, DEEP_M)
    pressure = pressure_isa(0.0)
    job = fresh_job(
        cut, method, mass_kg=2.0, start_c=HOT_C, pressure_pa=pressure, members=4, seed=0, horizon_s=6 * 3600.0
    )
    (trace,) = simulate_all([job])
    run = cooled(method, trace)
    drawn = cooked(cut, method, 2.0, HOT_C, pressure, z)

    def of(name: str) -> float:
        return float(np.asarray(drawn[name]).ravel()[0])

    k = of("k_base") + of("k_temp") * 30.0 + of("k_water") * of("water")
    capacity = of("dry_density") * (of("dry_cp") + 4190.0 * of("water"))
    film = ICE_BATH.film_w_m2k * coolingrun.BAG_W_M2K / (ICE_BATH.film_w_m2k + coolingrun.BAG_W_M2K)
    half = DEEP_M / 2
    for goal_c in (45.0, 21.1, 5.0):
        share = (goal_c - ICE_BATH.air_c) / (HOT_C - ICE_BATH.air_c)
        exact = brentq(lambda t, s=share: slab_middle(t, film * half / k, k / capacity, half) - s, 60.0, 6 * 3600.0)
        assert run.first_at(goal_c)[0] == pytest.approx(exact, rel=0.06)


def test_the_limits_are_those_of_the_code_and_of_the_guideline() -> None:
    """FDA Food Code 2022, 3-501.14; FSIS Appendix B, option 1 (both in the sourced tables of the rules)."""
    assert [(round(s.from_c, 1), round(s.to_c, 1), s.most_s) for s in FOOD_CODE.stretches] == [
        (57.2, 21.1, 7200.0),
        (57.2, 5.0, 21600.0),
    ]
    assert [(round(s.from_c, 1), round(s.to_c, 1), s.most_s) for s in PLANTS.stretches] == [
        (54.4, 26.7, 5400.0),
        (26.7, 4.4, 18000.0),
    ]


@pytest.mark.kernel
def test_what_cooks_are_taught_comes_out(butt: CoolingPlan) -> None:
    """Large pieces whole in a refrigerator do not make it; shallow, small, or in ice they do: the advice of Food Code
    3-501.15 (shallow pans, smaller portions, ice water baths; from memory)."""
    assert butt.trial("whole", "refrigerator").makes < 0.05
    assert butt.trial("pulled", "ice bath", depth_m=SHALLOW_M).makes > 0.95
    assert butt.trial("sliced", "refrigerator").makes > 0.9
    shallow, deep = (butt.trial("pulled", "refrigerator", depth_m=depth) for depth in (SHALLOW_M, DEEP_M))
    assert shallow.to_41_s.p50 < deep.to_41_s.p50


@pytest.mark.kernel
def test_the_change_that_is_offered_makes_it(butt: CoolingPlan) -> None:
    whole = butt.trial("whole", "refrigerator").method
    change = butt.smallest_change(whole)
    assert change is not None
    assert change.enough
    said = butt.advice(whole)
    assert said[0].startswith("Not likely to make")
    assert change.words in said[0]
    assert "health department" in said[-1]


@pytest.mark.kernel
def test_those_that_make_it_come_first(butt: CoolingPlan) -> None:
    enough = [trial.enough for trial in butt.trials]
    assert enough == sorted(enough, reverse=True)
    efforts = [trial.method.effort_s for trial in butt.trials if trial.enough]
    assert efforts == sorted(efforts)


@pytest.mark.kernel
def test_more_meat_in_one_piece_cools_later() -> None:
    methods = [Method("whole", "on a rack", REFRIGERATOR, False, 0.0)]
    small, large = (plan_cooling("boston-butt", kg, HOT_C, members=16, methods=methods).trials[0] for kg in (1.5, 4.0))
    assert small.to_41_s.p50 < large.to_41_s.p50
    assert small.makes >= large.makes


@pytest.mark.kernel
def test_a_clock_that_runs_already_counts() -> None:
    methods = [Method("pulled", "in a bag", ICE_BATH, True, 0.0, DEEP_M)]
    late = [
        plan_cooling("boston-butt", 2.0, 50.0, since_135_s=h * 3600.0, members=24, methods=methods).trials[0].makes
        for h in (0.0, 1.0, 2.0, 3.0)
    ]
    assert late == sorted(late, reverse=True)
    assert late[0] > 0.9
    assert late[-1] == 0.0


@settings(max_examples=examples(200), deadline=None)
@given(
    st.lists(st.floats(0.2, 20.0), min_size=4, max_size=30),
    st.floats(1.0, 3.0),
    st.sampled_from((FOOD_CODE, PLANTS)),
    st.floats(0.0, 3 * 3600.0),
)
def test_later_never_turns_missed_into_made(drops: list[float], slower: float, limit: Limit, before_s: float) -> None:
    hot = np.asarray(np.maximum(60.0 - np.cumsum([0.0, *drops]), 1.0), dtype=np.float64)
    time: np.ndarray[Any, np.dtype[np.float64]] = np.linspace(0.0, 900.0 * (hot.size - 1), hot.size)
    method = Method("whole", "on a rack", REFRIGERATOR, False, 0.0)
    fast, slow = (Cooled(method, s * time, hot[:, None], hot[:, None], 0) for s in (1.0, slower))
    assert _chance(slow, limit.stretches, before_s) <= _chance(fast, limit.stretches, before_s)
    assert _chance(fast, limit.stretches, before_s + 600.0) <= _chance(fast, limit.stretches, before_s)


@pytest.mark.kernel
def test_a_member_that_was_lost_is_counted_as_failed() -> None:
    cut = catalog.cut("boston-butt")
    method = Method("pulled", "in a bag", ICE_BATH, True, 0.0, SHALLOW_M)
    job = fresh_job(
        cut, method, mass_kg=2.0, start_c=HOT_C, pressure_pa=101325.0, members=8, seed=0, horizon_s=6 * 3600.0
    )
    (trace,) = simulate_all([job])
    assert _chance(cooled(method, trace), FOOD_CODE.stretches, 0.0) == 1.0
    recorded = trace.values
    recorded[-1, CHANNEL["core_c"], :2] = np.nan
    run = cooled(method, replace(trace, recorded=recorded))
    assert run.failed == 2
    assert _chance(run, FOOD_CODE.stretches, 0.0) == 0.75


def test_a_member_that_failed_does_not_make_it() -> None:
    hot = np.array([[60.0], [10.0], [3.0]])
    method = Method("whole", "on a rack", REFRIGERATOR, False, 0.0)
    run = Cooled(method, np.array([0.0, 1800.0, 3600.0]), hot, hot, failed=1)
    assert _chance(run, FOOD_CODE.stretches, 0.0) == 0.5
    assert _chance(Cooled(method, run.time_s, hot[:, :0], hot[:, :0], 2), FOOD_CODE.stretches, 0.0) == 0.0
    never = Cooled(method, run.time_s[:2], hot[:2], hot[:2], 0)
    assert _chance(never, (Stretch(57.2, 5.0, 1e9),), 0.0) == 0.0


@pytest.mark.kernel
@pytest.mark.parametrize("cut", sorted(catalog.cuts()))
def test_every_cut_can_be_cooled(cut: str) -> None:
    plan = plan_cooling(cut, 1.0, 65.0, members=8, methods=methods_for(catalog.cut(cut))[:2])
    assert all(np.isfinite(trial.to_70_s.p50) for trial in plan.trials)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"mass_kg": 0.0}, "mass_kg"),
        ({"start_c": 140.0}, "start_c"),
        ({"start_c": 40.0}, "how long ago"),
        ({"cut_key": "marmot"}, "no cut"),
        ({"members": 2}, "members"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, Any], says: str) -> None:
    asked: dict[str, Any] = {"cut_key": "boston-butt", "mass_kg": 2.0, "start_c": 70.0, "members": 8} | change
    with pytest.raises(InputError, match=says):
        plan_cooling(**asked)
