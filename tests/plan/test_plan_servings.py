"""Several servings in one day: each item is planned to its own, and the cook that is made tells both."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.schedule.variants import variants
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes
from pitreckon.plan.write import wish_text
from pitreckon.reckon import reckon
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.reader import Reader

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
LUNCH = SERVE - timedelta(hours=5)
WINGS = ItemWish("wings", "chicken-wing", pieces=12, mass_kg=0.09, most_hold_s=2 * 3600.0, serve_utc=LUNCH)
MORE = replace(WINGS, label="more wings", serve_utc=None)
DAY = Wishes(
    "two sittings",
    "America/Chicago",
    SERVE,
    (PitWish("kettle", "kettle", (163.0,)),),
    (WINGS, MORE),
    hands=Hands(2),
    chance=0.6,
)


@pytest.mark.kernel
def test_each_is_planned_to_its_own_serving() -> None:
    answer = plan(DAY, members=32, explain=False)
    best = answer.best
    assert best is not None
    assert answer.schedule is not None
    assert faults_of(DAY, best, chance=0.0) == ()
    first, second = best.items
    assert first.ready.p50 <= LUNCH < second.put_on_utc + timedelta(hours=5)
    assert abs((second.put_on_utc - first.put_on_utc) - (SERVE - LUNCH)) <= timedelta(hours=1)
    served = {(call.on, call.at_utc) for call in best.calls if call.act == "serve"}
    assert served == {("wings", LUNCH), ("two sittings", SERVE)}
    cook = cook_from_text(cook_text(to_cook(DAY, best)), "day.toml")
    assert [cook.served_at(item) for item in cook.items] == [LUNCH, SERVE]
    assert cook.item("wings").stages[-1].until.at_utc == LUNCH  # held until its own
    outlook = reckon(cook, members=32)
    for item in outlook.items:
        assert item.ready_by is not None
        assert item.ready_by > 0.4
    sheet = run_sheet(cook, outlook, reader=Reader(cook.zone))
    rows = [(row.at_utc, row.steps[0].what) for row in sheet.rows() if row.kind == "serve"]
    assert rows == [(LUNCH, "wings"), (SERVE, "more wings")]


def test_it_is_written_and_read_back_and_moves_with_the_day() -> None:
    again = wishes_from_text(wish_text(DAY), "day.toml")
    assert [again.served_at(item) for item in again.items] == [LUNCH, SERVE]
    later = DAY.served_later(1800.0)
    assert [later.served_at(item) for item in later.items] == [at + timedelta(minutes=30) for at in (LUNCH, SERVE)]
    assert {each.key for each in variants(DAY)} >= {"later", "earlier"}


def test_after_the_last_serving_nothing_is_served() -> None:
    with pytest.raises(InputError, match="after the cook's own serving time"):
        replace(DAY, items=(replace(WINGS, serve_utc=SERVE + timedelta(hours=1)),))


@pytest.mark.kernel
def test_what_is_eaten_elsewhere_is_packed_in_time_and_held_on_the_way() -> None:
    away = replace(MORE, label="wings", travel_s=2400.0)
    day = replace(DAY, name="delivery", items=(away,))
    assert wishes_from_text(wish_text(day), "day.toml") == day
    answer = plan(day, members=32, explain=False)
    best = answer.schedule
    assert best is not None
    assert faults_of(day, best, chance=0.0) == ()
    leaves = SERVE - timedelta(minutes=40)
    assert best.items[0].ready.p50 <= leaves
    packed = [call for call in best.calls if call.act == "do"]
    assert [(call.on, call.at_utc, str(call.note)) for call in packed] == [
        ("wings", leaves, "pack it hot and leave, to be on the table at 18:00")
    ]
    cook = cook_from_text(cook_text(to_cook(day, best)), "day.toml")
    assert [(task.label, task.at_utc) for task in cook.tasks] == [("wings", leaves)]
    assert cook.served_at(cook.item("wings")) == SERVE
    with pytest.raises(InputError, match="the way takes 3 h, longer than it may be held"):
        replace(away, travel_s=3 * 3600.0)
