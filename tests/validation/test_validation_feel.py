"""The feel's words in minutes, against practice ("some drag" on a rack 20 to 40 min before: no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from validation.feel import SUPPERS, WORDS, row_of, text_of

pytestmark = pytest.mark.kernel


def test_some_drag_on_racks_in_foil_is_half_an_hour_before_the_probe_slides_in():
    row = row_of(SUPPERS[0], members=24)
    assert row.hit
    assert list(row.left_min) == list(WORDS) == ["firm", "some drag"]
    assert row.left_min["firm"][1] > 1.5 * row.left_min["some drag"][1]
    assert "| hit |" in text_of([row])
    slow = replace(row, supper=replace(row.supper, practice_min=(5.0, 15.0)))
    assert not slow.hit
    assert "| miss |" in text_of([slow])
