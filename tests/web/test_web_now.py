"""What Now and Look say of a cook: the cook's own numbers first, what is wrong on top, jobs that a tap records."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from tests.web.many import GATE, LONG, MANY, MIDNIGHT
from tests.web.many import NOW as MANY_NOW
from tests.web.test_web_strips import HANDS, NOW, PUT_ON, around, item, outlook, scene

from pitreckon.alerts import AlertSettings, due
from pitreckon.cook import ItemPlan
from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon import Outlook, Quantiles, Task, Trip
from pitreckon.reckon.outlook import NextLook
from pitreckon.reckon.quantiles import readable
from pitreckon.reckon.statements import REMEDIES
from pitreckon.reckon.whatif import LEAVE, WhatIf
from pitreckon.web.live.noton import with_put_ons
from pitreckon.web.texts import Texts, messages_in
from pitreckon.web.views.look import panels
from pitreckon.web.views.now import now_view
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.scene import Scene
from pitreckon.web.views.spans import span_of, span_words
from pitreckon.web.views.trips import Job
from pitreckon.web.views.wrong import wrongs

HALVES = replace(HANDS, preferences=Preferences(hands="12"))
ON = Act(PUT_ON, "racks", "put on")


def with_trip(*tasks: Task) -> Outlook:
    trip = Trip(NOW + timedelta(minutes=50), NOW + timedelta(minutes=40), NOW + timedelta(minutes=60), tasks)
    return replace(outlook(), trips=(trip,))


def task(act: str, until: str = "", core_c: float | None = None, wrap: str | None = None, chance: float = 1.0) -> Task:
    again = None if chance == 1.0 else NOW + timedelta(minutes=80)
    return Task("racks", 4, act, wrap, "barn pit", until, core_c, chance, again)


def test_the_clock_says_the_day_once_and_halves_small() -> None:
    tomorrow = NOW + timedelta(hours=11)  # 01:30 in Chicago
    assert HANDS(tomorrow) == "tomorrow 01:30"
    assert HALVES(tomorrow) == "tomorrow 1:30 am"
    assert HALVES(NOW - timedelta(hours=20)) == "yesterday 6:30 pm"
    assert HANDS(NOW + timedelta(days=2)) == "Mon 14:30"
    assert HALVES.between(NOW, NOW + timedelta(hours=1)) == "2:30 to 3:30 pm"
    assert HALVES.between(NOW, tomorrow) == "2:30 pm to tomorrow 1:30 am"
    assert HALVES.between(tomorrow, tomorrow + timedelta(hours=1)) == "tomorrow 1:30 to 2:30 am"
    moment = HALVES.parts(NOW)
    assert (moment.hand, moment.half, moment.day) == ("2:30", "pm", "")


def test_the_hour_that_autumn_repeats_keeps_its_mark() -> None:
    """IANA time zone data: Chicago puts its clocks back at 2:00 on the first Sunday of November."""
    first = NOW.replace(month=11, day=1, hour=6, minute=30)
    clock = ClockWords(ZoneInfo("America/Chicago"), first, Preferences(hands="12"))
    assert clock(first) == "1:30 CDT am" or clock(first) == "1:30 am CDT"
    assert clock(first) != clock(first + timedelta(hours=1))


def test_texts_made_for_all_are_told_in_the_readers_hours() -> None:
    line = "take off at 15:42, not 16:52 (from 2026-10-17 00:05); 2:30 stays, 12:59:30 too"
    told = "take off at 3:42 pm, not 4:52 pm (from 2026-10-17 12:05 am); 2:30 stays, 12:59:30 too"
    assert HALVES.retold(line) == told
    assert HANDS.retold(line) == line


def test_ones_own_numbers_come_first() -> None:
    probe = Reading(NOW - timedelta(minutes=2), "probe", "racks", 3, 81.7)
    spot = Look(NOW - timedelta(minutes=30), "racks", None, "spot temperature", 70.0, "158 F")
    past = Look(NOW - timedelta(hours=3), "racks", None, "spot temperature", 20.0, "68 F")
    pit = Reading(NOW - timedelta(minutes=12), "pit air", "barn pit", None, 97.8)
    seen = scene(ON, past, spot, Reading(NOW - timedelta(minutes=7), "probe", "racks", 3, 80.0), probe, pit)
    view = now_view(seen, outlook(), HANDS)
    measured = [(each.words, each.value, each.age, each.old) for each in view.items[0].measured]
    assert measured == [
        ("your probe (piece 3)", "179 °F", "2 min ago", False),
        ("by hand", "158 °F", "30 min ago", True),
    ]
    assert view.items[0].core == "144 °F"
    (shown,) = view.pits
    assert (shown.value, shown.age, shown.old, shown.aim) == ("208 °F", "12 min ago", True, "275 °F")


def test_when_it_is_ready_is_said_in_words() -> None:
    ready = now_view(scene(), outlook(), HALVES).items[0].ready
    assert ready is not None
    assert (ready.likely, ready.may_be) == ("5:30 pm", "5:00 to 6:00 pm")


def test_ready_and_still_good_are_told_apart() -> None:
    late = replace(item("racks"), ready_by=0.5)
    soft = replace(item("butts"), ready_by=1.0, at_best=0.1, spoils_by="too soft")
    whole = outlook(late, soft)
    both = MANY.replace('"butts"', '"racks"', 1)
    plan = cook_from_text(both.replace(f'"{LONG}"', '"butts"'), "plan")
    view = now_view(Scene(plan, Ledger.of([ON]), whole, NOW), whole, HANDS)
    assert view.supper is not None
    ready, good = view.supper.promises
    assert (ready.asks, ready.word, ready.chance, ready.whose) == ("Ready by 18:00", "even odds", "50 %", "racks 50 %")
    assert (good.asks, good.word, good.whose) == ("Still at its best at 18:00", "hardly", "butts 10 %")
    assert good.remedy == REMEDIES["too soft"]
    assert not ready.sure
    assert view.supper.help == ""
    assert [each.word for each in view.items[1].supper] == ["almost surely", "hardly"]


def test_what_stands_ready_is_not_called_likely() -> None:
    done = replace(item(), stages=(replace(item().stages[0], done=True),))
    view = now_view(scene(), outlook(done), HANDS)
    assert view.supper is not None
    assert (view.supper.promises[0].word, view.supper.promises[0].chance) == ("it stands ready", "")
    assert view.supper.promises[0].sure


def test_times_are_told_as_wide_as_they_are() -> None:
    """On quarters of an hour where 5 to 95 % lie hours apart, on five minutes below, outwards."""
    ready = Quantiles(2.51 * 3600, 4.12 * 3600, 6.33 * 3600, 1.0)
    wide = replace(item(), marks={**item().marks, "ready": ready})
    span = now_view(scene(), outlook(wide), HANDS).items[0].ready
    assert span is not None
    assert (span.likely, span.may_be) == ("17:30", "16:00 to 20:00")
    told = readable(ready, PUT_ON.timestamp())
    assert span_words(wide, ready, HANDS) == f"likely {HANDS(wide.instant(told.p50))}, may be 16:00 to 20:00"
    endless = replace(ready, p95=float("inf"))
    assert span_of(wide, endless, HANDS).may_be == "16:01 or much later"


def twin() -> ItemPlan:
    """The item of the scene under another name."""
    return replace(scene().cook.items[0], label="wings")


def test_a_look_that_would_tell_most_is_named() -> None:
    look = NextLook(("spot temperature",), (NOW + timedelta(minutes=50),), 5700.0, 3000.0)
    whole = outlook(replace(item(), next_look=look))
    says = "a thermometer at 15:20: the window shrinks from 95 to about 50 min"
    on_now = "a look at 15:20 narrows that to about 50 min"
    assert now_view(scene(), whole, HANDS).items[0].look == on_now
    less = replace(item(), label="wings", next_look=replace(look, after_s=4800.0))
    both = replace(whole, items=(*whole.items, less))
    twice = replace(scene(), cook=replace(scene().cook, items=(*scene().cook.items, twin())))
    assert [each.look for each in now_view(twice, both, HANDS).items] == [on_now, ""], "where it tells most"
    views, chosen = panels(Scene(scene().cook, scene().ledger, whole, NOW), Preferences())
    assert views[chosen].worth == says


def test_a_fire_is_fed_by_a_tap() -> None:
    wood = Task("barn pit", 1, "feed", None, None, "", None, 1.0, None, note="1 lb, every 40 min")
    whole = with_trip(wood)
    trip = now_view(Scene(scene().cook, scene().ledger, whole, NOW), whole, HANDS).next
    assert trip is not None
    (job,) = trip.jobs
    assert (job.do, job.item, job.note, job.not_yet) == ("feed the fire", "barn pit", "1 lb, every 40 min", None)
    assert job.done is not None
    assert job.done.record == "act|fed the fire|"
    views, chosen = panels(Scene(scene().cook, scene().ledger, whole, NOW), Preferences())
    assert views[chosen].label == "racks"
    assert [tap.record for tap in views[-1].next] == ["act|fed the fire|"]


def test_a_thermometer_on_the_grate_is_a_look_at_a_pit() -> None:
    views, _ = panels(scene(), Preferences())
    groups = {(panel.label, group.what) for panel in views for group in panel.groups}
    assert ("barn pit", "grate temperature") in groups
    assert ("racks", "grate temperature") not in groups
    assert ("racks", "ready") in groups


def test_back_is_said_only_where_it_is_another_hour() -> None:
    trip = with_trip(task("wrap")).trips[0]
    view = now_view(scene(), with_trip(task("wrap")), HANDS)
    assert (view.away, view.back) == ("15:10", "15:30")
    one = replace(outlook(), trips=(replace(trip, by_utc=trip.from_utc + timedelta(minutes=1)),))
    assert now_view(scene(), one, HANDS).back == ""


def test_what_would_help_is_named() -> None:
    never = outlook(replace(item(), ready_by=0.1))
    options = (
        WhatIf("wrap racks now", "racks", (), 0.6, None, 0.0, ()),
        WhatIf(LEAVE, "", (), 0.1, None, 0.0, ()),
    )
    view = now_view(scene(), never, HANDS, options)
    assert view.supper is not None
    assert view.supper.help == "wrap racks now"
    close = (replace(options[0], on_time=0.15), options[1])
    assert now_view(scene(), never, HANDS, close).supper.help == ""  # type: ignore[union-attr]


def test_once_all_is_served_that_is_what_stands_there() -> None:
    view = now_view(scene(ON, Act(NOW, "racks", "served")), outlook(replace(item(), served_utc=NOW)), HANDS)
    assert view.served == "14:30"
    assert view.supper is None
    assert view.items[0].state == "served 14:30"
    assert view.items[0].ready is None


def test_what_is_left_over_has_its_hour() -> None:
    """Two hours out of heat and cold, one where it is over 90 °F (FSIS, "Leftovers and Food Safety", from memory)."""
    lunch, first, last = (NOW + timedelta(minutes=m) for m in (-300, 210, 240))
    whole = outlook()
    dishes = tuple(replace(whole.items[0], served_utc=at) for at in (lunch, first, last))
    served = replace(whole, items=dishes, now_utc=last)
    scene_then = replace(scene(), outlook=served)
    said = now_view(scene_then, served, HANDS).leftovers
    assert (
        said == "What is left over: into the cold by 20:00, in shallow trays; by 19:00 where it is over 90 °F outside."
    )
    assert now_view(scene(), whole, HANDS).leftovers == ""


def test_what_should_be_on_and_of_which_nothing_is_recorded_is_to_be_put_on() -> None:
    """Nobody has recorded anything at all: that the plan's hour has passed puts no meat on the pit."""
    cook, late = scene().cook, replace(item(), put_on_planned=True)
    empty = Ledger()
    whole = with_put_ons(replace(outlook(late), trips=(), now_utc=PUT_ON + timedelta(minutes=25)), cook, empty)
    then = Scene(cook, empty, whole, whole.now_utc)
    view = now_view(then, whole, replace(HANDS, now=whole.now_utc))
    assert view.urgent
    assert view.next is not None
    assert [(job.do, job.item, job.done and job.done.record) for job in view.next.jobs] == [
        ("put on", "racks", "act|put on|")
    ]
    assert (view.items[0].state, view.items[0].core) == (f"not on yet? Planned {HANDS(PUT_ON)}", "")
    views, chosen = panels(then, Preferences())
    assert [(tap.record, tap.due) for tap in views[chosen].next] == [("act|put on|", True)]
    told = with_put_ons(outlook(), cook, Ledger.of([ON]))
    assert told == outlook(), "the ledger says what is on"


