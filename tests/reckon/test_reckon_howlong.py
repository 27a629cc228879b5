"""What a finished cook is taken to tell: how long it took, over what was foretold, and how far its pit is off."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import multivariate_t
from tests.reckon.supper import START, cook, racks

from pitreckon import catalog
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.lessons.house.beliefs import beliefs_of, strays_words
from pitreckon.reckon import reckon
from pitreckon.reckon.howlong import _without_prior
from pitreckon.reckon.learned import ASTRAY, HOW_LONG, OF_MISFIT, SURE, Lesson, Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import ROW, UNKNOWNS

LATER = timedelta(days=14)
OFTEN = 8
CUTS = ("st-louis-ribs", "boston-butt", "brisket-flat")


def log(tender_h: float) -> Ledger:
    """Racks in foil that slide at an hour, the pit as it is set."""
    at = [START + timedelta(hours=h) for h in (1.6, tender_h - 0.6, tender_h)]
    spots = zip((0.8, 1.3, 1.8), (62.0, 73.0, 84.0) if tender_h < 3.0 else (48.0, 60.0, 69.0), strict=True)
    return Ledger.of(
        [
            Act(START, "racks", "put on"),
            *(Reading(START + timedelta(hours=h / 4), "pit air", "drum", None, 135.0) for h in range(16)),
            Act(at[0], "racks", "wrapped", "foil"),
            *(Look(START + timedelta(hours=h), "racks", None, "spot temperature", value) for h, value in spots),
            Look(at[1], "racks", None, "probe feel", 0.78, "some drag"),
            Look(at[2], "racks", None, "probe feel", 1.0, "slides in"),
            Act(at[2], "racks", "took off"),
        ]
    )


def took(value: float, days: float, cook_name: str, sd: float = 0.05) -> Lesson:
    """Racks that took so much longer than foretold, by the logarithm, as their thickness would have it."""
    slope = np.zeros((1, len(UNKNOWNS)))
    slope[0, ROW["scale"]] = 1.6
    return Lesson(
        *(cook_name, "racks", None, START + timedelta(days=days), "st-louis-ribs", "drum", "upright-drum", "foil"),
        *(False, True, 9, slope, np.array([value]), np.array([sd])),
        what=(HOW_LONG,),
    )


@pytest.fixture(scope="module")
def plan():
    return cook(racks(), set_c=135.0)


@pytest.mark.kernel
def test_racks_that_take_longer_every_time_are_foretold_to_take_longer(plan):
    told = {}
    for tender_h in (2.5, 3.9):
        (once,) = learn(plan, log(tender_h), "once", members=128)
        assert once.what[0] == HOW_LONG
        again = [replace(once, cook=f"cook {n}", at_utc=once.at_utc + timedelta(days=n)) for n in range(5)]
        told[tender_h] = Lessons().plus(again)
    quick, slow = (
        reckon(_later(plan), members=128, lessons=each).item("racks").marks["tender"] for each in told.values()
    )
    assert slow.p50 > quick.p50 + 600.0
    lines = [next(each.line for each in beliefs_of(each_way) if each.what == HOW_LONG) for each_way in told.values()]
    assert "less long here than is foretold elsewhere" in lines[0]
    assert "longer here than is foretold elsewhere" in lines[1]
    assert "from 5 cooks" in lines[1]


@pytest.mark.kernel
def test_windows_are_as_much_wider_as_the_cooks_of_a_house_stray(plan):
    astray = Lessons(tuple(took((-1) ** n * 0.6, n, f"cook {n}") for n in range(OFTEN)))
    near = Lessons(tuple(took((-1) ** n * 0.01, n, f"cook {n}") for n in range(OFTEN)))
    assert near.strays < 0.9
    assert astray.strays > 1.1
    assert "windows are" in strays_words(astray)
    assert "wider" in strays_words(astray)
    assert "narrower" in strays_words(near)
    assert strays_words(Lessons()) == ""
    (steady,) = [each.line for each in beliefs_of(near) if each.what == HOW_LONG]
    assert "takes as long here as is foretold elsewhere, give or take" in steady
    wide, usual, narrow = (
        reckon(_later(plan), members=256, lessons=each).item("racks").marks["tender"] for each in (astray, None, near)
    )
    assert wide.p95 - wide.p05 > 1.1 * (usual.p95 - usual.p05)
    assert narrow.p95 - narrow.p05 < 0.9 * (usual.p95 - usual.p05)


def test_how_far_a_house_strays_is_what_a_multivariate_t_has_for_the_next():
    """The scale of one more number, given some of a multivariate t: by ratio of densities, with scipy."""
    house = Lessons(tuple(took(value, 40.0 * n, f"cook {n}") for n, value in enumerate((0.1, -0.05, 0.2))))
    slope = np.stack([each.line.slope[0] for each in house.used])
    signal = np.array(
        [[one @ house.among[i, j] @ other for j, other in enumerate(slope)] for i, one in enumerate(slope)]
    )
    shape = signal + np.diag([each.sd[0] ** 2 + OF_MISFIT * ASTRAY**2 for each in house.used])
    y = np.array([each.value[0] for each in house.used])
    assert house.doubts == (1.0, 1.0, 1.0)
    # One more, independent of them and of variance one: its conditional density falls off as a t with this scale.
    joint = np.block([[shape, np.zeros((3, 1))], [np.zeros((1, 3)), np.ones((1, 1))]])
    density = multivariate_t(shape=joint, df=SURE)
    step = 1e-2
    falls = density.logpdf([*y, step]) - density.logpdf([*y, 0.0])
    n = SURE + y.size
    scale2 = step**2 / (n * np.expm1(-2.0 * falls / (n + 1.0)))
    assert house.strays**2 == pytest.approx(scale2, rel=1e-4)


def test_three_meats_of_one_cook_are_one_cook():
    alone = Lessons((took(0.0, 0.0, "one"),))
    three = Lessons(tuple(replace(took(0.0, 0.0, "one"), item=f"racks {n}", cut=cut) for n, cut in enumerate(CUTS)))
    assert three.strays == pytest.approx(alone.strays, abs=0.003)
    assert Lessons(tuple(took(0.0, n, f"cook {n}") for n in range(3))).strays < alone.strays - 0.05


def test_what_was_seen_alone_and_the_prior_give_back_both():
    alone = _without_prior(-0.06, 0.004, 0.01, 0.6)
    assert alone is not None
    value, variance = alone
    together = 1.0 / (1.0 / variance + 1.0 / 0.01)
    assert together == pytest.approx(0.004)
    assert together * value / variance == pytest.approx(-0.06)
    assert _without_prior(0.0, 0.0061, 0.01, 0.6) is None


def test_the_same_time_told_by_a_thermometer_is_believed_more_than_by_the_meat():
    line = took(0.1, 0.0, "cook")
    assert line.line.covariance[0, 0] == pytest.approx(0.05**2 + ASTRAY**2)
    offset = catalog.pit("upright-drum").air.offset_k.spread
    slope = np.eye(len(UNKNOWNS))[[ROW["offset"]] * 2]
    both = replace(line, slope=slope, value=np.array([5.0, 5.0]), sd=np.array([2.0, 2.0]), what=("offset", "grate"))
    by_meat, by_grate = np.diag(both.line.covariance)
    assert by_meat > 2.0 * by_grate > 0.0
    assert offset > 0.0


def _later(plan):
    items = tuple(replace(item, put_on_utc=item.put_on_utc + LATER) for item in plan.items)
    return replace(plan, items=items, serve_utc=plan.serve_utc and plan.serve_utc + LATER)
