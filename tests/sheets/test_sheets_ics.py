"""The calendar, read back by two libraries that are not each other's, and against RFC 5545 line by line."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from ical.calendar_stream import IcsCalendarStream
from tests.sheets.paper import MADE, ZONE, cook, minutes, of_rows, outlook, row, sheets, supper
from tests.sparing import examples

from pitreckon import __version__
from pitreckon.errors import InputError
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Sheet, Step
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.ics import calendar_of, uid_of

NASTY = 'ribs, wings; a\\b: "é" × ' + "long " * 30


def events(content: bytes) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(content).walk("VEVENT"))


def start_utc(event: icalendar.Event) -> datetime:
    """When it begins, by the zone that its TZID names in the machine's own zone database."""
    start = event["DTSTART"]
    if "TZID" not in start.params:
        return start.dt.astimezone(UTC)
    return start.dt.replace(tzinfo=ZoneInfo(start.params["TZID"])).astimezone(UTC)


@given(sheets())
@settings(max_examples=examples(40))
def test_two_libraries_read_what_was_meant(sheet: Sheet) -> None:
    content = calendar_of(sheet)
    rows = list(sheet.rows())
    theirs = events(content)
    strict = IcsCalendarStream.calendar_from_ics(content.decode()).events
    assert len(theirs) == len(strict) == len(rows)
    for each, one, other in zip(rows, theirs, strict, strict=True):
        assert start_utc(one) == each.at_utc
        assert one["DURATION"].dt == max(each.until_utc - each.at_utc, timedelta(minutes=5))
        assert str(one["UID"]) == other.uid == uid_of(sheet, each)
        assert str(one["SUMMARY"]) == other.summary
        assert all(step.do in other.summary for step in each.steps)
        assert other.start.astimezone(UTC) == each.at_utc
        assert str(one["LOCATION"]) == each.where


@given(sheets())
@settings(max_examples=examples(40))
def test_lines_keep_to_the_grammar(sheet: Sheet) -> None:
    """RFC 5545, 3.1: lines end in CRLF and have 75 octets at most; 3.4, 3.6: what an object needs."""
    content = calendar_of(sheet)
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")  # no character is cut in two
    text = content.decode().replace("\r\n ", "")
    for each in re.findall(r"BEGIN:VEVENT.*?END:VEVENT", text, re.DOTALL):
        for name in ("UID", "DTSTAMP", "DTSTART", "DURATION", "SUMMARY", "SEQUENCE", "BEGIN:VALARM"):
            assert len(re.findall(rf"^{name}\b", each, re.MULTILINE)) == 1, name
        assert "DTEND" not in each  # 3.6.1: never beside a DURATION


def test_the_supper() -> None:
    content = calendar_of(supper())
    calendar = icalendar.Calendar.from_ical(content)
    assert str(calendar["PRODID"]) == f"-//Pitreckon//Pitreckon {__version__}//EN"
    assert str(calendar["METHOD"]) == "PUBLISH"
    wrap = next(e for e in events(content) if "wrap" in str(e["SUMMARY"]))
    assert wrap["DTSTART"].params["TZID"] == ZONE
    assert wrap["DTSTART"].dt.strftime("%H:%M") == "14:10", "its best time, at which it stands on the sheet, too"
    assert wrap["DURATION"].dt == timedelta(minutes=10)
    assert wrap["DTSTAMP"].dt == MADE
    assert "when the colour is set" in str(wrap["DESCRIPTION"])
    assert "health department" in str(wrap["DESCRIPTION"])
    (alarm,) = wrap.walk("VALARM")
    assert (str(alarm["ACTION"]), alarm["TRIGGER"].dt) == ("DISPLAY", timedelta(minutes=-10))
    assert str(alarm["DESCRIPTION"]) == "14:10 racks ×4: wrap in foil"
    both = next(e for e in events(content) if "take off" in str(e["SUMMARY"]) and "put on" in str(e["SUMMARY"]))
    assert str(both["SUMMARY"]) == "racks ×4: take off; thighs ×12: put on"


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("America/Chicago", datetime(2026, 10, 31, 18, tzinfo=UTC)),
        ("America/Chicago", datetime(2027, 3, 13, 18, tzinfo=UTC)),
        ("Europe/London", datetime(2026, 10, 24, 18, tzinfo=UTC)),
        ("Australia/Lord_Howe", datetime(2027, 4, 3, 6, tzinfo=UTC)),  # by half an hour
        ("Asia/Kathmandu", datetime(2026, 10, 31, 18, tzinfo=UTC)),  # never, and 45 min off the hour
    ],
)
def test_the_zone_comes_along_and_holds_over_a_change_of_the_clocks(zone: str, day: datetime) -> None:
    """The offsets that its VTIMEZONE gives are those of the tz database, before, in and after the change."""
    instants = [day + timedelta(minutes=30 * n) for n in range(48)]
    sheet = of_rows(tuple(row(f"r{n}", at) for n, at in enumerate(instants)), Reader(zone))
    content = calendar_of(sheet)
    calendar = icalendar.Calendar.from_ical(content)
    (defined,) = calendar.walk("VTIMEZONE")
    assert str(defined["TZID"]) == zone
    described = defined.to_tz(lookup_tzid=False)  # from its own rules, without the machine's database
    for at, event in zip(instants, events(content), strict=True):
        start = event["DTSTART"]
        assert start_utc(event) == at
        if "TZID" in start.params:
            assert (
                start.dt.replace(tzinfo=None).replace(tzinfo=described).utcoffset()
                == at.astimezone(ZoneInfo(zone)).utcoffset()
            )


