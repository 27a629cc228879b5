"""What is saved in running the options is not paid for in what they say."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.cache import OptionCache
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import as_far_as_followed, cases_of, held_till_served, options_of
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.schedule.variants import variant
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


def test_no_more_of_a_hold_is_run_than_is_looked_at_and_it_says_the_same() -> None:
    """Of each item at put-ons from long before it is needed to too late, in scenarios other than those looked at."""
    amounts = amounts_of(DAY)
    cases = cases_of(DAY, amounts)
    seen, whole = (options_of(DAY, cases, 64, seed) for seed in (5, 6))
    for index, (task, own) in enumerate(zip(day_of(DAY, amounts, whole).tasks, cases, strict=True)):
        for hours in (2.0, 6.0, 9.0, 10.5, 12.0):
            case = held_till_served(own[0], seen[index][0], hours * 3600.0)
            assert case.wish.most_hold_s <= own[0].wish.most_hold_s
            ((option,),) = options_of(DAY, [[case]], 64, 6)
            put_on = np.array([-hours * 3600.0])
            cut = on_time(task, run_course(task, as_far_as_followed(case, option), put_on, ()))
            assert np.array_equal(cut, on_time(task, run_course(task, task.options[0], put_on, ())))
    butt, run = cases[1][0], seen[1][0]
    served_s = float(np.median(run.first_s)) + 0.5 * 3600.0
    short = held_till_served(butt, run, served_s)
    assert short.wish.most_hold_s < butt.wish.most_hold_s
    assert held_till_served(butt, run, served_s, {butt: run}) == butt  # what is known is not run again
    late = as_far_as_followed(short, replace(run, past_s=np.full(64, np.inf)))
    assert np.array_equal(late.past_s, run.first_s + short.wish.most_hold_s)  # what was not followed is not called good


def test_a_longer_hold_and_another_hour_ask_for_nothing_to_be_run() -> None:
    amounts = amounts_of(DAY)
    memory = OptionCache()
    known, _ = memory.of(DAY, 1, 8)
    options_of(DAY, cases_of(DAY, amounts), 8, 1, cache=known)
    longer = variant(DAY, "hold")
    assert longer is not None
    for wishes in (longer.wishes, DAY.served_later(1800.0), DAY.served_later(86400.0)):
        same, _ = memory.of(wishes, 1, 8)
        assert same is known
    asked = [case for of_item in cases_of(longer.wishes, amounts, known=known) for case in of_item]
    assert all(case in known for case in asked if case.wish.label != "thighs")  # those had none at all
    tomorrow = options_of(DAY.served_later(86400.0), cases_of(DAY, amounts), 8, 1)
    for (one,), case in zip(tomorrow, cases_of(DAY, amounts), strict=True):
        other = known[case[0]]
        assert all(np.array_equal(getattr(one, n), getattr(other, n)) for n in ("first_s", "last_s", "off_s", "past_s"))
