"""How well what was told fits each cause: densities that are densities, and what rules a cause out.

The oracle is arithmetic: whatever its place and spread, a density makes 1 in all; the normal one is SciPy's.
"""

from __future__ import annotations

from dataclasses import asdict, fields, replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from pitreckon import catalog
from pitreckon.lessons.diagnosis.causes import causes
from pitreckon.lessons.diagnosis.likelihood import FLOOR, could_be, report_likelihood
from pitreckon.lessons.diagnosis.practice import LIQUID_SHARE, SALT_G_PER_KG, Right, usual_set_c
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.lessons.diagnosis.run import Plates

RIBS = catalog.cut("st-louis-ribs")
TOUGH = Report("st-louis-ribs", ("tough",))
HOUR = 3600.0
RIGHT_DONE_S = 5.0 * HOUR
RIGHT_COLOUR_S = 3.0 * HOUR


def plates(n: int = 1, **known: float) -> Plates:
    return Plates(**{each.name: np.full(n, known.get(each.name, np.nan)) for each in fields(Plates)})


def right(n: int = 1) -> Right:
    return Right(np.full(n, RIGHT_COLOUR_S), np.full(n, RIGHT_DONE_S), np.full(n, 93.0))


def likelihood(cause: str, report: Report | SimpleNamespace, **known: float) -> float:
    (value,) = report_likelihood(cause, RIBS, report, right(), plates(**known))  # type: ignore[arg-type]
    return float(value)


def test_nothing_told_speaks_for_nothing() -> None:
    assert [likelihood(cause, TOUGH) for cause in causes()] == [1.0] * len(causes())


def test_every_member_has_its_own() -> None:
    both = Right(np.array([1.0, 3.0]) * HOUR, np.full(2, RIGHT_DONE_S), np.full(2, 93.0))
    got = report_likelihood("wrapped early", RIBS, replace(TOUGH, wrapped_after_s=HOUR), both, plates(2))
    assert got.shape == (2,)
    assert got[1] > 3.0 * got[0]


@pytest.mark.parametrize("cause", ["off early", "off late", "wrapped early", "salt heavy", "set high", "plain"])
@pytest.mark.parametrize("part", ["on_s", "wrapped_after_s", "salt_g_per_kg", "set_c"])
def test_each_is_a_density(part: str, cause: str) -> None:
    """Over all that could have been told it makes 1, less the floor that lies under it."""
    places = np.linspace(-2.5, 2.5, 401)
    middle = {"on_s": RIGHT_DONE_S, "wrapped_after_s": RIGHT_COLOUR_S, "salt_g_per_kg": SALT_G_PER_KG}
    floor = FLOOR
    if part == "set_c":
        places, floor = np.linspace(-120.0, 120.0, 401), 0.001
        told = usual_set_c(RIBS) + places
    else:
        told = middle[part] * np.exp(places)
    # A report refuses what nobody can have done; the density goes on beyond it.
    found = [likelihood(cause, SimpleNamespace(**asdict(TOUGH) | {part: float(value)})) - floor for value in told]
    assert np.trapezoid(found, places) == pytest.approx(1.0, abs=0.03)
    assert min(found) > -1e-12


def test_who_is_not_about_it_tells_it_normally() -> None:
    for later in (0.5, 1.0, 1.3):
        got = likelihood("dirty smoke", replace(TOUGH, wrapped_after_s=later * RIGHT_COLOUR_S))
        assert got == pytest.approx(norm.pdf(np.log(later), scale=0.25) + FLOOR)


@pytest.mark.parametrize(
    ("cause", "told"),
    [
        ("wrapped early", {"wrapped_after_s": HOUR}),
        ("wrapped late", {"wrapped_after_s": 5.5 * HOUR}),
        ("off early", {"on_s": 3.6 * HOUR}),
        ("off late", {"on_s": 7.8 * HOUR}),
        ("set high", {"set_c": 165.0}),
        ("set low", {"set_c": 95.0}),
        ("sugar early", {"on_s": 5.5 * HOUR, "sauced_s": 1.5 * HOUR}),
        ("wet wrap", {"liquid_kg": 5.0 * LIQUID_SHARE * RIBS.shape.mass_kg.value}),
        ("salt heavy", {"salt_g_per_kg": 21.0}),
        ("off early", {"pulled_at_c": 80.0}),
    ],
)
def test_what_was_told_speaks_for_its_cause(cause: str, told: dict[str, float]) -> None:
    got = {each: likelihood(each, replace(TOUGH, **told), read_c=93.0) for each in causes()}
    assert max(got, key=lambda each: got[each]) == cause


def test_what_rules_a_cause_out() -> None:
    bare = replace(TOUGH, wrap="none")
    assert could_be("wrapped early", RIBS, TOUGH) == 1.0
    assert could_be("wrapped early", RIBS, bare) == could_be("wet wrap", RIBS, bare) == 0.0
    wings = catalog.cut("chicken-wing")
    assert could_be("wrapped late", wings, Report("chicken-wing", ("dry",))) == 0.0
    assert could_be("probe wrong", RIBS, TOUGH) == 0.0
    assert could_be("probe wrong", RIBS, replace(TOUGH, thermometer="one")) > 1.0
    assert could_be("set high", RIBS, TOUGH) == 0.0 < could_be("set high", RIBS, replace(TOUGH, set_c=150.0))
    assert could_be("pit hot", RIBS, TOUGH) > could_be("pit hot", RIBS, replace(TOUGH, set_c=150.0))
    assert could_be("sugar early", RIBS, replace(TOUGH, sugar=0.0, sauced_s=0.0)) == 0.0
    assert could_be("thick", RIBS, replace(TOUGH, thickness_m=0.03)) < could_be("thick", RIBS, TOUGH)
    assert all(could_be(cause, RIBS, TOUGH) >= 0.0 for cause in causes())
