"""A colour that was tapped and measured tells of the hand by what the two differ, once, and of that hand alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats
from tests.reckon.supper import air, at, cook, put_on, racks

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Ledger, Look
from pitreckon.ledger.bothways import BothWays, tapped_and_measured
from pitreckon.lessons.house.beliefs import beliefs_of
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.lessons.house.hands import hands_known
from pitreckon.reckon import reckon
from pitreckon.reckon.beside import PHOTO, Seen, hands_told
from pitreckon.reckon.hands import told
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.update import LinearObs

TAPPED = LOOK_KINDS["colour"].errors
MEASURED = LOOK_KINDS[PHOTO].errors
OWN = TAPPED.each**2 + TAPPED.rounded**2
"""Variance of a tap, the bias apart."""
SD = 0.1
"""Of a photo, as its text has it."""


def tap(minutes, level=0.8, by="Ana", piece=None):
    return Look(at(minutes), "racks", piece, "colour", level, by=by)


def photo(minutes, level=0.8, piece=None):
    return Look(at(minutes), "racks", piece, PHOTO, level, f"{level} ± {SD}", by="Cleo")


def seen_of(looks, slope, off):
    """Lines as the update has them. slope: of each look's colour; off: seen less foretold"""
    whose = tuple((look.by, look.kind) if look.kind == "colour" else None for look in looks)
    covariance = np.diag([OWN if look.by != "Cleo" else MEASURED.of_each(look.text) ** 2 for look in looks])
    for i, one in enumerate(whose):
        for j, other in enumerate(whose):
            if one == other:
                covariance[i, j] += MEASURED.shared**2 if one is None else TAPPED.shared**2
    return Seen(LinearObs(np.asarray(slope, float), np.asarray(off, float), covariance), tuple(looks), whose)


def paired(n, apart=20):
    return [each for i in range(n) for each in (tap(apart * i), photo(apart * i + 1))]


def pairs_of(looks):
    return tapped_and_measured(Ledger.of(looks))


@pytest.mark.parametrize("n", [1, 4])
def test_a_known_bias_is_told_as_a_normal_prior_and_normal_differences_have_it(n):
    """Of n differences with one error of their own and one that all share the mean has own²/n + shared² (a textbook's,
    from memory); what the model thought of the colour is of no matter.
    """
    looks, own_sd = paired(n), MEASURED.of_each(f"0.8 ± {SD}")
    error = np.sqrt((OWN + own_sd**2) / n + MEASURED.shared**2)
    left = 1.0 / np.sqrt(1.0 / error**2 + 1.0 / TAPPED.shared**2)
    rng, z = np.random.default_rng(n), []
    for draw in range(600):
        bias, shared = rng.normal(0.0, TAPPED.shared), rng.normal(0.0, MEASURED.shared)
        taps, photos = rng.normal(bias, np.sqrt(OWN), n), rng.normal(shared, own_sd, n)
        seen = seen_of(looks, np.full((2 * n, 1), 0.2), np.column_stack((taps, photos)).ravel() + draw % 2)
        (found,) = hands_told(seen, [seen], pairs_of(looks))
        assert found.value == pytest.approx(np.mean(taps - photos), abs=1e-9)
        if found.sd == pytest.approx(error):
            mean = found.value / error**2 * left**2
            z.append((bias - mean) / left)
    assert len(z) > 0.9 * 600, "a few are doubted, as by chance"
    assert stats.kstest(z, "norm").pvalue > 0.001
    quiet = seen_of(looks, np.full((2 * n, 1), 0.2), np.zeros(2 * n))
    (found,) = hands_told(quiet, [quiet], pairs_of(looks))
    assert (found.by, found.kind, found.beside) == ("Ana", "colour", n)
    assert found.sd == pytest.approx(error, rel=1e-9)


