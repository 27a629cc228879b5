"""The readable kernel and the compiled one: the same numbers; and single precision against double."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import real
import trial

from pitreckon.physics.vapour import saturation_pressure
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.tally import TALLIES
from pitreckon.section.trace import CHANNELS

pytestmark = pytest.mark.kernel

N, HORIZON_S = 5, 4500.0


def ensemble():
    rng = np.random.default_rng(7)
    spread = {
        name: trial.PORK[name] * np.exp(0.3 * rng.standard_normal(N))
        for name in ("transport", "diffusion", "drip", "drink", "skin_b", "skin_r", "gelatin_rate", "colour_rate")
    }
    spread["scale"] = np.exp(0.1 * rng.standard_normal(N))
    spread["hold_shift"] = 2.0 * rng.standard_normal(N)
    spread["skin_e"] = np.full(N, 0.3)  # so that the skin grows within the hour
    spread["colour_rate"] *= 1e3
    spread["core_done_c"] = np.full(N, 15.0)
    spread["tender_at"] = np.full(N, 1e-3)
    spread["glaze_set_at"] = np.full(N, 0.7)
    return trial.members(N, **spread)


def whole_course() -> Course:
    """Open, wrapped with liquid in it, glazed, rest; lids are lifted, the ledger speaks for some members."""
    never, said = np.inf, np.full(N, np.inf)
    said[1] = 600.0
    still = np.full(N, -never)
    still[2] = 1150.0
    closed = trial.every_face("vapour", 0.0) | trial.every_face("through", 5e-5) | trial.every_face("emissivity", 0.07)
    return trial.course(
        N,
        trial.stage(
            until=Until.COLOUR,
            value=1.5,
            forced_s=said,
            not_before_s=still,
            longest_s=1200.0,
            wall_offset_k=-4.0,
        ),
        trial.stage(
            until=Until.TENDER,
            value=1.0,
            holds_liquid=1.0,
            liquid=np.linspace(0.0, 0.002, N),
            lid_dip_k=30.0,
            longest_s=900.0,
        )
        | closed,
        trial.stage(until=Until.CORE, value=np.linspace(8.0, 45.0, N), longest_s=300.0),
        trial.stage(
            until=Until.GLAZE,
            glaze_water=0.3,
            glaze_solid=0.3,
            sugar=1.0,
            lid_dip_k=20.0,
            lid_recovery_s=200.0,
            longest_s=900.0,
        ),
        trial.stage(until=Until.MINUTES, value=300.0, off_pit=1.0, air_c=25.0),
        trial.stage(until=Until.CLOCK, value=3900.0, off_pit=1.0, air_c=60.0),
    )


def job(shape: str, **over) -> Job:
    air = 120.0 + 4.0 * np.cumsum(np.random.default_rng(3).standard_normal((120, N)), axis=0) * 0.3
    drive = Drive(air, known_until_s=700.0)
    return Job(trial.SMALL[shape](), ensemble(), drive, whole_course(), HORIZON_S, record_every=3, **over)


def both(one: Job):
    return [simulate_all([one], engine=engine, precision="double")[0] for engine in trial.ENGINES]


def assert_near(one, other, rtol=1e-9):
    assert one.failed == other.failed == {}
    for i, channel in enumerate(CHANNELS):
        mine, its = one.values[:, i], other.values[:, i]
        assert np.array_equal(np.isnan(mine), np.isnan(its)), channel
        size = max(1.0, float(np.nanmax(np.abs(its)))) if channel == "kill_log10" else 0.0
        np.testing.assert_allclose(mine, its, rtol=rtol, atol=rtol * size + 1e-12, err_msg=channel)
    np.testing.assert_allclose(one.marks_s, other.marks_s, rtol=0.0, atol=max(1e-6, 1e4 * rtol))
    np.testing.assert_array_equal(one.stage_end_s, other.stage_end_s)


@pytest.mark.parametrize("shape", trial.SMALL)
def test_both_engines_agree(shape):
    compiled, readable = both(job(shape))
    assert_near(compiled, readable)
    np.testing.assert_array_equal(compiled.effort, readable.effort)  # every step, and every refusal
    assert np.isfinite(compiled.marks_s).any(axis=1)[:4].all()  # the course does reach its marks
    assert np.isfinite(compiled.stage_end_s).all()
    ratio = compiled["glaze_ratio"]  # brushed on at 1, after the record of that moment; set at 0.7
    assert 0.7 < np.nanmax(ratio) < 1.0


def test_the_course_asks_for_all_kinds_of_steps():
    """Or the agreement would say little: members differ in their steps, some are refused, most are long."""
    (trace,) = simulate_all([job("drum")], precision="double")
    taken, refused = trace.effort
    assert len(set(taken)) > 2
    assert refused.max() > 0
    assert np.all(taken < 3.0 * HORIZON_S / 60.0)


@pytest.mark.parametrize("shape", ["ball", "rack"])
def test_both_engines_agree_on_finer_steps(shape):
    assert_near(*both(job(shape, substeps=3)))


def test_both_engines_agree_in_boiling_meat():
    """Wrapped tight, in hot air, at little pressure: most cells boil."""
    n = 3
    boil_c = [92.0, 94.0, 97.0]
    pressure_pa = [saturation_pressure(t) for t in boil_c]
    members = trial.members(n, start_c=85.0, boil_c=boil_c, pressure_pa=pressure_pa, hold_drop=0.2)
    wrapped = trial.stage(convection=25.0, vapour=0.0, holds_liquid=1.0, until=Until.NEVER)
    wrapped |= trial.every_face("through", 2e-5)
    for shape in ("slab", "drum"):
        hot = Job(trial.SMALL[shape](), members, trial.steady(160.0, n), trial.course(n, wrapped), 3600.0)
        compiled, readable = both(hot)
        np.testing.assert_array_equal(compiled.effort, readable.effort)
        # Boiling that sets in and stops multiplies rounding: a start 1e-15 warmer makes as much by the end.
        early = compiled.time_s <= 2400.0
        nudged = replace(hot, members=members.changed(start_c=85.0 * (1.0 + 1e-13)))
        (beside,) = simulate_all([nudged], precision="double")
        for channel in ("core_c", "surface_c", "mean_c", "evaporated", "dripped"):
            mine, its = compiled[channel], readable[channel]
            np.testing.assert_allclose(mine[early], its[early], rtol=1e-6, atol=1e-12, err_msg=channel)
            assert np.abs(mine - its).max() < 1e-9 + 10.0 * np.abs(mine - beside[channel]).max()
        assert np.nanmax(compiled["surface_c"]) > 92.0


@pytest.mark.parametrize("kept_at_s", [0.0, 720.0, 2400.0])
@pytest.mark.parametrize("shape", ["slab", "drum"])
def test_each_engine_goes_on_from_what_the_other_kept(shape, kept_at_s):
    keeps = both(job(shape, snapshot_s=kept_at_s))
    columns = [trace.snapshot.columns.copy() for trace in keeps]
    section = trial.SMALL[shape]()
    cells, faces = section.cells, section.outer_cell.size
    first = 5 * cells + 2 * (TALLIES + 2 * faces) + faces  # what rounding cut off, which the readable one does not keep
    assert not columns[1][first : first + 2 * cells].any()
    assert np.abs(columns[0][first : first + 2 * cells]).max() < 1e-7
    columns[0][first : first + 2 * cells] = 0.0
    np.testing.assert_allclose(columns[0], columns[1], rtol=1e-9, atol=1e-9)
    (straight,) = simulate_all([job(shape)], precision="double")
    for engine, trace in zip(trial.ENGINES, reversed(keeps), strict=True):
        (went_on,) = simulate_all([job(shape, start=trace.snapshot)], engine=engine, precision="double")
        assert_near(went_on, straight)


REAL = [
    real.RIBS,
    real.BUTT,
    ("chicken-wing", 150.0, 1.2, 75.0),
    ("brisket-flat", 121.0, 4.0, 60.0),
]


@pytest.mark.parametrize("case", REAL, ids=lambda case: case[0])
def test_single_precision_is_good_enough(case):
    """On real cuts; measured 1e-4 degC, 5e-5 points, 5e-4 min.

    The step's length hangs on an estimate, so that rounding can add or save a step, which may make 0.05 degC of it: so
    the core of the median member, and of the worst.
    """
    cook = real.cook(*case, n=16)
    single, double = (simulate_all([cook], precision=p)[0] for p in ("single", "double"))
    assert np.array_equal(np.isnan(single.marks_s), np.isnan(double.marks_s))
    assert np.isfinite(double.marks_s).sum() >= 2 * 16
    core_c = np.abs(single["core_c"] - double["core_c"]).max(axis=0)
    assert np.median(core_c) < 2e-3
    assert core_c.max() < 0.1
    assert np.abs(single.loss - double.loss).max() < 1e-4
    assert np.nanmax(np.abs(single.marks_s - double.marks_s)) < 0.05 * 60.0
