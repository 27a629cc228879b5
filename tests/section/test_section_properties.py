"""What holds whatever the members: no number goes missing, nothing runs backwards, trouble stays alone."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.physics.vapour import boiling_point
from pitreckon.section.compiled.lanes import LANES
from pitreckon.section.course import Drive, Until
from pitreckon.section.laws import DRY_LIMIT, surface_activity
from pitreckon.section.members import ROW
from pitreckon.section.multistage import DRY
from pitreckon.section.simulate import simulate
from pitreckon.section.trace import CHANNEL, MARK

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
        trial.stage(until=Until.NEVER, vapour=0.0, holds_liquid=1.0, liquid=0.03, lid_dip_k=40.0)
        | trial.every_face("through", 1e-4),
    )


@pytest.mark.kernel
@settings(max_examples=examples(15), **patient)
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


CLOSED = {"single": 1e-6, "double": 1e-12}
MEMBERS = 3
HOURS = 1.5

# Degrees that a cell with water in it may be above boiling: the steam's time constant (2 s) times how fast the heat
# comes. The thin surface cells of a piece in the hottest air get some kelvins a second: in the furnace 40 W/m2K x 150 K
# and 3 kW/m2 of radiation from two sides into the 0.6 mm of a block's corner, 2.1 kJ/m2K, make up to 8 K/s, of which
# a skin lets less go as vapour than a wet face did.
USUAL_PIT = {"top_c": 150.0, "most_convection": 20.0, "over_k": 4.0}
FURNACE = {"top_c": 250.0, "most_convection": 40.0, "over_k": 16.0}
STEAM_PA = 3e4
"""From here on a dry hot face takes up vapour, which warms it past boiling while it is getting wet: not looked at."""


def takes_up(section, members, water, most_pa):
    """Faces whose water is bound so fast that at the boiling point it takes vapour up from air of ``most_pa``.

    The same as in steam, in a little of it: a nearly dry skin that holds its water fast, on a mountain. What it takes
    up warms it, and no water there is free to boil.
    """
    outer = np.zeros((section.cells, 1), bool)
    outer[section.outer_cell] = True
    return outer & (surface_activity(water, members["skin_b"]) * members["pressure_pa"] < most_pa)


SKINS = ("skin_r", "skin_e")


def numbers(low, high, n=MEMBERS):
    return st.lists(st.floats(low, high), min_size=n, max_size=n).map(np.array)


@st.composite
def anything(draw, top_c, most_convection):
    """A shape, members, a course of one to four stages and air with jumps."""
    spread = {
        name: trial.PORK[name] * np.exp(draw(numbers(-1.4, 1.4)))
        for name in (
            "transport",
            "diffusion",
            "drip",
            "drink",
            "skin_b",
            "skin_r",
            "skin_e",
            "colour_rate",
            "gelatin_rate",
        )
    }
    pressure = draw(numbers(7e4, 101325.0))
    spread |= {
        "scale": np.exp(draw(numbers(-0.5, 0.5))),
        "start_c": draw(numbers(-1.0, 25.0)),
        "water": draw(numbers(1.5, 4.0)),
        "hold_drop": draw(numbers(0.2, 0.7)),
        "skin_n": draw(numbers(1.0, 7.0)),
        "hold_shift": draw(numbers(-5.0, 5.0)),
        "pressure_pa": pressure,
        "boil_c": np.array([boiling_point(float(p)) for p in pressure]),
    }

    def stage(until, value):
        return trial.stage(
            until=until,
            value=value,
            longest_s=np.inf if until == Until.NEVER else 2400.0,
            convection=draw(st.floats(2.0, most_convection)),
            emissivity=draw(st.floats(0.05, 0.95)),
            vapour=draw(st.sampled_from([0.0, 1e-5, 1e-4, 1e-3, 6e-3, 2e-2])),
            vapour_pa=draw(st.sampled_from([500.0, 3000.0, 20000.0, 60000.0, 101000.0])),
            **trial.every_face("through", draw(st.sampled_from([0.0, 0.0, 1e-5, 1e-4]))),
            lid_dip_k=draw(st.floats(0.0, 60.0)),
            glaze_water=draw(st.floats(0.0, 0.5)),
            glaze_solid=draw(st.sampled_from([0.0, 0.0, 0.3])),
            holds_liquid=draw(st.sampled_from([0.0, 0.0, 1.0])),
            liquid=draw(st.sampled_from([0.0, 0.004, 0.03])),
            off_pit=draw(st.sampled_from([0.0, 0.0, 0.0, 1.0])),
            air_c=25.0,
        )

    stages = []
    for _ in range(draw(st.integers(0, 3))):
        until = draw(st.sampled_from([Until.MINUTES, Until.CORE, Until.COLOUR, Until.GLAZE]))
        value = {Until.MINUTES: 1200.0, Until.CORE: 40.0, Until.COLOUR: 0.5, Until.GLAZE: 0.0}[until]
        stages.append(stage(until, value * draw(numbers(0.2, 2.0))))
    stages.append(stage(Until.NEVER, 0.0))
    knots = round(60 * HOURS)
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    jumps = 40.0 * np.sign(rng.standard_normal((knots, MEMBERS))) * (rng.random((knots, MEMBERS)) < 0.1)
    air = np.clip(110.0 + np.cumsum(3.0 * rng.standard_normal((knots, MEMBERS)) + jumps, axis=0), 60.0, top_c)
    snapshot_s = 60.0 * draw(st.integers(1, knots))
    return draw(st.sampled_from(sorted(trial.SMALL))), spread, stages, air, snapshot_s


@pytest.mark.kernel
@pytest.mark.parametrize("precision", CLOSED)
@pytest.mark.parametrize("pit", [USUAL_PIT, FURNACE], ids=["usual pit", "furnace"])
@settings(max_examples=examples(40), **patient)
@given(data=st.data())
def test_whatever_happens_numbers_stay_sound(precision, pit, data):
    """All finite, books closed; at a moment looked at, no water below zero and no wet cell much above boiling."""
    shape, spread, stages, air, snapshot_s = data.draw(anything(pit["top_c"], pit["most_convection"]))
    section, members = trial.SMALL[shape](), trial.members(MEMBERS, **spread)
    trace = simulate(
        section,
        members,
        Drive(air),
        trial.course(MEMBERS, *stages),
        horizon_s=3600.0 * HOURS,
        snapshot_s=snapshot_s,
        precision=precision,
    )
    assert trace.failed == {}
    for name in CHANNEL:
        if name != "glaze_ratio":
            assert np.isfinite(trace[name]).all(), name
    for name in NEVER_FALL:
        assert np.diff(trace[name], axis=0).min() >= 0.0, name
    assert np.abs(trace.balance).max() < CLOSED[precision]
    temp_c, water = trial.cells_of(trace, section, members)
    assert water.min() >= DRY
    wet = (water > DRY_LIMIT) & (section.bone[:, None] < 1.0)
    most_pa = max(stage["vapour_pa"] for stage in stages)
    if most_pa < STEAM_PA:
        wet &= ~takes_up(section, members, water, most_pa)
        assert np.where(wet, temp_c - members["boil_c"], -np.inf).max() < pit["over_k"]
        assert temp_c.max() < pit["top_c"] + 1.0


def dried_then_wrapped():
    """A rim dried out in the hottest air, then a wrap with a little liquid in it."""
    section, members = trial.SMALL["slab"](), trial.members(1, skin_b=0.05)
    stages = trial.course(
        1,
        trial.stage(convection=30.0, until=Until.MINUTES, value=4800.0),
        trial.stage(convection=30.0, holds_liquid=1.0, liquid=0.004, vapour=6e-3, until=Until.NEVER),
    )
    driest = []
    trial.watched(
        lambda _s, state, _f: driest.append(float(state.water.min())),
        section,
        members,
        trial.steady(180.0),
        stages,
        horizon_s=5700.0,
    )
    return driest


def test_dry_meat_beside_a_pool_gives_off_no_water():
    assert min(dried_then_wrapped()) >= DRY


@settings(max_examples=3, **patient)
@given(shape=st.sampled_from(sorted(trial.SMALL)), drawn=factors)
def test_no_cell_goes_below_dry(shape, drawn):
    """Looked at every knot, in the hottest air."""
    driest = []
    trial.watched(
        lambda _s, state, _f: driest.append(float(state.water.min())),
        trial.SMALL[shape](),
        trial.members(1, **spread_of(drawn)),
        trial.steady(180.0),
        trial.course(1, trial.stage(convection=30.0, until=Until.NEVER)),
        horizon_s=1800.0,
    )
    assert min(driest) >= DRY


@pytest.mark.kernel
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


@trial.by_engine
@pytest.mark.parametrize("shape", trial.SMALL)
def test_a_scaled_piece_is_a_piece_drawn_larger(shape, engine):
    """All of it, the film of liquid in the wrap and the glaze too; only round-off may differ."""
    stages = trial.course(
        1,
        trial.stage(until=Until.MINUTES, value=900.0),
        trial.stage(until=Until.MINUTES, value=900.0, vapour=1e-3, holds_liquid=1.0, liquid=5e-4),
        trial.stage(until=Until.NEVER, glaze_water=0.3, glaze_solid=0.3),
    )
    settings_ = {"horizon_s": 2700.0, "engine": engine, "precision": "double"}
    air = trial.steady(130.0)
    scaled = simulate(trial.SMALL[shape](), trial.members(1, scale=1.4), air, stages, **settings_)
    drawn = simulate(trial.SMALL[shape](1.4), trial.members(1), air, stages, **settings_)
    np.testing.assert_allclose(scaled.values, drawn.values, rtol=1e-7, atol=1e-9)


ABSURD = {
    "no size": {"scale": np.nan},
    "water that jumps": {"transport": 1e3, "diffusion": 1e3},
    "negative capacity": {"dry_cp": -3e4},
    "hot without end": {"start_c": np.inf},
}


def absurd(name, n, member):
    """Members of whom one is absurd."""
    good = trial.members(n, scale=np.linspace(0.9, 1.1, n))
    bad = good.changed()
    for parameter, value in ABSURD[name].items():
        bad.values[ROW[parameter], member] = value
    return good, bad


@pytest.mark.kernel
@pytest.mark.parametrize("precision", CLOSED)
@pytest.mark.parametrize("name", ABSURD)
def test_an_absurd_member_fails_alone(name, precision):
    """It says so; to the others nothing changes, to the bit, whether they stand beside it or not."""
    section, n = trial.SMALL["rack"](), LANES + 1
    rest = {"horizon_s": 7200.0, "threads": 1, "precision": precision}
    for member in (2, LANES):
        good, bad = absurd(name, n, member)
        usual = simulate(section, good, trial.steady(130.0, n), two_stages(n), **rest)
        trace = simulate(section, bad, trial.steady(130.0, n), two_stages(n), **rest)
        assert list(trace.failed) == [member]
        assert "min after put-on" in trace.failed[member]
        others = np.delete(np.arange(n), member)
        trial.assert_same(trace.take(others), usual.take(others))


@pytest.mark.parametrize("name", ABSURD)
def test_an_absurd_member_fails_alone_readable(name):
    section, n = trial.SMALL["slab"](), 4
    good, bad = absurd(name, n, 1)
    runs = [
        simulate(section, m, trial.steady(130.0, n), two_stages(n), horizon_s=2700.0, engine=trial.READABLE)
        for m in (good, bad)
    ]
    assert list(runs[1].failed) == [1]
    others = np.array([0, 2, 3])
    trial.assert_same(runs[1].take(others), runs[0].take(others))


@pytest.mark.kernel
def test_a_failed_member_leaves_no_numbers_behind():
    good, bad = absurd("no size", 3, 1)
    trace = simulate(trial.SMALL["slab"](), bad, trial.steady(130.0, 3), two_stages(3), horizon_s=3600.0)
    assert np.isnan(trace["core_c"][1:, 1]).all()
    assert np.isnan(trace.marks_s[MARK["core_done"], 1])
    assert good.size == 3
