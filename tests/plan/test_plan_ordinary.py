"""Ordinary days: all can be read; two of them are planned, keep their promise, and pass the checker."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from validation.days import doors
from validation.days.doors import differences, planned_times
from validation.days.plain import DUMB, files, holds, judged, page

from pitreckon.alerts.alert import Alert
from pitreckon.plan.read import read_wishes
from pitreckon.plan.schedule.solve import plan

DAYS = {path.stem[:2]: path for path in files()}


def test_there_are_enough_of_them_and_they_are_what_cooks_do() -> None:
    assert len(DAYS) >= 15
    wishes = [read_wishes(path) for path in DAYS.values()]
    assert all(0.7 <= each.chance <= 0.9 for each in wishes)
    assert any(away.kind == "asleep" for each in wishes for away in each.hands.away)
    assert max(each.guests.count for each in wishes if each.guests) >= 80
    assert sum(len(each.pits) > 1 for each in wishes) >= 3


@pytest.mark.kernel
@pytest.mark.parametrize("number", sorted(DAYS))
def test_every_door_tells_the_minute_of_the_plan(number: str) -> None:
    """Of each ordinary day: from lighting the fire to shutting it down. The choice is made on few scenarios."""
    answer = plan(read_wishes(DAYS[number]), members=8, limit_s=1.0, explain=False)
    assert answer.best is not None
    assert answer.wishes is not None
    assert differences(answer.wishes, answer.best, members=24) == []
    acts = {act for _, act in planned_times(answer.best)}
    assert {"light", "put on", "take off", "shut down"} <= acts


@pytest.mark.kernel
@pytest.mark.parametrize("kind", ["window", "be back"])
def test_an_alert_at_another_minute_than_the_plan_is_found(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    answer = plan(read_wishes(DAYS["16"]), members=12, limit_s=1.0, explain=False)
    assert answer.best is not None
    assert answer.wishes is not None
    real = doors.due

    def late(*given: Any) -> list[Alert]:
        sent = real(*given)
        return [
            replace(each, at_utc=each.at_utc + timedelta(minutes=5)) if each.kind == kind else each for each in sent
        ]

    monkeypatch.setattr(doors, "due", late)
    wrong = differences(answer.wishes, answer.best, members=24)
    assert wrong
    assert all(each.startswith("alert: Be back at the pit" if kind == "be back" else "alert: ") for each in wrong)


@pytest.mark.kernel
@pytest.mark.parametrize("number", ["06", "16"])
def test_a_day_keeps_its_promise(number: str) -> None:
    row = judged(DAYS[number], 128, members=48)
    assert row["possible"]
    assert row["faults"] == []
    assert holds(row)
    assert set(row["dumb"]) == set(DUMB)
    assert row["lived"] >= max(row["dumb"].values()) - 0.1
    assert "1 days: 1 planned as asked" in page([row])
    assert not holds(row | {"lived": row["chance"] - 0.3})