def test_a_rest_counts_down() -> None:
    racks = item()
    open_now, rest = replace(racks.stages[0], now=0.0, done=True), replace(racks.stages[0], kind="rest", now=1.0)
    resting = replace(racks, stages=(open_now, replace(rest, ends_s=around(1.2, 0.0))))
    view = now_view(scene(ON, Act(NOW, "racks", "took off")), outlook(resting), HANDS)
    assert view.items[0].state == "resting, 12 min left"
    assert view.items[0].ends == NOW + timedelta(minutes=12)


@pytest.mark.parametrize(
    ("job", "done", "look"),
    [
        (task("put on"), "act|put on|", None),
        (task("wrap", "the colour is set", wrap="foil"), "act|wrapped|foil", "colour"),
        (task("take off", "the probe slides in"), "act|took off|", "probe feel"),
        (task("take off", "", 73.9), "act|took off|", "spot temperature"),
        (task("hold", "the 30 min are over"), "act|hold|", None),
        (task("light", ""), "act|lit|", None),
    ],
)
def test_a_job_is_recorded_by_a_tap(job: Task, done: str | None, look: str | None) -> None:
    whole = with_trip(job)
    trip = now_view(Scene(scene().cook, scene().ledger, whole, NOW), whole, HANDS).next
    assert trip is not None
    (shown,) = trip.jobs
    assert (shown.done.record if shown.done else None) == done
    assert (shown.look.what if shown.look else None) == look
    waits = bool(job.until) or job.until_core_c is not None
    assert (shown.not_yet.record if shown.not_yet else None) == ("look|ready|not yet" if waits else None)