def test_where_nothing_was_known_of_the_colour_the_update_had_told_the_same():
    """So a pair that was added to what the lines tell would be counted twice: it takes their place."""
    looks = paired(3)
    slope = np.kron(1e3 * np.eye(3), [[1.0], [1.0]])
    seen = seen_of(looks, slope, [0.2, 0.1, 0.3, 0.15, 0.1, 0.0])
    (beside,) = hands_told(seen, [seen], pairs_of(looks))
    (lines,) = told(seen.whose, seen.lines.slope, seen.lines.innovation, seen.lines.covariance)
    assert beside.value == pytest.approx(lines.value, rel=1e-4)
    assert beside.sd == pytest.approx(lines.sd, rel=1e-4)
    # And where the model thought it knew, and was wrong, the difference stays what it was.
    sure = seen_of(looks, 0.01 * slope / 1e3, seen.lines.innovation + 0.4)
    (again,) = hands_told(sure, [sure], pairs_of(looks))
    (misled,) = told(sure.whose, sure.lines.slope, sure.lines.innovation, sure.lines.covariance)
    assert again.value == pytest.approx(beside.value)
    assert misled.value > beside.value + 0.1


def test_taps_without_a_photo_go_on_telling_and_other_people_are_as_they_were():
    looks = [*paired(1), tap(70), tap(90, by="Ben")]
    seen = seen_of(looks, 0.2 * np.ones((4, 1)), [0.1, 0.0, 0.1, -0.1])
    ana, ben = hands_told(seen, [seen], pairs_of(looks))
    without = told(seen.whose, seen.lines.slope, seen.lines.innovation, seen.lines.covariance)
    assert [ben] == [each for each in without if each.by == "Ben"]
    alone = seen_of(looks[:2], 0.2 * np.ones((2, 1)), [0.1, 0.0])
    (pair,) = hands_told(alone, [alone], pairs_of(looks))
    assert ana.sd < pair.sd
    assert (ana.beside, ben.beside) == (1, 0)
    # Nobody tapped beside a photo, or nobody knows who did: as before.
    assert hands_told(seen, [seen], ()) == without
    nameless = replace(seen, whose=tuple(each and ("", each[1]) for each in seen.whose))
    assert hands_told(nameless, [nameless], pairs_of([replace(look, by="") for look in looks])) == ()


def test_two_who_tapped_beside_photos_are_told_apart():
    looks = [tap(0), photo(1), tap(30, by="Ben"), photo(31), tap(32, by="Ben")]
    seen = seen_of(looks, 0.2 * np.ones((5, 1)), [0.12, 0.0, -0.08, 0.0, -0.08])
    ana, ben = hands_told(seen, [seen], pairs_of(looks))
    assert (ana.by, ben.by) == ("Ana", "Ben")
    assert (ana.beside, ben.beside) == (1, 1), "Ben tapped twice beside one photo"
    assert ana.value == pytest.approx(0.12, abs=0.04)
    assert ben.value == pytest.approx(-0.08, abs=0.04)
    both = (MEASURED.of_each(f"0.8 ± {SD}") ** 2) + MEASURED.shared**2
    assert ben.sd > np.sqrt(both + OWN / 2.0) * 0.95, "a photo's error does not shrink with the taps beside it"


def test_pairs_of_other_pieces_count_once_whichever_piece_is_asked():
    """Two racks, each tapped and measured: what photos of a cook share does not shrink with their number."""
    one, two = [tap(0, piece=1), photo(1, piece=1)], [tap(0, piece=2), photo(1, piece=2)]
    first, second = (seen_of(looks, [[0.2], [0.2]], off) for looks, off in ((one, [0.1, 0.0]), (two, [0.2, 0.0])))
    pairs = pairs_of([*one, *two])
    told_by = [hands_told(own, [first, second], pairs) for own in (first, second)]
    assert told_by[0][0].value == pytest.approx(told_by[1][0].value) == pytest.approx(0.15)
    error = (OWN + MEASURED.of_each(f"0.8 ± {SD}") ** 2) / 2.0 + MEASURED.shared**2
    assert told_by[0][0].sd ** 2 == pytest.approx(error)
    assert told_by[0][0].beside == 2
    # A look that names no piece is among the lines of both.
    both = [seen_of(paired_looks, [[0.2], [0.2]], [0.1, 0.0]) for paired_looks in [paired(1)]] * 2
    (once,) = hands_told(both[0], both, pairs_of(both[0].looks))
    (alone,) = hands_told(both[0], both[:1], pairs_of(both[0].looks))
    assert once == alone


