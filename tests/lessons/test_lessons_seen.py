"""What a reader's photo says of a plate: a density, sugar over meat, and no photo that decides alone."""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from pitreckon.cook.scales import COLOUR
from pitreckon.errors import InputError
from pitreckon.lessons.diagnosis.report import report_from_parts
from pitreckon.lessons.diagnosis.run import BITTER, Plates
from pitreckon.lessons.diagnosis.seen import STRAY, STRAYS_OVER, photo_likelihood, seen_level

RESULT = Path(__file__).parents[2] / "validation" / "results" / "photos.json"


def plates(level, dose=0.0) -> Plates:
    level = np.atleast_1d(np.asarray(level, dtype=float))
    values = {each.name: np.ones(level.size) for each in fields(Plates)}
    return Plates(**(values | {"level": level, "dose": np.full(level.size, dose)}))


def test_sugar_that_has_browned_lies_over_the_meat() -> None:
    assert seen_level(plates([0.3, 1.0, 1.3])) == pytest.approx([0.3, 1.0, 1.3])
    assert seen_level(plates([0.3, 1.0], dose=0.5)) == pytest.approx([0.3, 1.0])  # before its onset it is clear
    assert seen_level(plates([0.3, 1.0], dose=1.0)) == pytest.approx([COLOUR["amber"], 1.0])
    assert seen_level(plates([0.3, 1.0], dose=BITTER)) == pytest.approx([COLOUR["too dark"]] * 2)
    doses = [seen_level(plates(0.3, dose))[0] for dose in (0.1, 1.0, 2.0, 4.0, 40.0)]
    assert doses == sorted(doses)


def test_it_is_a_density_of_what_is_measured() -> None:
    levels = np.linspace(-2.0, 4.0, 4001)
    here = np.array([photo_likelihood(plates(0.8), level, 0.1)[0] for level in levels]) - STRAY / STRAYS_OVER
    assert np.trapezoid(here, levels) + STRAY == pytest.approx(1.0, abs=1e-6)


def test_a_pale_photo_speaks_for_pale_plates_and_rules_none_out() -> None:
    likely = photo_likelihood(plates([0.4, 0.8, 1.3]), 0.45, 0.08)
    assert likely[0] > likely[1] > likely[2] * 0.999
    assert likely[2] == pytest.approx(STRAY / STRAYS_OVER, rel=1e-3)
    vague = photo_likelihood(plates([0.4, 0.8, 1.3]), 0.45, 0.4)
    assert vague[0] / vague[1] < likely[0] / likely[1]


def test_a_report_has_it_in_one_text() -> None:
    told = {"cut": "st-louis-ribs", "colour": "0.86 +- 0.07"}
    assert report_from_parts(told, ("tough",), "the form").colour == (0.86, 0.07)
    assert report_from_parts({"cut": "st-louis-ribs"}, ("tough",), "the form").colour is None
    for text in ("dark", "1.9 ± 0.1"):
        with pytest.raises(InputError) as raised:
            report_from_parts(told | {"colour": text}, ("tough",), "the form")
        assert "colour" in str(raised.value)


def test_made_up_readers_with_photos_are_understood_better() -> None:
    """As ``python -m validation.photos`` found it on cuts that nothing was chosen on."""
    readers = json.loads(RESULT.read_text("utf-8"))["readers"]
    every = readers["all"]
    assert every["readers"] > 500
    assert every["log"][1] - every["log"][0] > 3.0 * every["error"] > 0.0
    assert every["spread"][1] < every["spread"][0]
    assert all(row["log"][1] >= row["log"][0] for row in readers.values())