def first_job(job: Task) -> Job:
    whole = with_trip(job)
    trip = now_view(Scene(scene().cook, scene().ledger, whole, NOW), whole, HANDS).next
    assert trip is not None
    return trip.jobs[0]


def test_a_job_that_is_due_by_what_was_seen_can_be_answered_with_not_yet() -> None:
    """The eye erred, or another piece is behind: one tap says so, or how it looks."""
    note = "for what was seen: colour 'mahogany' at 14:20"
    seen = replace(task("wrap", wrap="foil"), note=note, waited_for="the colour is set")
    job = first_job(seen)
    assert (job.wait, job.note) == ("", note)
    assert job.not_yet is not None
    assert job.not_yet.record == "look|ready|not yet"
    assert job.look is not None
    assert job.look.what == "colour"


def test_a_job_of_one_piece_is_recorded_of_that_piece() -> None:
    """A piece with a course of its own has trips of its own, by its item's label and its number."""
    job = first_job(replace(task("wrap", "the colour is set", wrap="foil"), item="racks 2", pieces=1))
    assert (job.item, job.on, job.piece) == ("racks 2", "racks", 2)
    assert job.look is not None
    whole = first_job(task("wrap", "the colour is set"))
    assert (whole.on, whole.piece) == ("racks", None)
    fire = first_job(replace(task("light"), item="barn pit"))
    assert (fire.on, fire.piece, fire.look) == ("barn pit", None, None)