def test_the_second_pass_of_an_hour_is_in_utc() -> None:
    """RFC 5545, 3.3.5: a local time that occurs twice is its first occurrence. 06:30Z and 07:30Z are both 01:30."""
    first, second = (datetime(2026, 11, 1, hour, 30, tzinfo=UTC) for hour in (6, 7))
    text = calendar_of(of_rows((row("a", first), row("b", second)), Reader(ZONE))).decode()
    assert "DTSTART;TZID=America/Chicago:20261101T013000" in text
    assert "DTSTART:20261101T073000Z" in text


def test_a_duration_is_time_that_goes_by() -> None:
    """RFC 5545, 3.3.6: hours and minutes are exact, whatever the clocks do; eight hours of hold over the change."""
    late = datetime(2026, 11, 1, 3, 0, tzinfo=UTC)
    (event,) = events(calendar_of(of_rows((row("hold", late, lasts_min=480),), Reader(ZONE))))
    assert event["DURATION"].dt == timedelta(hours=8)
    assert b"DURATION:PT8H" in calendar_of(of_rows((row("hold", late, lasts_min=480),), Reader(ZONE)))


def test_a_day_is_written_in_hours() -> None:
    """A nominal day could be 23 hours (RFC 5545, 3.3.6)."""
    late = datetime(2026, 10, 31, 18, 0, tzinfo=UTC)
    content = calendar_of(of_rows((row("hold", late, lasts_min=26 * 60),), Reader(ZONE)))
    assert b"DURATION:PT26H" in content
    assert events(content)[0]["DURATION"].dt == timedelta(hours=26)


def test_text_is_escaped_and_comes_back() -> None:
    rows = (row("x", minutes(0), steps=(Step(NASTY, "do\nit", NASTY),), where=NASTY),)
    (event,) = events(calendar_of(of_rows(rows, Reader(ZONE))))
    assert str(event["SUMMARY"]) == f"{NASTY}: do\nit"
    assert str(event["LOCATION"]) == NASTY
    (other,) = IcsCalendarStream.calendar_from_ics(calendar_of(of_rows(rows, Reader(ZONE))).decode()).events
    assert other.location == NASTY


def test_a_new_edition_moves_events_and_doubles_none() -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4: the same UID and a higher SEQUENCE is the same event, revised."""
    first = run_sheet(cook(), outlook(), made_utc=MADE)
    moved = run_sheet(cook(serve_utc=minutes(375)), outlook(serve_utc=minutes(375)), made_utc=MADE + timedelta(hours=2))
    old, new = (events(calendar_of(sheet)) for sheet in (first, moved))
    assert [str(e["UID"]) for e in old] == [str(e["UID"]) for e in new]
    assert len({str(e["UID"]) for e in old}) == len(old)
    assert all(a["SEQUENCE"] < b["SEQUENCE"] < 2**31 for a, b in zip(old, new, strict=True))
    next_week = run_sheet(cook(), outlook(), made_utc=MADE)
    assert uid_of(next_week, next(next_week.rows())) == uid_of(first, next(first.rows()))


def test_the_same_cook_on_another_day_is_another() -> None:
    week = timedelta(days=7)
    later = run_sheet(cook(serve_utc=minutes(360) + week), outlook(), made_utc=MADE)
    assert {uid_of(later, r) for r in later.rows()}.isdisjoint(uid_of(supper(), r) for r in supper().rows())


def test_alarms_can_be_set() -> None:
    (alarm, *_) = icalendar.Calendar.from_ical(calendar_of(supper(), alarm_before_s=1800)).walk("VALARM")
    assert alarm["TRIGGER"].dt == timedelta(minutes=-30)
    with pytest.raises(ValueError, match="is none"):
        calendar_of(supper(), alarm_before_s=-1)


def test_a_calendar_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="nothing to be done at a time"):
        calendar_of(of_rows((), Reader(ZONE)))
