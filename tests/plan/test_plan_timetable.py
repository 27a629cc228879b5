"""One timetable: a cook is made of a planned day, and every door tells each act at the same minute."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from icalendar import Calendar

from pitreckon.alerts.rules import due
from pitreckon.alerts.settings import AlertSettings
from pitreckon.cook import Away, Cook, SideTask
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.fires import with_fires
from pitreckon.plan.schedule.schedule import TENDING, Answer, Trip
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes
from pitreckon.plan.write import wish_text
from pitreckon.reckon import Outlook, reckon
from pitreckon.reckon.document import document_of
from pitreckon.reckon.timetable import KEPT_S, moved_words
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.ics import calendar_of
from pitreckon.units import seconds_between
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.trips import trip_view

pytestmark = pytest.mark.kernel

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
DAY = Wishes(
    name="yard supper",
    zone="America/Chicago",
    serve_utc=SERVE,
    pits=(PitWish("long pit", "offset-log-burner", (135.0,)), PitWish("kettle", "kettle", (163.0,))),
    items=(
        ItemWish("racks", "st-louis-ribs", pieces=4, mass_kg=1.3, pits=("long pit",), most_hold_s=3 * 3600.0),
        ItemWish("thighs", "chicken-thigh", pieces=6, mass_kg=0.2, pits=("kettle",), most_hold_s=2 * 3600.0),
    ),
    hands=Hands(cooks=2),
    chance=0.3,
)


@pytest.fixture(scope="module")
def answer() -> Answer:
    return plan(DAY, members=32, explain=False)


@pytest.fixture(scope="module")
def cook(answer: Answer) -> Cook:
    assert answer.best is not None
    return cook_from_text(cook_text(to_cook(DAY, answer.best)), "day.toml")  # as it is kept and sent


Times = dict[tuple[str, str], datetime]


def planned(answer: Answer) -> Times:
    """Of each act its time in the plan; the sauce that comes twice is one of its kind here."""
    assert answer.best is not None
    return {
        (call.on, call.act): trip.at_utc for trip in answer.best.trips for call in trip.calls if call.act != "serve"
    }


def told(outlook: Outlook) -> Times:
    return {(task.item, task.act): trip.at_utc for trip in outlook.trips for task in trip.tasks}


def test_from_lighting_to_shutting_down(answer: Answer) -> None:
    times = planned(answer)
    for pit in ("long pit", "kettle"):
        assert ("light", pit) in {(act, on) for on, act in times}
        assert times[pit, "light"] < times[pit, "shut down"]
    assert ("long pit", "feed") in times
    assert times["long pit", "light"] < times["long pit", "feed"] < times["long pit", "shut down"]
    assert times["long pit", "shut down"] == times["racks", "take off"]


@pytest.mark.parametrize("before", [timedelta(hours=14), timedelta(0)])
@pytest.mark.parametrize("members", [32, 64])
def test_every_door_tells_the_minute_of_the_plan(answer: Answer, cook: Cook, before: timedelta, members: int) -> None:
    """Whenever it is looked at before the first fire, and however many members are asked."""
    times = planned(answer)
    outlook = reckon(cook, now=cook.begin_utc - before, members=members)
    seen = told(outlook)
    assert {key: seen.get(key) for key in times} == times
    assert moved_words(outlook, str) == ()
    reader = Reader(cook.zone)
    sheet = run_sheet(cook, outlook, reader=reader)
    rows = [row for row in sheet.rows() if row.kind != "serve"]
    assert {row.at_utc for row in rows} == {trip.at_utc for trip in outlook.trips}
    events = Calendar.from_ical(calendar_of(sheet)).walk("VEVENT")
    starts = [event["DTSTART"].dt.astimezone(UTC) for event in events]
    assert starts == [row.at_utc for row in sheet.rows()], "an event begins at the minute that every door tells"
    alarms = [str(alarm["description"]) for event in events for alarm in event.walk("VALARM")]
    assert {each.split()[0] for each in alarms} == {reader.clock(row.at_utc) for row in sheet.rows()}
    document = document_of(outlook)
    assert {(t.item, t.act): trip.at for trip in document.trips for t in trip.tasks} == seen
    clock = ClockWords(cook.zone_info, outlook.now_utc, Preferences())
    for trip in outlook.trips:
        view = trip_view(trip, outlook, clock, coming=True)
        assert view.at in {"now", clock(trip.at_utc)}


def test_an_alert_names_the_same_minute(answer: Answer, cook: Cook) -> None:
    wrap = planned(answer)["racks", "wrap"]
    on = Ledger.of([Act(cook.item("racks").put_on_utc, "racks", "put on")])
    now = wrap - timedelta(minutes=8)
    outlook = reckon(cook, on, now=now, members=32)
    at = told(outlook)["racks", "wrap"]
    (alert,) = [
        each for each in due(outlook, on, AlertSettings(cook), now, ()) if (each.kind, each.on) == ("window", "racks")
    ]
    assert alert.at_utc == at


def test_what_was_seen_moves_it_and_it_is_said_by_how_much(answer: Answer, cook: Cook) -> None:
    times = planned(answer)
    begin = cook.item("racks").put_on_utc + timedelta(hours=1)  # everybody an hour late
    events: list[Act | Look] = [Act(begin, "racks", "put on")]
    outlook = reckon(cook, Ledger.of(events), now=begin + timedelta(minutes=1), members=64)
    at = told(outlook)["racks", "wrap"]
    assert seconds_between(times["racks", "wrap"], at) > KEPT_S
    words = [line for line in moved_words(outlook, lambda at: f"{at:%H:%M}") if line.startswith("racks: wrap")]
    assert len(words) == 1
    assert f"at {at:%H:%M}," in words[0]
    assert words[0].endswith("later than planned")
    off = [line for line in moved_words(outlook, str) if line.startswith("long pit: ")]
    assert off == []  # the fire has no plan of its own but its meat's
    assert told(outlook)["long pit", "shut down"] == told(outlook)["racks", "take off"]


def test_feeding_that_was_recorded_moves_the_next(cook: Cook) -> None:
    pit = cook.pit("long pit")
    assert pit.feed_every_s is not None
    assert pit.light_utc is not None
    fed = pit.light_utc + timedelta(minutes=31)
    done = Ledger.of([Act(pit.light_utc, "long pit", "lit"), Act(fed, "long pit", "fed the fire")])
    now = fed + timedelta(minutes=1)
    outlook = reckon(cook, done, now=now, members=32)
    at = told(outlook)
    assert ("long pit", "light") not in at
    assert abs(seconds_between(fed, at["long pit", "feed"]) - pit.feed_every_s) <= pit.feed_every_s / 3.0
    assert outlook.free_until_utc is not None
    assert outlook.free_until_utc <= at["long pit", "feed"]
    unlit = reckon(cook, now=now, members=32)
    assert told(unlit)["long pit", "light"] == now  # overdue, and said so


def test_a_fire_that_is_out_wants_nothing(cook: Cook) -> None:
    at = SERVE + timedelta(minutes=5)
    events = [Act(item.put_on_utc, item.label, "put on") for item in cook.items]
    events += [Act(SERVE, item.label, "served") for item in cook.items]
    over = reckon(cook, Ledger.of(events), now=at, members=32)
    assert {task.act for trip in over.trips for task in trip.tasks} == {"shut down"}
    shut = [Act(SERVE, pit.label, "shut down") for pit in cook.pits]
    assert reckon(cook, Ledger.of([*events, *shut]), now=at, members=32).trips == ()


def test_a_cook_without_a_timetable_is_told_as_before(cook: Cook) -> None:
    bare = replace(
        cook,
        pits=tuple(replace(pit, light_utc=None) for pit in cook.pits),
        items=tuple(
            replace(item, stages=tuple(replace(stage, about_utc=None) for stage in item.stages)) for item in cook.items
        ),
    )
    acts = {task.act for trip in reckon(bare, members=32).trips for task in trip.tasks}
    assert not acts & {"light", "feed", "shut down"}


def test_what_is_done_beside_the_meat_stands_on_the_same_timetable(answer: Answer) -> None:
    slaw = SideTask("slaw", SERVE - timedelta(minutes=95), "dress it", 900.0)
    wishes = replace(DAY, tasks=(slaw,))
    assert wishes_from_text(wish_text(wishes), "day").tasks == (slaw,)
    assert answer.best is not None
    bare = replace(
        answer.best, trips=tuple(_of_the_meat(trip) for trip in answer.best.trips if _of_the_meat(trip).calls)
    )
    schedule = with_fires(wishes, bare)
    cook = cook_from_text(cook_text(to_cook(wishes, schedule)), "day.toml")
    assert cook.tasks == (slaw,)
    at = {(call.on, call.words): trip.at_utc for trip in schedule.trips for call in trip.calls}
    assert at["slaw", "dress it"] == slaw.at_utc
    outlook = reckon(cook, now=cook.begin_utc, members=32)
    assert told(outlook)["slaw", "do"] == slaw.at_utc
    row = next(row for row in run_sheet(cook, outlook, reader=Reader(cook.zone)).rows() if row.at_utc == slaw.at_utc)
    assert ("slaw", "dress it") in {(step.what, step.do) for step in row.steps}
    over = reckon(cook, now=slaw.at_utc + timedelta(minutes=16), members=32)
    assert ("slaw", "do") not in told(over)


@pytest.mark.parametrize(
    ("kind", "says", "never"),
    [
        ("kettle", "coals and splits are not left alone", "safe"),
        ("offset-log-burner", "It wants fuel about every", "safe"),
        ("pellet-cooker", "do as its maker and your fire code say", "not left alone"),
    ],
)
def test_a_fire_that_nobody_is_with_is_named_from_when_to_when(kind: str, says: str, never: str) -> None:
    asleep = Away(SERVE - timedelta(hours=12), SERVE - timedelta(hours=7), "asleep")
    near = Away(SERVE - timedelta(hours=7), SERVE - timedelta(hours=6, minutes=30))  # touches: it is one time
    short = Away(SERVE - timedelta(hours=5), SERVE - timedelta(hours=4, minutes=50))
    butt = ItemWish("butt", "boston-butt", pieces=1, mass_kg=2.5, most_hold_s=6 * 3600.0)
    day = replace(DAY, pits=(PitWish("pit", kind, (121.0,)),), items=(butt,), hands=Hands(1, (asleep, near, short)))
    planned_day = plan(day, members=16, explain=False).best
    assert planned_day is not None
    (pit,) = planned_day.pits
    assert pit.lit_utc is not None
    (alone,) = planned_day.alone
    assert (alone.pit, alone.from_utc) == ("pit", max(asleep.from_utc, pit.lit_utc))
    assert alone.until_utc == min(near.until_utc, pit.off_utc)
    assert says in alone.words
    assert never not in alone.words
    assert alone.words == planned_day.notes[0]  # first of what every door tells
    starved = pit.wants.feed_every_s is not None and pit.wants.feed_every_s < 3600.0
    assert alone.counts_on.startswith("That counts on somebody feeding pit") or not starved
    assert not alone.counts_on or pit.wants.feed_every_s is not None
    assert pit.fuel_kg == pit.wants.total_kg
    assert pit.wants.buy_kg is not None
    assert pit.wants.buy_kg > pit.fuel_kg
    assert not [call for call in planned_day.calls if asleep.from_utc <= call.at_utc < near.until_utc]
    assert faults_of(day, planned_day, chance=0.0) == ()
    assert any("it is not said" in fault for fault in faults_of(day, replace(planned_day, alone=()), chance=0.0))
    there = replace(day, hands=Hands(1))
    assert with_fires(there, replace(planned_day, notes=())).alone == ()


GONE = Away(SERVE - timedelta(hours=6), SERVE - timedelta(hours=4))


def test_no_fire_is_fed_while_nobody_is_there(cook: Cook) -> None:
    """Whenever the outlook is made, and whatever was recorded: before they leave, or when they are back."""
    every_s = 40 * 60.0
    lit = GONE.from_utc - timedelta(hours=1)
    pits = tuple(replace(p, light_utc=lit, feed_every_s=every_s, water_every_s=3 * every_s) for p in cook.pits)
    gone = replace(cook, pits=pits, away=(GONE,))
    assert cook_from_text(cook_text(gone), "gone.toml").away == (GONE,)
    for minutes in range(-70, 130, 10):
        now = GONE.from_utc + timedelta(minutes=minutes)
        for fed in ((), (20,), (65,)):
            acts = [Act(lit, pit.label, "lit") for pit in pits]
            acts += [Act(now - timedelta(minutes=m), pit.label, "fed the fire") for m in fed for pit in pits]
            outlook = reckon(gone, Ledger.of(acts), now=now, members=16)
            fires = [
                (trip, task) for trip in outlook.trips for task in trip.tasks if task.act in {"feed", "water", "ash"}
            ]
            assert fires
            assert not [task for trip, task in fires if GONE.from_utc <= trip.at_utc < GONE.until_utc]
    before = reckon(
        gone, Ledger.of([Act(lit, pit.label, "lit") for pit in pits]), now=lit + timedelta(minutes=35), members=16
    )
    # Due at 40 minutes; again at 80, which is after they have left: the next is told for its time, with the rest.
    assert told(before)["long pit", "feed"] == lit + timedelta(minutes=40)
    done = Ledger.of([Act(lit + timedelta(minutes=25), pit.label, "fed the fire") for pit in pits])
    leaving = reckon(gone, done, now=lit + timedelta(minutes=30), members=16)
    at = told(leaving)["long pit", "feed"]
    assert GONE.from_utc - timedelta(minutes=10) == at
    (note,) = [
        task.note for trip in leaving.trips for task in trip.tasks if (task.item, task.act) == ("long pit", "feed")
    ]
    assert note.endswith("before you leave: nobody is there till 14:00, and again then")
    # What was due while nobody was there is told when they are back, for a while.
    for minutes, told_now in ((0, True), (20, True), (50, False)):
        since = GONE.until_utc + timedelta(minutes=minutes)
        due = told(reckon(gone, done, now=since, members=16))["long pit", "feed"]
        assert (due == since) is told_now, minutes
    just = Ledger.of([Act(lit + timedelta(minutes=48), pit.label, "fed the fire") for pit in pits])
    back = told(reckon(gone, just, now=lit + timedelta(minutes=49), members=16))
    assert back["long pit", "feed"] == GONE.until_utc
    short = replace(gone, away=(Away(lit + timedelta(minutes=38), lit + timedelta(minutes=45)),))
    lit_acts = Ledger.of([Act(lit, pit.label, "lit") for pit in pits])
    keeps = told(reckon(short, lit_acts, now=lit + timedelta(minutes=5), members=16))
    assert keeps["long pit", "feed"] == lit + timedelta(minutes=45)  # it keeps a sixth of its interval longer


def test_a_hopper_is_filled_up_before_the_night_and_it_is_said_how_long_that_lasts() -> None:
    asleep = Away(SERVE - timedelta(hours=13), SERVE - timedelta(hours=5), "asleep")
    on = SERVE - timedelta(hours=14)
    butt = ItemWish("butt", "boston-butt", pieces=2, mass_kg=3.2, most_hold_s=12 * 3600.0, put_on_utc=on)
    day = replace(DAY, pits=(PitWish("pit", "pellet-cooker", (121.0,)),), items=(butt,), hands=Hands(1, (asleep,)))
    schedule = plan(day, members=16, explain=False).best
    assert schedule is not None
    (feed,) = [call for call in schedule.calls if call.act == "feed"]
    (alone,) = schedule.alone
    assert asleep.from_utc - timedelta(minutes=20) <= feed.at_utc < asleep.from_utc
    assert feed.note.startswith("fill it up, about ")
    assert "have somebody fill it again" in alone.words
    brief = replace(asleep, until_utc=asleep.from_utc + timedelta(hours=5))
    (left,) = with_fires(replace(day, hands=Hands(1, (brief,))), schedule).alone
    assert "fill it again" not in left.words


def test_what_is_done_at_night_is_named_where_nobody_said_that_they_sleep() -> None:
    at_six = replace(DAY, serve_utc=SERVE - timedelta(hours=12))  # for six in the morning
    schedule = plan(at_six, members=16, explain=False).best
    assert schedule is not None
    assert [note for note in schedule.notes if note.startswith("somebody is up at ")]
    asleep = Away(SERVE - timedelta(hours=40), SERVE - timedelta(hours=39), "asleep")
    said = with_fires(replace(at_six, hands=Hands(2, (asleep,))), replace(schedule, notes=()))
    assert not [note for note in said.notes if note.startswith("somebody is up at ")]


def test_acts_are_told_to_five_minutes_and_the_table_says_how_long_it_is_held(answer: Answer) -> None:
    schedule = answer.best
    assert schedule is not None
    meat = [call for call in schedule.calls if call.act not in TENDING and call.act != "light"]
    assert all(call.at_utc.minute % 5 == 0 for call in meat)
    for item in schedule.items:
        into = max(call.at_utc for call in meat if call.on == item.label and call.act in {"hold", "take off"})
        assert schedule.held_s(item.label) == pytest.approx(max(seconds_between(into, SERVE), 0.0))
    sauced = [call for call in meat if call.on == "racks" and call.act in {"sauce", "take off"}]
    assert seconds_between(sauced[-2].at_utc, sauced[-1].at_utc) >= 300.0


def _of_the_meat(trip: Trip) -> Trip:
    return replace(trip, calls=tuple(call for call in trip.calls if call.act not in TENDING))
