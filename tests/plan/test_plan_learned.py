"""A day is planned with what the house has learned."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from pitreckon import catalog
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.cache import conditions
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes
from pitreckon.reckon.learned import Lesson, Lessons
from pitreckon.reckon.levels import ROW, UNKNOWNS, levels_of

pytestmark = pytest.mark.kernel

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
RACKS = ItemWish("racks", "st-louis-ribs", pieces=2, mass_kg=1.2, most_hold_s=0.0)
DAY = Wishes("day", "UTC", SERVE, (PitWish("box", "pellet-cooker", (135.0,)),), (RACKS,))


def grate(offset_k: float, cook: str = "spring", days: int = 30) -> Lesson:
    """A cook that told how far the grate is over the gauge, give or take a degree."""
    slope = np.zeros((1, len(UNKNOWNS)))
    slope[0, ROW["offset"]] = 1.0
    where = ("racks", None, SERVE - timedelta(days=days), "st-louis-ribs", "box", "pellet-cooker", "foil")
    return Lesson(cook, *where, False, True, 3, slope, np.array([offset_k]), np.array([1.0]))


def hours(lessons: Lessons | None) -> np.ndarray:
    """Until the last of them is ready, in each scenario."""
    wishes = replace(DAY, learned=lessons)
    ((option,),) = options_of(wishes, cases_of(wishes, amounts_of(wishes)), 64, 5)
    return option.last_s / 3600.0


def test_a_hot_grate_is_planned_for_and_nothing_learned_changes_nothing():
    today = hours(None)
    assert np.array_equal(hours(Lessons()), today)
    hot, cold = hours(Lessons((grate(12.0),))), hours(Lessons((grate(-12.0),)))
    assert np.median(hot) < np.median(today) - 0.1
    assert np.median(cold) > np.median(today) + 0.1
    assert np.std(np.log(hot)) < np.std(np.log(today))
    assert np.array_equal(hours(Lessons((grate(12.0, days=-3),))), today)  # a cook of after that day


def test_what_was_run_for_one_house_is_not_taken_for_another():
    one, two = (replace(DAY, learned=Lessons((grate(each),))) for each in (12.0, -12.0))
    assert len({conditions(wishes) for wishes in (DAY, one, two)}) == 3


def test_the_members_that_a_house_has_taught_are_those_of_the_posterior():
    """Mean and covariance of a normal prior after a linear observation, in closed form (Kalman 1960, from memory)."""
    lessons = Lessons((grate(9.0), grate(5.0, "summer", 10)))
    levels = levels_of(catalog.cut("st-louis-ribs"), catalog.pit("pellet-cooker"), "foil", measured=False, many=True)
    place = ("box", "pellet-cooker", "st-louis-ribs", SERVE)
    z = np.random.default_rng(3).standard_normal((len(UNKNOWNS), 200_000))
    got = lessons.taught(z, levels, place)
    says = lessons.says(levels, place)
    covariance = np.linalg.inv(np.eye(len(UNKNOWNS)) + says.precision)
    assert np.abs(got.mean(axis=1) - covariance @ says.vector).max() < 0.01
    assert np.abs(np.cov(got) - covariance).max() < 0.02
    assert np.diag(covariance).min() < 0.8  # something was learned
