"""The readable kernel and the compiled one: the same numbers, to round-off."""

from __future__ import annotations

import numpy as np
import pytest
import trial

from pitreckon.section import compiled_lanes
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.simulate import simulate
from pitreckon.section.trace import CHANNELS

N, HORIZON_S = 5, 4500.0


def ensemble():
    rng = np.random.default_rng(7)
    spread = {
        name: trial.PORK[name] * np.exp(0.3 * rng.standard_normal(N))
        for name in ("transport", "diffusion", "drip", "skin_b", "gelatin_rate", "colour_rate")
    }
    spread["scale"] = np.exp(0.1 * rng.standard_normal(N))
    spread["hold_shift"] = 2.0 * rng.standard_normal(N)
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
    closed = trial.every_face("vapour", 5e-5) | trial.every_face("emissivity", 0.07)
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


def both(section, substeps=1):
    air = 120.0 + 4.0 * np.cumsum(np.random.default_rng(3).standard_normal((120, N)), axis=0) * 0.3
    arguments = (section, ensemble(), Drive(air, known_until_s=700.0), whole_course())
    settings = {"horizon_s": HORIZON_S, "record_every": 3, "substeps": substeps}
    return [simulate(*arguments, **settings, engine=engine) for engine in trial.ENGINES]


@pytest.mark.parametrize("shape", trial.SMALL)
def test_both_engines_agree(shape):
    compiled, readable = both(trial.SMALL[shape]())
    assert compiled.failed == readable.failed == {}
    for i, channel in enumerate(CHANNELS):
        one, other = compiled.values[:, i], readable.values[:, i]
        assert np.array_equal(np.isnan(one), np.isnan(other)), channel
        size = max(1.0, float(np.nanmax(np.abs(other)))) if channel == "kill_log10" else 0.0
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-9 * size + 1e-12, err_msg=channel)
    np.testing.assert_allclose(compiled.marks_s, readable.marks_s, rtol=0.0, atol=1e-6)
    np.testing.assert_array_equal(compiled.stage_end_s, readable.stage_end_s)
    assert np.isfinite(compiled.marks_s).any(axis=1)[:4].all()  # the course does reach its marks
    assert np.isfinite(compiled.stage_end_s).all()
    ratio = compiled["glaze_ratio"]  # brushed on at 1, after the record of that moment; set at 0.7
    assert 0.7 < np.nanmax(ratio) < 1.0


@pytest.mark.parametrize("n", [1, 7, 8, 9, 17])
def test_packing_into_lanes_can_be_undone(n):
    array = np.random.default_rng(n).standard_normal((3, 4, n))
    packed = compiled_lanes.lanes_first(array)
    assert packed.shape == (-(-n // compiled_lanes.LANES), 3, 4, compiled_lanes.LANES)
    np.testing.assert_array_equal(compiled_lanes.members_last(packed, n), array)
