"""Numbers of hand-made curves, and how a number is counted against its band."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan, sqrt

import numpy as np
import pytest
from validation.practice import page, score, table
from validation.practice.adapter import Curve
from validation.practice.measure import measure
from validation.practice.score import Scored, tally

ROW = next(row for row in table.rows() if row.key == "butt250.203")


def curve(core_f: np.ndarray, every_s: float = 60.0, **marks: float) -> Curve:
    """A cook with this core and nothing lost but 1 % an hour."""
    time_s = every_s * np.arange(core_f.size)
    known = {"colour_set": nan, "tender": nan, "core_done": nan, "glaze_set": nan, "too_dark": nan, "too_soft": nan}
    channels = {
        "core_c": (core_f - 32.0) / 1.8,
        "evaporated": 0.008 * time_s / 3600.0,
        "dripped": 0.002 * time_s / 3600.0,
        "gelatin_mean": np.full(core_f.size, 0.5),
    }
    return Curve(time_s, channels, known | marks, np.array([7200.0, nan]), 0.04, 0.0)


def steady() -> Curve:
    """40 °F at put-on, 20 °F an hour."""
    return curve(40.0 + 20.0 * np.arange(601) / 60.0, tender=5 * 3600.0)


@pytest.mark.parametrize(
    ("quantity", "unit", "wanted"),
    [
        ("time_to 140F", "h", 5.0),
        ("time_to 141F", "min", 303.0),
        ("time_to tender", "h", 5.0),
        ("time_from 100F 140F", "h", 2.0),
        ("time_from stage1 140F", "h", 3.0),
        ("stage_time 1", "h", 2.0),
        ("core_at tender", "degF", 140.0),
        ("core_at 3h", "degF", 100.0),
        ("loss_at 140F", "%", 5.0 + 2.0),
        ("core_change_after stage1 60min", "degF", 20.0),
        ("slowest_rate", "degF/h", 20.0),
        ("rise_again", "1", 1.0),
        ("core_rise_after stage1", "degF", 160.0),
    ],
)
def test_numbers_of_a_steady_rise(quantity, unit, wanted):
    assert measure(steady(), quantity, unit) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("quantity", ["time_to 250F", "time_to colour", "core_at 40h", "stage_time 2", "loss_at dark"])
def test_what_was_never_reached_is_nan(quantity):
    assert isnan(measure(steady(), quantity, "h"))


@pytest.mark.parametrize("quantity", ["time_to dinner", "joy"])
def test_an_unknown_quantity_is_refused(quantity):
    with pytest.raises(ValueError, match="unknown"):
        measure(steady(), quantity, "h")


def test_every_quantity_of_the_table_is_known():
    for row in [*table.rows(), *table.named()]:
        measure(steady(), row.quantity, row.unit)


def test_a_plateau_is_found():
    """20 °F an hour to 160, 3 °F an hour to 166, then 9 to 202."""
    hours = np.concatenate([np.full(360, 20.0), np.full(120, 3.0), np.full(240, 9.0)]) / 60.0
    stalled = curve(40.0 + np.concatenate([[0.0], np.cumsum(hours)]))
    assert measure(stalled, "slowest_rate", "degF/h") == pytest.approx(3.0)
    assert 160.0 < measure(stalled, "slowest_core", "degF") < 166.0
    assert measure(stalled, "rise_again", "1") == pytest.approx(3.0)


def test_what_cools_after_the_cook_is_no_stall():
    rise = 40.0 + 20.0 * np.arange(481) / 60.0
    rested = curve(np.concatenate([rise, rise[-1] - 12.0 * np.arange(1, 240) / 60.0]))
    assert measure(rested, "slowest_rate", "degF/h") > 0.0


def test_hits_and_distances():
    """Band 9.5 to 13.5 h: its middle is 11.5 and its half 2."""
    assert [Scored(ROW, v).hit for v in (9.5, 13.5, 9.49, 13.51, nan)] == [True, True, False, False, False]
    assert [Scored(ROW, v).half_bands for v in (11.5, 13.5, 8.5, 40.0, -9.0, nan)] == [0.0, 1.0, -1.5, 3.0, -3.0, 3.0]


def test_a_band_of_another_row_makes_it_miss():
    """Each row's middle hits its own band; with the band of a rack, a butt misses, and the other way about."""
    rows = {row.key: row for row in table.rows()}
    for row in rows.values():
        assert Scored(row, 0.5 * (row.low + row.high)).hit
    pairs = [
        ("butt250.203", "rack275.tender"),
        ("wing375.175", "turkey325.160"),
        ("rack275.loss", "rack275.core"),
        ("butt250.foil", "butt250.25down"),
    ]
    for one, other in pairs:
        for mine, theirs in ((rows[one], rows[other]), (rows[other], rows[one])):
            swapped = replace(mine, low=theirs.low, high=theirs.high)
            assert not Scored(swapped, 0.5 * (mine.low + mine.high)).hit, (one, other)


def test_a_sign_is_a_check_of_its_own():
    less = replace(ROW, form="less", against="butt225", low=-4.5, high=-2.0, sign="-")
    assert [Scored(less, v).sign_right for v in (-9.0, 0.0, 1.0, nan)] == [True, False, False, False]
    ratio = replace(less, form="ratio", low=1.1, high=1.5, sign="+")
    assert [Scored(ratio, v).sign_right for v in (1.01, 1.0, 0.9)] == [True, False, False]
    assert Scored(ROW, 3.0).sign_right is None


def test_a_tally_counts():
    counted = tally([Scored(ROW, 11.5), Scored(ROW, 15.5), Scored(replace(ROW, low=-np.inf), 3.0)])
    assert (counted.rows, counted.hits, counted.signs) == (3, 2, 0)
    assert counted.rms == pytest.approx(sqrt((0.0 + 4.0) / 2.0))


def test_values_of_pairs():
    numbers = {("a", "q", "h"): 6.0, ("b", "q", "h"): 4.0}
    row = replace(ROW, setup="a", quantity="q")
    assert score.value_of(row, numbers) == 6.0
    assert score.value_of(replace(row, form="less", against="b"), numbers) == 2.0
    assert score.value_of(replace(row, form="ratio", against="b"), numbers) == 1.5


def test_the_page_keeps_what_stands_about_the_part(tmp_path):
    path = tmp_path / "README.md"
    path.write_text(f"before\n{page.BEGIN}\nold\n{page.END}\nafter\n", "utf-8")
    page.put("new", path)
    assert path.read_text("utf-8") == f"before\n{page.BEGIN}\n\nnew\n{page.END}\nafter\n"
    path.write_text("no markers", "utf-8")
    with pytest.raises(ValueError, match="lost the markers"):
        page.put("new", path)
