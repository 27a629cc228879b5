"""What a house believes after five cooks is as sure as it ought to be: drawn houses, and a fast cut of the real chain.

Most of it is done on straight lines: lessons whose lines are drawn from the truth, without the kernel, so that a
hundred houses take seconds and the tests can tell a belief whose errors are taken for too small.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.stats import chi2
from validation.calibration import uniform_p
from validation.chained import (
    COOKS,
    CUTS,
    HANDS,
    KIND,
    PIT,
    WHO,
    House,
    a_cook,
    begins,
    believed,
    chain,
    draw_houses,
    of_hands,
)
from validation.histograms import histograms

from pitreckon.ledger import Ledger
from pitreckon.reckon.draws import stream
from pitreckon.reckon.hands import THERMOMETER, HandTold, usual
from pitreckon.reckon.learned import Lesson, Lessons
from pitreckon.reckon.levels import ROW, UNKNOWNS
from pitreckon.reckon.prepare import Track, tracks_of

HOUSES = 120
LINES = (("offset", 1.0, 1.5), ("gelatin", 1.0, 0.08), ("colour", 1.0, 0.1), ("convection", 1.0, 0.2))
"""What each cook tells of straight: the unknown, its slope, and the error of that."""


@cache
def tracks() -> tuple[Track, ...]:
    cooks = [a_cook(n) for n in range(COOKS + 1)]
    return tuple(tracks_of(each, each.items[0], Ledger(), each.items[0].put_on_utc, 1)[0] for each in cooks)


@cache
def houses() -> House:
    return draw_houses([each.levels for each in tracks()], CUTS, HOUSES, stream(3, "houses of lines"))


@cache
def learned(i: int) -> Lessons:
    """Five lessons of house ``i``, each of a few straight lines and of those who looked."""
    rng = stream(4, f"lines {i}")
    house, found = houses(), []
    for n, track in enumerate(tracks()[:COOKS]):
        levels = track.levels
        off = levels.sd * (levels.mix @ house.w[n, :, i])
        slope = np.zeros((len(LINES), len(UNKNOWNS)))
        for row, (name, size, _) in enumerate(LINES):
            slope[row, ROW[name]] = size
        sd = np.array([each[2] for each in LINES])
        errors = {what: 2.0 * usual(what).sd for what in HANDS}
        hands = tuple(
            HandTold(WHO, what, float(house.bias[what][n, i] + error * rng.standard_normal()), error)
            for what, error in errors.items()
        )
        found.append(
            Lesson(
                *(f"cook {n}", "meat", None, begins(n), track.cut.key, PIT, KIND, "foil", False, False, 9),
                *(slope, slope @ off + sd * rng.standard_normal(sd.size), sd, WHO, hands),
            )
        )
    return Lessons(tuple(found))


def chances(of: Callable[[Lessons], Lessons]) -> dict[str, np.ndarray]:
    """Chances below the truth of the sixth cook, with lessons that were changed in some way."""
    found: dict[str, list[float]] = {}
    # The same for every house: unless a pit changed, it hangs on when and on what, not on what was told.
    if_same = learned(0)._if_same
    for i in range(HOUSES):
        lessons = of(learned(i))
        lessons.__dict__["_if_same"] = if_same
        each = believed(lessons, tracks()[COOKS], houses().w[COOKS, :, i])
        each |= of_hands(lessons, {what: float(houses().bias[what][COOKS, i]) for what in HANDS})
        for name, chance in each.items():
            found.setdefault(name, []).append(chance)
    return {name: np.array(each) for name, each in found.items()}


def test_levels_are_drawn_as_the_lessons_have_them_in_common() -> None:
    """Covariance of what is drawn for two cooks against ``Lessons.among``, entry by entry, within chance."""
    many = 6_000
    drawn = draw_houses([each.levels for each in tracks()[:3]], CUTS[:3], many, np.random.default_rng(1))
    found = drawn.w[0] @ drawn.w[2].T / many
    a, b = (replace(learned(0).lessons[n], at_utc=begins(n)) for n in (0, 2))
    wanted = Lessons((a, b)).among[0, 1]
    assert np.abs(found - wanted).max() < 5.0 / np.sqrt(many)
    assert np.abs(drawn.w[0] @ drawn.w[0].T / many - np.eye(len(UNKNOWNS))).max() < 5.0 * np.sqrt(2.0 / many)


def test_what_straight_lessons_add_up_to_is_as_sure_as_it_ought_to_be() -> None:
    """Holm over all levels and hands, at one in a hundred; and the spread of what was learned, in one number."""
    found = chances(lambda lessons: lessons)
    p = {name: uniform_p(each) for name, each in found.items()}
    assert min(p.values()) * len(p) > 0.01, sorted(p.items(), key=lambda each: each[1])[:3]


@pytest.mark.parametrize(
    ("wrong", "shows"),
    [
        ("lines", ("direction 1", "together")),
        ("hands", (f"hand, {THERMOMETER}",)),
    ],
)
def test_a_chain_that_is_too_sure_is_found_out(wrong: str, shows: tuple[str, ...]) -> None:
    """Errors of lines, or of what was told of hands, that are too small."""

    def change(lessons: Lessons) -> Lessons:
        if wrong == "lines":
            return Lessons(tuple(replace(each, sd=0.4 * each.sd) for each in lessons.lessons))
        sure = [
            replace(each, hands=tuple(replace(hand, sd=0.2 * hand.sd) for hand in each.hands))
            for each in lessons.lessons
        ]
        return Lessons(tuple(sure))

    found = chances(change)
    assert min(uniform_p(found[name]) for name in shows) < 0.001


@pytest.mark.kernel
def test_the_chain_itself_is_not_too_sure() -> None:
    """Squared departures of a few houses, together: a chain twice too sure has four times as much."""
    found = chain(6, 64, 5).of
    square = sum(float(chi2.isf(1.0 - abs(2.0 * each - 1.0), 1)) for name in SURE for each in found[name])
    assert square < float(chi2.isf(0.001, 6 * len(SURE)))
    assert 0 < np.mean((found["tender"] > 0.05) & (found["tender"] < 0.95)) <= 1.0
    drawn = histograms({name: found[name] for name in ("offset", "tender")}, 8)
    assert drawn.count("<text") == 2


SURE = ("offset", "gelatin", "hand, colour", f"hand, {THERMOMETER}")
