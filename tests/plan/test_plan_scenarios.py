"""What is saved in running the options is not paid for in what they say."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes

pytestmark = pytest.mark.kernel

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
ITEMS = (
    ItemWish("racks", "st-louis-ribs", pieces=2, mass_kg=1.2, most_hold_s=2 * 3600.0, hold_c=65.0),
    ItemWish("butt", "boston-butt", pieces=1, mass_kg=2.5, most_hold_s=3.5 * 3600.0, hold_c=65.0),
    ItemWish("thighs", "chicken-thigh", pieces=4, mass_kg=0.17, most_hold_s=0.0),
)
DAY = Wishes("day", "UTC", SERVE, (PitWish("box", "pellet-cooker", (135.0,)),), ITEMS)


def day(*, coarse: bool = False, tries_holds: bool = False) -> Day:
    amounts = amounts_of(DAY)
    cases = cases_of(DAY, amounts, tries_holds=tries_holds)
    return day_of(DAY, amounts, options_of(DAY, cases, 64, 5, coarse=coarse))


@pytest.fixture(scope="module")
def fine() -> Day:
    return day()


def shares(of: Day) -> list[np.ndarray]:
    """In which scenarios each item is on time, of put-ons an hour apart."""
    out = []
    for task in of.tasks:
        (option,) = task.options
        put_on = -np.arange(1.0, 16.0) * 3600.0
        out.append(on_time(task, run_course(task, option, put_on, ())))
    return out


def test_a_hold_that_is_run_longer_says_the_same(fine: Day) -> None:
    for short, long in zip(shares(fine), shares(day(tries_holds=True)), strict=True):
        assert np.array_equal(short, long)
        assert short.any()
        assert not short.all()


def test_steps_of_twice_the_time_are_minutes_off(fine: Day) -> None:
    for task, other in zip(fine.tasks, day(coarse=True).tasks, strict=True):
        (one,), (two,) = task.options, other.options
        off_s = two.last_s - one.last_s
        assert np.array_equal(one.done, two.done)
        assert abs(float(np.median(off_s))) <= 240.0
        assert float(np.abs(off_s).max()) <= 900.0
        assert np.abs(off_s).max() > 0.0  # it is another run
    for task_ok, other_ok in zip(shares(fine), shares(day(coarse=True)), strict=True):
        assert np.abs(task_ok.mean(axis=1) - other_ok.mean(axis=1)).max() <= 0.08


def test_an_option_is_the_same_whatever_runs_beside_it(fine: Day) -> None:
    amounts = amounts_of(DAY)
    cases = cases_of(DAY, amounts)
    backwards = options_of(DAY, cases[::-1], 64, 5, threads=1)[::-1]
    for task, (option,) in zip(fine.tasks, backwards, strict=True):
        assert np.array_equal(task.options[0].last_s, option.last_s)
        assert np.array_equal(task.options[0].past_s, option.past_s)
