"""Days that cannot be done: why not, and what would help; one clear message for what makes no sense."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pitreckon.cli.plan import not_as_asked
from pitreckon.cook import Away
from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.relax import ladders_of
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
BOX = PitWish("box", "pellet-cooker", (121.1, 135.0))
BUTT = ItemWish("butt", "boston-butt", pieces=1, mass_kg=3.0, most_hold_s=5 * 3600.0)


RACKS = ItemWish("racks", "st-louis-ribs", pieces=3, mass_kg=1.1, most_hold_s=5 * 3600.0)


@pytest.mark.kernel
def test_too_little_time_is_explained_and_an_earlier_start_is_offered():
    wishes = Wishes("day", "UTC", SERVE, (BOX,), (RACKS,), earliest_utc=SERVE - timedelta(hours=3), chance=0.8)
    answer = plan(wishes, members=32)
    assert answer.schedule is None
    assert "racks" in answer.why[0]
    assert 1 <= len(answer.changes) <= 3
    assert [change.size for change in answer.changes] == sorted(change.size for change in answer.changes)
    (hours,) = [float(found[1]) for c in answer.changes if (found := re.match(r"start (\d+) h earlier$", c.what))]
    wider = replace(wishes, earliest_utc=wishes.earliest_utc - timedelta(hours=hours))
    assert plan(wider, members=32, explain=False).schedule is not None
    narrower = replace(wishes, earliest_utc=wishes.earliest_utc - timedelta(hours=hours - 1))
    assert plan(narrower, members=32, explain=False).schedule is None


@pytest.mark.kernel
def test_where_one_change_is_not_enough_two_are_offered():
    wishes = Wishes("day", "UTC", SERVE, (BOX,), (BUTT,), earliest_utc=SERVE - timedelta(hours=5), chance=0.95)
    answer = plan(wishes, members=32)
    assert answer.schedule is None
    best = answer.changes[0]
    assert "earlier" in best.what
    assert not best.what.startswith("accept")
    assert best.chance is not None
    assert answer.nearest is None or best.chance > answer.nearest.chance
    assert best.wishes is not None
    again = plan(best.wishes, members=32, explain=False)
    assert again.best is not None
    assert again.best.chance > best.chance - 0.25  # of 32 scenarios, told on 512 that nothing was chosen on


@pytest.mark.kernel
def test_nobody_there_when_it_matters_is_named():
    away = Away(SERVE - timedelta(hours=20), SERVE - timedelta(minutes=30))
    wishes = Wishes("day", "UTC", SERVE, (BOX,), (BUTT,), hands=Hands(1, (away,)), chance=0.8)
    answer = plan(wishes, members=32)
    assert answer.schedule is None
    assert answer.why


@pytest.mark.kernel
def test_a_pit_too_cool_for_a_cut_is_named_with_how_hot_it_has_to_be():
    cool = PitWish("box", "pellet-cooker", (54.4,))
    answer = plan(Wishes("day", "UTC", SERVE, (cool,), (BUTT,), chance=0.8), members=16)
    assert answer.schedule is None
    assert any("on box, butt not at 130 °F: as a rule it gets done at" in why for why in answer.why), answer.why


@pytest.mark.kernel
def test_what_does_not_lie_on_one_pit_goes_in_lots():
    kettle = PitWish("kettle", "kettle", (163.0,))
    thighs = ItemWish("thighs", "chicken-thigh", pieces=30, mass_kg=0.17, most_hold_s=4 * 3600.0)
    wishes = Wishes("fair", "UTC", SERVE, (kettle,), (thighs,), hands=Hands(2), chance=0.3)
    answer = plan(wishes, members=24, explain=False)
    assert answer.wishes is not None
    lots = answer.wishes.items
    assert len(lots) >= 2
    assert sum(lot.pieces or 0 for lot in lots) == 30
    assert [lot.label for lot in lots[:2]] == ["thighs, lot 1", "thighs, lot 2"]
    assert any(f"they go in {len(lots)} lots" in note for note in answer.notes)
    assert answer.best is not None
    assert faults_of(answer.wishes, answer.best, chance=0.0) == ()
    one = replace(wishes, pits=(kettle, PitWish("long pit", "offset-log-burner", (135.0,))))
    assert plan(one, members=24, explain=False).wishes == one  # where a pit takes all of it, it stays in one


@pytest.mark.kernel
def test_lots_find_a_place_beside_other_meat():
    """Twenty thighs lie on the box alone, and on no kettle; beside the butts they lie nowhere. Ten do on both."""
    box = PitWish("box", "pellet-cooker", (135.0,))
    kettle = PitWish("kettle", "kettle", (162.8,))
    butts = ItemWish("butts", "boston-butt", pieces=2, mass_kg=4.1, most_hold_s=6 * 3600.0, pits=("box",))
    thighs = ItemWish("thighs", "chicken-thigh", pieces=40, mass_kg=0.14, most_hold_s=2 * 3600.0)
    wishes = Wishes("lunch", "UTC", SERVE, (box, kettle), (butts, thighs), hands=Hands(2), chance=0.5)
    answer = plan(wishes, members=32, explain=False)
    assert answer.schedule is not None, answer.why
    assert answer.wishes is not None
    assert [item.pieces for item in answer.wishes.items] == [2, 10, 10, 10, 10]
    assert faults_of(answer.wishes, answer.schedule, chance=0.0) == ()


@pytest.mark.kernel
def test_a_change_after_which_supper_is_late_all_the_same_is_not_offered():
    """A butt in three hours: nothing that is tried brings it, and no day of no chance is shown as the nearest."""
    soon = replace(BUTT, most_hold_s=3600.0)
    earliest = SERVE - timedelta(hours=3)
    wishes = Wishes("day", "UTC", SERVE, (BOX,), (soon,), earliest_utc=earliest, planned_utc=earliest, chance=0.8)
    answer = plan(wishes, members=16)
    assert answer.best is None
    assert all(change.does or (change.chance or 0.0) >= 0.5 for change in answer.changes), answer.changes
    if not answer.changes:
        assert any(line.startswith("No change that was tried") for line in not_as_asked(answer, wishes))


def test_all_lots_of_a_meat_are_one_to_a_cook():
    lots = tuple(ItemWish(f"wings, lot {n}", "chicken-wing", pieces=20, mass_kg=0.09) for n in (1, 2))
    wishes = Wishes("day", "UTC", SERVE, (BOX,), (BUTT, *lots))
    steps = [str(words) for ladder in ladders_of(wishes, amounts_of(wishes), [1]) for words, _, _ in ladder.steps]
    assert "let wings be held 1 h longer" in steps
    assert not any(", lot " in words for words in steps)
    held = next(ladder for ladder in ladders_of(wishes, amounts_of(wishes), [1]) if ladder.about)
    made = held.steps[0][2](wishes, list(amounts_of(wishes)))
    assert made is not None
    assert [item.most_hold_s / 3600.0 for item in made[0].items] == [5.0, 5.0, 5.0], "both lots, an hour over four"


@pytest.mark.kernel
def test_too_little_time_to_look_is_not_called_impossible():
    answer = plan(Wishes("day", "UTC", SERVE, (BOX,), (BUTT,), chance=0.98), members=16)
    day = replace(answer, timed_out=True, why=(), changes=())
    assert not_as_asked(day, Wishes("day", "UTC", SERVE, (BOX,), (BUTT,)))[0].startswith("Not found in the time")
    told = []
    plan(Wishes("day", "UTC", SERVE, (BOX,), (BUTT,), chance=0.98), members=16, progress=told.append)
    assert any(line.startswith("cooking each of ") for line in told)
    assert any(line.startswith("trying: ") for line in told)


TEXT = """
[cook]
name = "day"
zone = "America/Chicago"
serve = "2026-06-20 18:00"
{cook}

[guests]
adults = {adults}

[[pit]]
name = "box"
kind = "pellet-cooker"
set = "250 F"

[[item]]
name = "racks"
cut = "{cut}"
{item}
"""


def text(**changes: str) -> str:
    return TEXT.format(**({"cook": "", "adults": "8", "cut": "st-louis-ribs", "item": ""} | changes))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"adults": "-3"}, "adults is -3"),
        ({"cook": 'earliest = "2026-06-20 19:00"'}, "serving time"),
        ({"cut": "marmot"}, "'marmot' is no cut"),
        ({"item": "pieces = 10000"}, "10000"),
        ({"item": "pieces = 480"}, "480"),
        ({"item": 'longest_hold = "30h"'}, "longest_hold"),
        ({"item": 'hold_at = "110 F"'}, "hold_at"),
        ({"item": 'put_on = "2026-06-20 19:00"'}, "after the serving time"),
    ],
)
def test_what_makes_no_sense_is_refused_once_and_clearly(changes, says):
    with pytest.raises(InputError) as refused:
        plan(wishes_from_text(text(**changes), "day.toml"), members=16, explain=False)
    assert says in str(refused.value)
    assert refused.value.remedy
    assert "\n" not in str(refused.value)