def test_a_job_that_may_not_be_there_says_when_to_come_again() -> None:
    whole = with_trip(task("wrap", "the colour is set", wrap="foil", chance=0.41))
    trip = now_view(Scene(scene().cook, scene().ledger, whole, NOW), whole, HALVES).next
    assert trip is not None
    assert trip.jobs[0].do == "wrap in foil"
    assert trip.jobs[0].chance == "may not be there yet; if not, look again 3:50 pm"


def off_pit(minutes: int, value_c: float) -> Scene:
    """A pit at its setting until so many minutes ago, and at a value since."""
    times = [NOW - timedelta(minutes=m) for m in range(60, 0, -2)]
    aim_c = 135.0
    readings = [
        Reading(at, "pit air", "barn pit", None, value_c if NOW - at <= timedelta(minutes=minutes) else aim_c)
        for at in times
    ]
    return scene(ON, *readings)


def told(of: Scene, clock: ClockWords, seen: set[str] = frozenset()) -> list[tuple[str, str, str, bool]]:  # type: ignore[assignment]
    settings = AlertSettings(of.cook, scale=clock.preferences.degrees, twelve_hour=clock.preferences.hands == "12")
    found = wrongs(of, due(None, of.ledger, settings, of.now, ()), (), seen, clock)
    return [(each.head, each.where, each.says, each.ember) for each in found]


