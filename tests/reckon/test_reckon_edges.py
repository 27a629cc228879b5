"""Far from the usual: high up, in the cold, with an until that cannot come."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from supper import START

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger.log.read import log_from_text
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.reckon import reckon
from pitreckon.reckon.forecast import reckoning

pytestmark = pytest.mark.kernel


F203_C, F198_C = 95.0, 92.2


def cook(*, altitude_m=0.0, set_c=121.0, until_c=F203_C, water_pan=None):
    stages = (StagePlan("open", Until("core", 74.0)), StagePlan("wrapped", Until("core", until_c), wrap="foil"))
    rest = StagePlan("rest", Until("minutes", 2700.0))
    item = ItemPlan("butt", "boston-butt", 1, 3.6, "box", START, stages=(*stages, rest))
    pit = PitPlan("box", "pellet-cooker", set_c, water_pan)
    return Cook("edge", "UTC", None, altitude_m, -10.0, 0.5, (pit,), (item,))


def outlook(plan, members=48):
    return reckon(plan, now=START, members=members, seed=1)


@pytest.fixture(scope="module")
def high():
    return outlook(cook(altitude_m=2300.0)).items[0]


def test_203_at_2300_m_is_said_not_to_come(high):
    """Water boils at 198 degF there (standard atmosphere, steam tables)."""
    (note,) = [note for note in high.notes if "cannot come to" in note]
    assert "203 °F" in note
    assert "boils at 198 °F" in note
    assert high.failed == 0
    assert np.isfinite(high.marks["ready"].p50)


def test_at_sea_level_nothing_is_said():
    assert not [note for note in outlook(cook()).items[0].notes if "cannot come to" in note]


def test_a_pit_cooler_than_its_until_is_said():
    notes = outlook(cook(set_c=82.0, until_c=90.0)).items[0].notes
    assert any("cannot come to" in note and "run it hotter" in note for note in notes)


def test_a_pan_slows_no_cook_to_nothing_and_is_part_of_the_plan():
    plan = cook(water_pan=True)
    with_pan, without = (
        outlook(plan).items[0],
        outlook(replace(plan, pits=(replace(plan.pits[0], water_pan=False),))).items[0],
    )
    ready = with_pan.marks["ready"].p50, without.marks["ready"].p50
    assert with_pan.marks != without.marks  # ready itself is told in whole minutes of a grid
    assert ready[0] == pytest.approx(ready[1], rel=0.15)


REST = StagePlan("rest", Until("minutes", 600.0))
LEFT_ON = {
    "a butt ten hours too long": ("boston-butt", 3.6, 121.0, Until("core", 93.3), 22.0, 0.0, "too soft or too dark"),
    "a rack bare to the end": ("st-louis-ribs", 1.2, 135.0, Until("tender"), 14.0, 0.0, "too dark"),
    "a rack bare to the end, 2300 m up": ("st-louis-ribs", 1.2, 135.0, Until("tender"), 14.0, 2300.0, "too dark"),
}


@pytest.mark.parametrize("name", LEFT_ON)
def test_what_nobody_takes_off_is_told_as_it_is(name):
    """Ten below outside, put on and forgotten: numbers, no core above boiling in a butt that is wet, a word of it."""
    cut, mass_kg, set_c, until, hours, altitude_m, word = LEFT_ON[name]
    item = ItemPlan("meat", cut, 1, mass_kg, "box", START, stages=(StagePlan("open", until), REST))
    plan = Cook("edge", "UTC", None, altitude_m, -10.0, 0.5, (PitPlan("box", "kettle", set_c),), (item,))
    log = f"time,kind,on,piece,what,value,note\n{START:%Y-%m-%d %H:%M},act,meat,,put on,,"
    now = START + timedelta(hours=hours)
    done = reckoning(plan, log_from_text(log, "log", plan), now=now, members=32, seed=1)
    (told,), (run,) = done.outlook.items, done.runs
    assert told.failed == 0
    so_far = run.trace.time_s <= 3600.0 * hours
    for channel in ("core_c", "evaporated", "dripped", "colour", "gelatin_core"):
        assert np.isfinite(run.trace[channel][so_far]).all(), channel
    assert np.isfinite([told.core_c.p95, told.loss_fraction.p95, told.colour.p95]).all()
    assert told.stages[0].now == pytest.approx(1.0)
    assert told.instant(told.marks["past_best"].p50) >= now
    (window,) = told.windows
    assert window.closes_by in word
    assert window.closes_by
    if cut == "boston-butt":
        assert told.core_c.p95 <= boiling_point(pressure_isa(altitude_m)) + 0.5
    assert run.trace.loss[so_far].max() < 0.75  # all of the water of a raw piece, and no more
