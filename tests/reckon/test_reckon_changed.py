"""A pit that is another one though nobody said so: noticed by what its cooks tell, and not by one odd cook."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from tests.web.taught import FIRST, KIND, PIT, lesson

from pitreckon.lessons.house.beliefs import beliefs_of, change_line, doubts_of
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.reckon.changed import ODD, ODD_TIMES, ODDS
from pitreckon.reckon.learned import PIT_KEEPS_S, Lesson, Lessons
from pitreckon.reckon.levels import ROW

WEEK = timedelta(days=7)
STEADY = (-6.0, -5.0, -7.0, -6.0, -5.5, -6.5)


def cooks(offsets: Sequence[float], sd: float = 1.5) -> tuple[Lesson, ...]:
    """One a week, each of which told how far the grate is over others of its kind [K], and nothing else."""
    made = (lesson(f"c{n}", FIRST + n * WEEK, offset_k=each, hand=None) for n, each in enumerate(offsets))
    return tuple(replace(each, slope=each.slope[:1], value=each.value[:1], sd=np.array([sd])) for each in made)


def offset(lessons: Lessons) -> tuple[float, float]:
    (found,) = [each for each in beliefs_of(lessons) if each.what == "offset"]
    return found.mean, found.sd


def test_the_chance_is_that_of_normal_numbers_about_a_level_that_is_drawn_anew() -> None:
    told = (*STEADY[:3], 4.0, 5.0)
    house = Lessons(cooks(told))
    (change,) = house.changes
    levels = house.used[0].levels
    own, all_have = levels.own[ROW["offset"]], float(levels.loads[ROW["offset"]] @ levels.loads[ROW["offset"]])
    week = np.arange(len(told)) * WEEK.total_seconds()
    kept = np.exp(-np.abs(week[:, None] - week[None, :]) / PIT_KEEPS_S)

    def density(segment: Sequence[int], times: Sequence[float]) -> float:
        same = np.equal.outer(segment, segment)
        covariance = all_have + own**2 * kept * same + np.diag(1.5**2 * np.asarray(times))
        return float(multivariate_normal(np.zeros(len(told)), covariance).pdf(told))

    n, ones = len(told), [1.0] * len(told)
    changed = [ODDS * density([int(i >= k) for i in range(n)], ones) for k in range(1, n)]
    odd = [ODD * density([0] * n, [ODD_TIMES if i == k else 1.0 for i in range(n)]) for k in range(n)]
    all_of_it = density([0] * n, ones) + sum(changed) + sum(odd)
    assert [chance for _, chance in change.by_cook] == pytest.approx([each / all_of_it for each in changed], rel=1e-6)
    assert change.chance == pytest.approx(sum(changed) / all_of_it, rel=1e-6)


def test_a_pit_that_was_sealed_anew_is_noticed_at_its_second_cook_and_the_old_counts_for_little() -> None:
    before, after = Lessons(cooks(STEADY)), Lessons(cooks((*STEADY, 5.0, 6.5)))
    assert before.changes == ()
    (change,) = after.changes
    assert (change.pit, change.kind, change.cook) == (PIT, KIND, "c6")
    assert (change.last, change.since) == (FIRST + 5 * WEEK, FIRST + 6 * WEEK)
    new = Lessons(cooks((*STEADY, 5.0, 6.5))[6:])
    told, wished = offset(after), offset(new)
    assert told[0] == pytest.approx(wished[0], abs=1.0)
    assert told[1] > offset(before)[1], "two cooks tell less than six did"
    assert doubts_of(after) == [], "that is not for any of them to answer for"
    (belief,) = [each for each in beliefs_of(after) if each.what == "offset"]
    assert belief.cooks == ("c6", "c7")
    assert f"since {change.since:%Y-%m-%d} (c6) it runs as another pit would, " in change_line(change)


def test_leaving_out_what_told_of_it_brings_back_exactly_what_was_known() -> None:
    after, before = Lessons(cooks((*STEADY, 5.0, 6.5))), Lessons(cooks(STEADY))
    assert after.changes
    again = after.without("c7").without("c6")
    assert np.array_equal(again.among, before.among)
    assert (again.doubts, offset(again)) == (before.doubts, offset(before))


@pytest.mark.parametrize("odd_at", [2, 6, 8])
def test_one_odd_cook_is_doubted_and_no_other_pit(odd_at: int) -> None:
    told = [*STEADY, -6.0, -5.0, -6.0]
    told[odd_at] = 14.0
    house = Lessons(cooks(told))
    assert house.changes == ()
    assert [each.cook for each in doubts_of(house)] == [f"c{odd_at}"]


def test_what_somebody_says_is_believed_before_the_cooks_are() -> None:
    house = Lessons(cooks((*STEADY, 5.0, 6.5)))
    said = replace(house, same={PIT: FIRST + 8 * WEEK})
    assert said.changes == ()
    assert np.array_equal(said.among, said._if_same)
    assert offset(said)[0] < 0.0 < offset(house)[0]
    anew = replace(house, anew={PIT: FIRST + 5.5 * WEEK})
    assert anew.changes == (), "there is nothing left to notice"
    assert replace(house, same={PIT: FIRST + 5 * WEEK}).changes, "it was said of the time before"
    again = lessons_of_text(text_of_lessons(said), "house.json")
    assert again.same == said.same
    assert "same" not in text_of_lessons(house), "a file in which nobody says so is what it was"
    assert said.before(FIRST + 7 * WEEK).same == {}, "a cook knows nothing of what was said after it began"


def test_another_pit_of_the_house_stays_what_it_was() -> None:
    shed = tuple(replace(each, cook=f"s{each.cook}", pit="shed") for each in cooks(STEADY))
    house = Lessons((*cooks((*STEADY, 5.0, 6.5)), *shed))
    assert [each.pit for each in house.changes] == [PIT]
    assert house.change("shed", KIND) is None
    one, other = house.used[0], house.used[-1]
    assert house.shares(shed[0], "shed", KIND, "", FIRST + 9 * WEEK)[0] > 0.8
    assert house.shares(one, PIT, KIND, "", FIRST + 9 * WEEK)[0] < 0.1
    assert other.cook == "c7"
