"""A sheet's timetable as a calendar (RFC 5545): an event a row, with its alarm and its time zone."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

from pitreckon import __version__
from pitreckon.errors import InputError
from pitreckon.extras import loading
from pitreckon.sheets.model import Row, Sheet, Step, hands_words, row_times
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import said
from pitreckon.units import instant_after, possible_instants, seconds_between

if TYPE_CHECKING:
    from icalendar import Alarm, Event

PRODID: Final = f"-//Pitreckon//Pitreckon {__version__}//EN"
SPACE: Final = uuid.UUID("5a5a3f0e-7d0b-4c0e-9a58-2f1f6f3f6f11")
"""Of our event ids: one and the same in every edition, so that a second import moves events and doubles none."""
ALARM_BEFORE_S: Final = 10 * 60.0
"""Time to get to the pit: common practice, no source."""
SHORTEST_S: Final = 5 * 60.0
"""A shorter event cannot be seen in a calendar."""
COUNTED_FROM: Final = datetime(2020, 1, 1, tzinfo=UTC)


def calendar_of(sheet: Sheet, *, alarm_before_s: float = ALARM_BEFORE_S) -> bytes:
    """All rows of the sheet as one iCalendar object, with the definition of its time zone.

    Times are local with their zone, so that a calendar shows them as they are spoken of; in the second pass of the
    hour that autumn repeats, which a local time cannot name (RFC 5545, 3.3.5), they are UTC. Each has a DURATION in
    seconds, minutes and hours, which RFC 5545 (3.3.6) counts as elapsed time whatever the clocks do.

    alarm_before_s: how long before an event its alarm sounds [s], less than a day

    Raises ValueError: an alarm outside that
    Raises MissingExtraError: icalendar is not installed
    Raises InputError: nothing on the sheet has a time, and a calendar of nothing is none (RFC 5545, 3.6)
    """
    with loading("icalendar", "a calendar"):
        from icalendar import Calendar  # noqa: PLC0415  a sheet on paper does not need it

    if not 0.0 <= alarm_before_s < 86400.0:
        raise ValueError(f"an alarm {alarm_before_s} s before is none")
    rows = tuple(sheet.rows())
    if not rows:
        raise InputError("the sheet has nothing to be done at a time", "Give the cook a serving time, or write .pdf")
    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", sheet.title)  # RFC 7986, 5.1
    calendar.add_component(_zone(rows, sheet.reader))
    for row in rows:
        calendar.add_component(_event(row, sheet, alarm_before_s))
    return bytes(calendar.to_ical())


def uid_of(sheet: Sheet, row: Row) -> str:
    """The id of a row's event: a name-based UUID (RFC 9562, version 5) of the occasion and of what the row does."""
    return str(uuid.uuid5(SPACE, f"{sheet.name}\n{row.key}"))


def _zone(rows: tuple[Row, ...], reader: Reader) -> Any:
    from icalendar import Timezone  # noqa: PLC0415  as above

    first = min(row.from_utc for row in rows).astimezone(reader.zone_info).date()
    last = max(row.until_utc for row in rows).astimezone(reader.zone_info).date()
    year = timedelta(days=366)
    return Timezone.from_tzinfo(reader.zone_info, reader.zone, first_date=first - year, last_date=last + year)


def _event(row: Row, sheet: Sheet, alarm_before_s: float) -> Event:
    from icalendar import Alarm, Event  # noqa: PLC0415  as above

    reader, made = sheet.reader, sheet.made_utc.replace(microsecond=0)
    event = Event()
    event.add("uid", uid_of(sheet, row))
    event.add("dtstamp", made)
    event.add("last-modified", made)
    event.add("sequence", max(int((made - COUNTED_FROM).total_seconds()), 0))
    event.add("dtstart", _local(row.at_utc, reader))  # its one time; from when it is as good is told below
    event["duration"] = _elapsed(max(seconds_between(row.at_utc, row.until_utc), SHORTEST_S))
    event.add("summary", _summary(row))
    event.add("description", _description(row, sheet))
    if row.where:
        event.add("location", row.where)
    event.add("transp", "OPAQUE")
    alarm: Alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"{reader.clock(row.at_utc)} {_do(row.steps[0])}")
    alarm.add("trigger", -timedelta(seconds=alarm_before_s))
    event.add_component(alarm)
    return event


def _elapsed(seconds: float) -> Any:
    """A duration in hours and minutes: the library's own has days, which RFC 5545 counts by the calendar."""
    from icalendar import vDuration  # noqa: PLC0415  as above

    class Elapsed(vDuration):
        def to_ical(self) -> bytes:
            hours, minutes = divmod(int(seconds // 60), 60)
            return f"PT{f'{hours}H' if hours else ''}{f'{minutes}M' if minutes or not hours else ''}".encode()

    return Elapsed(timedelta(seconds=seconds))


def _local(at_utc: datetime, reader: Reader) -> datetime:
    local = at_utc.astimezone(reader.zone_info)
    second_pass = possible_instants(local.replace(tzinfo=None, fold=0), reader.zone_info)[0] != at_utc
    return instant_after(at_utc, 0.0) if second_pass else local


def _summary(row: Row) -> str:
    """What is done, to all that it is done to: ``racks, thighs: put on; butt: wrap in foil``."""
    to_what: dict[str, list[str]] = {}
    for step in row.steps:
        to_what.setdefault(step.do, []).append(step.what)
    return "; ".join(_do(Step(", ".join(filter(None, whats)), do)) for do, whats in to_what.items())


def _do(step: Step) -> str:
    return f"{step.what}: {step.do}" if step.what else step.do


def _description(row: Row, sheet: Sheet) -> str:
    at, window = row_times(row, sheet.reader)
    told = sheet.reader.told
    best = said("Best at {at}, about as good {window}", at=at, window=window) if window else said("Best at {at}", at=at)
    lines = [told(best)]
    for step in row.steps:
        lines.append(told(said("{do} when {what}", do=_do(step), what=step.look_for)) if step.look_for else _do(step))
        lines += [text for text in (step.sure, step.note) if text]
    lines += [text for text in (hands_words(row, sheet.reader), sheet.foot) if text]
    return "\n".join(lines)
