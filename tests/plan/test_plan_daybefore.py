"""Cooked the day before: planned to that evening, cooled and reheated by the rules, on one timetable with the rest."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.changes import rough_chance
from pitreckon.plan.schedule.daybefore import can_be_cooked_before, cooked_before
from pitreckon.plan.schedule.infeasible import Trial
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes

SERVE = datetime(2026, 6, 20, 16, tzinfo=UTC)  # 11:00 in Chicago
BOX = PitWish("box", "pellet-cooker", (135.0,))
BUTT = ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.0, most_hold_s=2 * 3600.0)
DAY = Wishes("lunch at eleven", "America/Chicago", SERVE, (BOX,), (BUTT,), chance=0.9)


def test_it_is_for_meat_that_keeps_and_for_days_that_have_the_evening() -> None:
    assert can_be_cooked_before(DAY, 0)
    thighs = ItemWish("thighs", "chicken-thigh", pieces=4, mass_kg=0.17)
    assert not can_be_cooked_before(Wishes("d", "UTC", SERVE, (BOX,), (thighs,)), 0)
    late = Wishes("d", "America/Chicago", SERVE, (BOX,), (BUTT,), earliest_utc=SERVE - timedelta(hours=6))
    assert not can_be_cooked_before(late, 0)


@pytest.mark.kernel
def test_cooling_and_reheating_stand_on_the_timetable() -> None:
    """FDA Food Code 3-501.14(A): 135 to 70 F within 2 h, to 41 F in 6 h; 3-403.11, from memory: 165 F within 2 h."""
    before = cooked_before(DAY, 0)
    cool, reheat = before.tasks
    assert cool.at_utc == datetime(2026, 6, 20, 2, tzinfo=UTC)  # 21:00 the day before
    assert before.served_at(before.items[0]) == cool.at_utc
    for words in ("135 to 70 °F within 2 h", "41 °F within 6 h"):
        assert words in cool.do
    assert "165 °F" in reheat.do
    assert SERVE - timedelta(hours=3) < reheat.at_utc < SERVE - timedelta(hours=2)
    trial = Trial(24, 1, 1)
    assert rough_chance(trial.day(before, amounts_of(before))) > 0.0
    best = plan(before, members=24, explain=False).best
    assert best is not None
    (item,) = best.items
    assert item.put_on_utc < item.ready.p50 <= cool.at_utc
    told = [(trip.at_utc, call.words) for trip in best.trips for call in trip.calls if call.act == "do"]
    assert not [call for call in best.calls if call.act == "serve" and call.on == "butt"]  # it is cooled, not served
    assert told == [(cool.at_utc, cool.do), (reheat.at_utc, reheat.do)]