def test_a_pair_of_which_a_look_was_set_aside_tells_nothing():
    looks = paired(1)
    seen = seen_of(looks[:1], [[0.2]], [0.1])
    pair = BothWays(looks[0], looks[1], timedelta(minutes=1))
    assert hands_told(seen, [seen], [pair]) == told(
        seen.whose, seen.lines.slope, seen.lines.innovation, seen.lines.covariance
    )


def cooked(*looks):
    ledger = Ledger.of([put_on("racks"), *air(135.0, 0, 110), *looks])
    return Lessons(learn(cook(racks(), set_c=135.0), ledger, "sunday", members=128))


@pytest.mark.kernel
def test_what_the_colour_did_in_between_is_the_members():
    """The same level tapped and measured nine minutes apart: whoever tapped first sees darker, the colour went on."""
    first, together, last = (cooked(tap(60), photo(60 + minutes)) for minutes in (9, 0, -9))
    ((darker,), (same,), (paler,)) = (house.lessons[0].hands for house in (first, together, last))
    assert same.value == pytest.approx(0.0, abs=1e-9)
    assert darker.value > 0.05
    assert paler.value < -0.05
    assert darker.sd > same.sd
    # Such a cook may tell nothing worth a line of the meat, and is a lesson all the same.
    assert last.lessons[0].value.size == 0
    again = lessons_of_text(text_of_lessons(last), "house")
    assert again.lessons[0].hands == (paler,)
    assert beliefs_of(again) == []
    soon = replace(again.lessons[0], at_utc=at(-600), hands=(replace(paler, value=-0.4, sd=0.05),))
    ledger = Ledger.of([put_on("racks"), *air(135.0, 0, 60), tap(58, 0.3), tap(60, 0.3)])

    def colour(lessons):
        plan = cook(racks(), set_c=135.0)
        return reckon(plan, ledger, now=at(60), members=128, lessons=lessons).item("racks").colour.p50

    assert colour(Lessons((soon,))) > colour(None) + 0.02, "one who sees paler means a darker colour"


@pytest.mark.kernel
def test_a_cook_with_photos_teaches_a_hand_and_odd_pairs_teach_none():
    def colour(house):
        return next(each for lesson in house.lessons for each in lesson.hands if each.kind == "colour")

    taps = (tap(60, 0.8), tap(90, 1.0))
    house = cooked(*taps, photo(62, 0.5), photo(91, 0.7))
    ana = colour(house)
    assert (ana.by, ana.beside) == ("Ana", 2)
    assert 0.3 < ana.value < 0.33, "two minutes are a little colour, by the members"
    assert "photo" not in {each.by for lesson in house.lessons for each in lesson.hands}
    assert {each.by for lesson in house.lessons for each in lesson.hands} == {"Ana"}, "Cleo only took the photos"
    text = text_of_lessons(house)
    assert lessons_of_text(text, "house").lessons[0].hands == house.lessons[0].hands
    assert '"beside": 2' in text
    (belief,) = hands_known(house, at(200))
    assert belief.words.startswith("beside 2 photos sees colour ")
    assert "of a swatch darker, give or take" in belief.words
    assert hands_known(house.without("sunday"), at(200)) == []
    # An hour later, or of another piece: no pair, and the file is as it was before there were any.
    for other in (cooked(*taps, photo(150, 0.5)), cooked(*taps, photo(62, 0.5, piece=2)), cooked(*taps)):
        assert all(each.beside == 0 for lesson in other.lessons for each in lesson.hands)
        assert "beside" not in text_of_lessons(other)
