"""What a reader may change next time: each change does what its words say, and nothing that makes no sense is tried."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from pitreckon import catalog
from pitreckon.lessons.diagnosis import changes as room
from pitreckon.lessons.diagnosis.causes import changes
from pitreckon.lessons.diagnosis.changes import caution_for
from pitreckon.lessons.diagnosis.practice import SALT_G_PER_KG, Practice, usual_practice
from pitreckon.lessons.diagnosis.report import FAULTS, Report

RIBS = catalog.cut("st-louis-ribs")
TOUGH = Report("st-louis-ribs", ("tough",))
N = 64


def changed(key: str, ways: Practice | None = None, report: Report = TOUGH) -> Practice | None:
    cut = catalog.cut(report.cut)
    return room._changed(key, ways or usual_practice(cut, report, N), report, cut, seed=1)


def differs(ways: Practice | None, report: Report = TOUGH) -> set[str]:
    """What was done otherwise than usual."""
    assert ways is not None
    usual = usual_practice(catalog.cut(report.cut), report, N)
    names = [each.name for each in fields(Practice)]
    return {n for n in names if not np.array_equal(getattr(ways, n), getattr(usual, n), equal_nan=True)}


def test_every_change_of_the_table_can_be_tried_and_said() -> None:
    assert changes()
    for key, change in changes().items():
        assert set(change.against) <= set(FAULTS), key
        words = room._words(key, RIBS)
        assert words, key
        assert "{" not in words
        ways = changed(key)
        assert ways is None or all(getattr(ways, each.name).shape == (N,) for each in fields(Practice))


@pytest.mark.parametrize(
    ("key", "what"),
    [
        ("set lower", {"set_k"}),
        ("set higher", {"set_k"}),
        ("at the grate", {"air_k"}),
        ("no sugar", {"sugar"}),
        ("dry wrap", {"last_open_s"}),
    ],
)
def test_one_thing_at_a_time(key: str, what: set[str]) -> None:
    assert differs(changed(key)) == what


def test_a_step_is_25_degrees_fahrenheit() -> None:
    lower, higher = changed("set lower"), changed("set higher")
    assert lower is not None
    assert higher is not None
    assert lower.set_k == pytest.approx(-25.0 / 1.8)
    assert higher.set_k == pytest.approx(25.0 / 1.8)
    assert "25 °F (14 °C)" in room._words("set lower", RIBS)


def test_what_was_wrong_is_taken_away() -> None:
    bad = replace(
        usual_practice(RIBS, TOUGH, N),
        wall_k=np.full(N, 60.0), smoke=np.ones(N), salt_g_per_kg=np.full(N, 25.0), sauced_s=np.full(N, 5400.0),
        open_s=np.full(N, 1800.0),
    )  # fmt: skip
    away, clean, weighed = (changed(key, bad) for key in ("off the fire", "clean fire", "weigh salt"))
    last, at_colour = changed("glaze last", bad), changed("wrap at colour", bad)
    assert away is not None
    assert clean is not None
    assert weighed is not None
    assert last is not None
    assert at_colour is not None
    assert not away.wall_k.any()
    assert not clean.smoke.any()
    assert (weighed.salt_g_per_kg == SALT_G_PER_KG).all()
    assert np.isnan(last.sauced_s).all()  # until it has set
    assert np.isnan(at_colour.open_s).all()  # no longer by the clock
    assert np.median(at_colour.open_level) == pytest.approx(1.0, abs=0.05)


def test_what_makes_no_sense_is_not_tried() -> None:
    wings = Report("chicken-wing", ("dry",), sauced_s=0.0, sugar=0.0)
    assert changed("wrap at colour", report=wings) is None
    assert changed("dry wrap", report=wings) is None
    assert changed("glaze last", report=wings) is None
    assert changed("no sugar", report=wings) is None
    assert changed("two places", report=replace(TOUGH, thermometer="none")) is None
    assert changed("two places") is not None


def test_the_words_go_by_what_ends_the_cut() -> None:
    assert "probe slides in" in room._words("by feel", RIBS)
    assert "°F" in room._words("by feel", catalog.cut("chicken-thigh"))


def test_raw_meat_gets_its_caution() -> None:
    """FSIS safe minimum internal temperatures: 165 degF for poultry, 145 degF and 3 min of rest for whole pork."""
    raw = "raw near the bone"
    assert "165 °F (74 °C)" in caution_for(Report("chicken-thigh", (raw,)))[0]
    pork = caution_for(Report("pork-loin", (raw,)))[0]
    assert "145 °F" in pork
    assert "3 min" in pork
    plain = caution_for(TOUGH)
    assert len(plain) == 1
    assert "health department" in plain[0]
