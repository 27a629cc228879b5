"""Far from the usual: high up, in the cold, with an until that cannot come."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from supper import START

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.reckon import reckon

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