def test_a_sinking_fire_is_one_line_in_the_ember_colour() -> None:
    sinking = off_pit(25, 97.8)
    assert told(sinking, HANDS) == [("Fire sinking", "barn pit", "208 °F, wants 275 °F", True)]
    celsius = replace(HANDS, preferences=Preferences("C", "kg"))
    assert told(sinking, celsius) == [("Fire sinking", "barn pit", "98 °C, wants 135 °C", True)]
    assert told(off_pit(25, 170.0), HANDS)[0][0] == "Fire running hot"
    assert told(off_pit(25, 134.0), HANDS) == []


def test_a_sinking_fire_stands_there_seen_or_not() -> None:
    sinking = off_pit(25, 97.8)
    alerts = due(None, sinking.ledger, AlertSettings(sinking.cook), NOW, ())
    assert told(sinking, HANDS, {alerts[0].key}) != []


def test_silence_is_told_and_goes_once_it_is_seen() -> None:
    probe = Reading(NOW - timedelta(minutes=25), "probe", "racks", 1, 60.0)
    silent = scene(ON, probe)
    ((head, where, says, ember),) = told(silent, HALVES)
    assert (head, where, says, ember) == ("Probe fell out", "racks", "silent since 2:05 pm", False)
    alerts = due(None, silent.ledger, AlertSettings(silent.cook), NOW, ())
    assert told(silent, HANDS, {alerts[0].key}) == []


def many(*events: Act) -> Scene:
    return Scene(cook_from_text(MANY, "plan"), Ledger.of(events), None, MANY_NOW)


def test_look_chooses_what_is_on_the_pit() -> None:
    racks = Act(MIDNIGHT + timedelta(hours=12), LONG, "put on")
    views, chosen = panels(many(racks), Preferences())
    assert views[chosen].label == LONG
    assert [panel.label for panel in views if panel.on] == [LONG, "barn pit", GATE]
    assert views[0].standing == "not on yet"
    assert views[0].ask == "butts is not on yet. Record it all the same?"
    assert views[chosen].ask == ""


def test_what_cannot_be_is_asked_about() -> None:
    on = Act(MIDNIGHT + timedelta(hours=12), LONG, "put on")
    off = Act(MIDNIGHT + timedelta(hours=15), LONG, "took off")

    def asks(*events: Act) -> set[str]:
        views, chosen = panels(many(*events), Preferences())
        return {tap.what for tap in views[chosen].acts if tap.ask}

    assert asks() == set()
    assert asks(on) == {"put on", "served"}
    assert asks(on, off) == {"put on"}


def test_messages_that_are_not_translated_stay_english() -> None:
    po = 'msgid ""\nmsgstr "head"\n\nmsgid "Look"\nmsgstr "Mirar"\n\n'
    po += 'msgid "Away until {at}"\nmsgstr ""\n"Libre hasta {at}"\n'
    assert dict(messages_in(po)) == {"Look": "Mirar", "Away until {at}": "Libre hasta {at}"}
    texts = Texts("es", dict(messages_in(po)))
    assert texts("Away until {at}", at="3") == "Libre hasta 3"
    assert texts("Plan") == "Plan"
