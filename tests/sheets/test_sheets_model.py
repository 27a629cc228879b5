"""What goes on a run sheet, before anything draws it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.reckon import supper as reckoned
from tests.sheets.paper import MADE, NOW, ZONE, cook, minutes, outlook, row, supper

from pitreckon.reckon import reckon
from pitreckon.sheets.documents.runsheet import Job, run_sheet
from pitreckon.sheets.documents.shopping import shopping_sheet
from pitreckon.sheets.model import (
    Blank,
    Caution,
    Checklist,
    KeyFigures,
    Line,
    Table,
    Timetable,
    by_day,
    free_words,
    row_times,
)
from pitreckon.sheets.reader import Reader


def _timetable(sheet):
    (found,) = [block for block in sheet.blocks if isinstance(block, Timetable)]
    return found


def _words(sheet):
    texts = []
    for block in sheet.blocks:
        match block:
            case Caution(title, lines):
                texts += [title, *lines]
            case Table(head, rows, _):
                texts += [*head, *(cell for each in rows for cell in each)]
            case KeyFigures(figures):
                texts += [f"{f.name} {f.value}" for f in figures]
    return " | ".join(texts)


def test_every_trip_job_and_the_serving_are_rows_in_order_of_time() -> None:
    rows = _timetable(supper()).rows
    clock = Reader(ZONE).clock
    assert [(clock(r.at_utc), r.kind, [s.do for s in r.steps]) for r in rows] == [
        ("11:00", "job", ["light, and let it settle"]),
        ("12:00", "trip", ["put on"]),
        ("13:00", "job", ["carry tables"]),
        ("14:10", "trip", ["wrap in foil"]),
        ("16:00", "trip", ["take off", "put on"]),
        ("17:30", "trip", ["take off"]),
        ("18:00", "serve", ["serve"]),
    ]


def test_times_round_to_the_safe_side_and_the_best_lies_between() -> None:
    wrap = _timetable(supper()).rows[3]
    assert (wrap.from_utc, wrap.at_utc, wrap.until_utc) == (minutes(110), minutes(130), minutes(140))


def test_a_step_says_what_to_look_for_before_how_likely_it_is() -> None:
    (step,) = _timetable(supper()).rows[3].steps
    assert step.look_for.startswith("the colour is set: mahogany")
    assert step.sure == "60 % likely by then; 9 in 10 between 13:45 and 14:25; if not yet, again at 14:30"


def test_degrees_and_hours_are_the_readers() -> None:
    rows = _timetable(supper(Reader(ZONE, "C", "kg", twelve_hour=True))).rows
    assert rows[5].steps[0].look_for == "the core is at 74 °C"  # 165 °F
    assert rows[1].steps[0].look_for == "big box is steady at 135 °C"
    assert rows[3].steps[0].sure.endswith("again at 2:30 pm")
    words = _words(supper(Reader(ZONE, "C", "kg")))
    assert "60 °C" in words
    assert "1.25 kg each" in words
    assert "°F" not in words


def test_time_off_is_said_only_where_nothing_lies_in_between() -> None:
    rows = _timetable(supper()).rows
    assert [None if r.free_until_utc is None else r.free_until_utc for r in rows] == [
        minutes(0), minutes(60), minutes(110), minutes(235), minutes(325), minutes(360), None,
    ]  # fmt: skip
    long = Job("watch the gate", at_utc=minutes(100), until_utc=minutes(200))
    busy = _timetable(supper(chores=(long,))).rows
    wrap = next(r for r in busy if r.steps[0].do == "wrap in foil")
    assert wrap.free_until_utc == minutes(235)
    assert next(r for r in busy if r.kind == "job").free_until_utc is None  # the wrapping lies within it


def test_keys_stay_when_times_move() -> None:
    later = outlook()
    moved = tuple(
        replace(t, at_utc=t.at_utc + timedelta(minutes=9), by_utc=t.by_utc + timedelta(minutes=9)) for t in later.trips
    )
    other = run_sheet(cook(), replace(later, trips=moved), made_utc=MADE)
    mine = run_sheet(cook(), later, made_utc=MADE)
    assert [r.key for r in mine.rows()] == [r.key for r in other.rows()]
    assert mine.name == other.name
    assert len({r.key for r in mine.rows()}) == len(list(mine.rows()))


def test_the_cautions_of_food_and_fire_are_on_it() -> None:
    """USDA advice to consumers (2015, 2016): 140 °F, 40 °F, 2 h, 1 h over 90 °F; carbon monoxide kills indoors."""
    words = _words(supper())
    for said in (
        "thermometer",
        "140 °F",
        "40 °F",
        "2 hours",
        "over 90 °F",
        "carbon monoxide",
        "garage",
        "outdoors only",
    ):
        assert said in words
    assert "health department" in words
    assert "no promise of safety" in supper().foot
    for never in ("validated", "certified", "guarantee"):
        assert never not in words.lower()


def test_the_least_core_is_the_official_one() -> None:
    """FSIS safe minimum internal temperature chart, 14 Apr 2025: pork 145 °F and 3 min, poultry 165 °F."""
    words = _words(supper())
    assert "145 °F, 3 min rest" in words
    assert "165 °F" in words


def test_what_is_known_besides_finds_its_place() -> None:
    sheet = supper()
    words = _words(sheet)
    assert "6 h at 1.5 lb an hour" in words
    assert "upper grate" in words
    (loose,) = [block for block in sheet.blocks if isinstance(block, Checklist)]
    assert loose.lines == (Line("racks: thaw in the refrigerator"),)
    assert any(isinstance(block, Blank) for block in sheet.blocks)
    assert any(getattr(block, "text", "") == "racks: a note on racks" for block in sheet.blocks)


def test_planned_rows_take_the_place_of_trips() -> None:
    planned = (row("plan/1", minutes(30)), row("plan/2", minutes(200)))
    rows = _timetable(supper(visits=planned, chores=())).rows
    assert [r.key for r in rows] == ["plan/1", "plan/2", "serve"]


def test_nothing_to_do_is_said() -> None:
    bare = run_sheet(cook(serve_utc=None), replace(outlook(), trips=(), serve_utc=None))
    assert not list(bare.rows())
    assert any("No trip is in sight" in getattr(block, "text", "") for block in bare.blocks)


@pytest.mark.kernel
def test_from_a_real_outlook() -> None:
    supper_of = reckoned.cook(reckoned.racks(), reckoned.wings(put_on_utc=reckoned.at(60)), serve_h=6.0)
    reckoning = reckon(supper_of, members=16)
    sheet = run_sheet(supper_of, reckoning, made_utc=MADE)
    trips = [r for r in sheet.rows() if r.kind == "trip"]
    assert len(trips) == len(reckoning.trips)
    for ours, theirs in zip(trips, reckoning.trips, strict=True):
        assert [s.do.split()[0] for s in ours.steps] == [t.act.split()[0] for t in theirs.tasks]
        assert abs((ours.at_utc - theirs.at_utc).total_seconds()) <= 60


def test_a_midnight_parts_the_days() -> None:
    reader = Reader(ZONE)
    rows = (row("a", minutes(700)), row("b", minutes(730)))
    assert [(day, len(of_day)) for day, of_day in by_day(rows, reader)] == [
        ("Saturday 17 October 2026", 1),
        ("Sunday 18 October 2026", 1),
    ]
    assert row_times(row("c", minutes(715)), reader)[1] == "23:55–Sun 00:05"
    assert free_words(row("d", minutes(700), free_until_utc=minutes(800)), reader) == "then free until Sun 01:20"


@pytest.mark.parametrize(
    "changes",
    [
        {"from_utc": minutes(20)},
        {"steps": ()},
        {"kind": "dance"},
        {"at_utc": NOW.replace(tzinfo=None)},
    ],
)
def test_rows_check_themselves(changes) -> None:
    with pytest.raises((ValueError, TypeError)):
        row("x", NOW, **changes)


def test_tables_check_themselves() -> None:
    with pytest.raises(ValueError, match="too few or too many"):
        Table(("a", "b"), (("1",),))
    with pytest.raises(ValueError, match="not in order"):
        Timetable((row("a", minutes(5)), row("b", minutes(0))))
    with pytest.raises(ValueError, match="one key"):
        Timetable((row("a", minutes(0)), row("a", minutes(5))))


def test_the_shopping_list() -> None:
    lines = {"butcher": [Line("St. Louis ribs", "7 racks, 19 lb", "90 % sure")], "store": [], "yard": [Line("pellets")]}
    sheet = shopping_sheet(cook(), lines, reader=Reader(ZONE), notes=("Order by Wednesday.",), made_utc=MADE)
    assert sheet.subtitle == "Shopping list for Saturday 17 October 2026"
    lists = [block for block in sheet.blocks if isinstance(block, Checklist)]
    assert [len(block.lines) for block in lists] == [1, 1]
