"""What holds whatever the members: no number goes missing, nothing runs backwards, trouble stays alone."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from hypothesis import given, settings
from hypothesis import strategies as st

from pitreckon.section import chebyshev, readable
from pitreckon.section.compiled_lanes import LANES
from pitreckon.section.course import Drive, Until
from pitreckon.section.members import ROW, Members
from pitreckon.section.simulate import raw_mass, simulate
from pitreckon.section.trace import CHANNEL

patient = {"deadline": None, "derandomize": True}
NEVER_FALL = ("colour", "gelatin_core", "gelatin_mean", "shrunk_mean", "kill_log10", "stage")
factors = st.lists(st.floats(0.25, 4.0), min_size=5, max_size=5)


def spread_of(factors_drawn):
    names = ("transport", "diffusion", "drip", "skin_b", "colour_rate")
    return {n: trial.PORK[n] * f for n, f in zip(names, factors_drawn, strict=True)}


def two_stages(n=1):
    return trial.course(
        n,
        trial.stage(until=Until.MINUTES, value=1800.0, lid_dip_k=20.0),
        trial.stage(until=Until.NEVER, vapour=1e-4, holds_liquid=1.0, liquid=0.03, lid_dip_k=40.0),
    )


@settings(max_examples=15, **patient)
@given(
    shape=st.sampled_from(sorted(trial.SMALL)),
    drawn=factors,
    air_c=st.floats(70.0, 200.0),
    scale=st.floats(0.6, 1.6),
)
def test_no_number_goes_missing_and_nothing_runs_backwards(shape, drawn, air_c, scale):
    trace = simulate(
        trial.SMALL[shape](),
        trial.members(1, scale=scale, **spread_of(drawn)),
        trial.steady(air_c),
        two_stages(),
        horizon_s=4 * 3600.0,
    )
    assert trace.failed == {}
    for name in CHANNEL:
        if name != "glaze_ratio":
            assert np.isfinite(trace[name]).all(), name
    for name in NEVER_FALL:
        assert np.diff(trace[name], axis=0).min() >= 0.0, name
    for name in ("colour", "gelatin_core", "gelatin_mean", "shrunk_mean"):
        assert trace[name][0, 0] == 0.0
    assert trace["core_c"].max() <= max(air_c, trial.PORK["start_c"]) + 0.5


@settings(max_examples=4, **patient)
@given(shape=st.sampled_from(sorted(trial.SMALL)), drawn=factors)
def test_no_cell_goes_below_dry(shape, drawn):
    section, members = trial.SMALL[shape](), trial.members(1, **spread_of(drawn))
    driest = []
    results = [np.full(s, np.nan) for s in ((4, 16, 1), (6, 1), (1, 1), (2, 1), (1,))]
    readable.run(
        *(section.nx, section.ny, section.gx, section.gy, section.volume, section.bone),
        *(section.outer_cell, section.outer_area, section.outer_group, section.core, section.places),
        *(members.values, trial.course(1, trial.stage(convection=30.0, until=Until.NEVER)).table),
        *(np.full((2, 1), 180.0), 60.0, 0.0, 1800.0, 10, 1, *chebyshev.table(), raw_mass(section, members)),
        *results,
        watch=lambda _s, state, _f: driest.append(float(state.water.min())),
    )
    assert min(driest) >= -1e-9


@settings(max_examples=10, **patient)
@given(
    shape=st.sampled_from(sorted(trial.SMALL)),
    drawn=factors,
    air_c=st.floats(90.0, 150.0),
    hotter_k=st.floats(5.0, 40.0),
    thicker=st.floats(1.05, 1.5),
)
def test_hotter_is_sooner_and_thicker_is_later(shape, drawn, air_c, hotter_k, thicker):
    """Three members side by side: as it is, in a hotter pit, and a larger piece."""
    air = np.array([air_c, air_c + hotter_k, air_c])
    trace = simulate(
        trial.SMALL[shape](),
        trial.members(3, **(spread_of(drawn) | {"scale": [1.0, 1.0, thicker], "core_done_c": 50.0})),
        Drive(np.broadcast_to(air, (2, 3)).copy()),
        trial.course(3, trial.stage(until=Until.NEVER)),
        horizon_s=12 * 3600.0,
        record_every=60,
    )
    usual, hotter, larger = trace.mark("core_done")
    assert hotter < usual < larger or (hotter < usual and np.isnan(larger))


@pytest.mark.parametrize("engine", trial.ENGINES)
@pytest.mark.parametrize("shape", trial.SMALL)
def test_a_scaled_piece_is_a_piece_drawn_larger(shape, engine):
    """All of it, the film of liquid in the wrap and the glaze too; only round-off may differ."""
    stages = trial.course(
        1,
        trial.stage(until=Until.MINUTES, value=900.0),
        trial.stage(until=Until.MINUTES, value=900.0, vapour=1e-3, holds_liquid=1.0, liquid=5e-4),
        trial.stage(until=Until.NEVER, glaze_water=0.3, glaze_solid=0.3),
    )
    settings_ = {"horizon_s": 2700.0, "engine": engine}
    air = trial.steady(130.0)
    scaled = simulate(trial.SMALL[shape](), trial.members(1, scale=1.4), air, stages, **settings_)
    drawn = simulate(trial.SMALL[shape](1.4), trial.members(1), air, stages, **settings_)
    np.testing.assert_allclose(scaled.values, drawn.values, rtol=1e-7, atol=1e-9)


ABSURD = {"no size": {"scale": np.nan}, "water that jumps": {"transport": 1e3, "diffusion": 1e3}}


@pytest.mark.parametrize("name", ABSURD)
def test_an_absurd_member_fails_alone(name):
    section = trial.SMALL["rack"]()
    n = LANES + 1
    good = trial.members(n, scale=np.linspace(0.9, 1.1, n))
    bad = good.changed()
    for parameter, value in ABSURD[name].items():
        bad.values[ROW[parameter], LANES] = value
    arguments = {"horizon_s": 7200.0, "threads": 1}
    trace = simulate(section, bad, trial.steady(130.0, n), two_stages(n), **arguments)
    assert list(trace.failed) == [LANES]
    assert "min after put-on" in trace.failed[LANES]
    alone = simulate(section, good.take(np.arange(LANES)), trial.steady(130.0, LANES), two_stages(LANES), **arguments)
    np.testing.assert_array_equal(trace.values[:, :, :LANES], alone.values)
    np.testing.assert_array_equal(trace.marks_s[:, :LANES], alone.marks_s)


@pytest.mark.parametrize("engine", trial.ENGINES)
def test_neighbours_of_an_absurd_member_are_unharmed(engine):
    """In the same block the steps differ, the numbers hardly do."""
    section = trial.SMALL["slab"]()
    good = trial.members(4, scale=np.linspace(0.9, 1.1, 4))
    bad = good.changed(scale=[0.9, np.nan, 1.0333333333333332, 1.1])
    runs = [
        simulate(section, m, trial.steady(130.0, 4), two_stages(4), horizon_s=2700.0, engine=engine)
        for m in (good, bad)
    ]
    assert list(runs[1].failed) == [1]
    others = [0, 2, 3]
    np.testing.assert_allclose(runs[1]["core_c"][:, others], runs[0]["core_c"][:, others], rtol=0.0, atol=0.05)


def test_threads_change_nothing():
    section = trial.SMALL["block"]()
    rng = np.random.default_rng(5)
    n = LANES * 20 + 3
    members = Members.of(n, trial.PORK | {"scale": np.exp(0.1 * rng.standard_normal(n))})
    runs = [
        simulate(section, members, trial.steady(120.0, n), two_stages(n), horizon_s=3600.0, threads=threads)
        for threads in (1, 2)
    ]
    for name in ("values", "marks_s", "stage_end_s", "balance"):
        np.testing.assert_array_equal(getattr(runs[0], name), getattr(runs[1], name))
