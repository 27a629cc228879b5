"""The invented days: all can be read, an easy and a middling one keep their promise, and beat dumb planning."""

from __future__ import annotations

import numpy as np
import pytest
from validation.days.__main__ import files, live, page, planned

from pitreckon.plan.read import read_wishes

DAYS = {path.stem[:2]: path for path in files()}


def test_there_are_twenty_of_rising_size() -> None:
    assert len(DAYS) == 20
    wishes = [read_wishes(path) for path in DAYS.values()]
    assert max(len(each.items) for each in wishes) == 14
    assert max(len(each.pits) for each in wishes) == 3
    assert any(away.kind == "asleep" for each in wishes for away in each.hands.away)
    assert max(each.guests.count for each in wishes if each.guests) >= 300


@pytest.mark.kernel
@pytest.mark.parametrize("number", ["01", "06"])
def test_a_day_keeps_its_promise_and_beats_dumb_planning(number: str) -> None:
    row, wishes, schedule = planned(DAYS[number])
    assert row["possible"]
    assert row["faults"] == []
    assert schedule is not None
    ours, dumb = live(wishes, schedule, 256)
    error = np.sqrt(schedule.chance * (1.0 - schedule.chance) / 256)
    assert ours.on_time >= schedule.chance - 3.0 * np.sqrt(2.0) * error
    # A dumb plan that holds for hours may be later still on time: what was asked is what counts, with shorter holds.
    assert ours.on_time >= min(dumb.on_time, wishes.chance)
    assert ours.held_h < dumb.held_h or ours.on_time >= dumb.on_time
    lived = row | {"lived": vars_of(ours), "naive": vars_of(dumb)}
    assert "simulated suppers" in page([lived, lived | {"possible": False}])


def vars_of(lived: object) -> dict[str, float]:
    return {name: getattr(lived, name) for name in ("suppers", "on_time", "held_h")}
