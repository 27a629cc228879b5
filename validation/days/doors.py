"""Does every door tell an act of a planned day at one minute? Plan, outlook, JSON, sheet, calendar, page and alert."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime

from icalendar import Calendar

from pitreckon.alerts.rules import due
from pitreckon.alerts.settings import AlertSettings
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.ledger import Ledger
from pitreckon.plan.schedule.schedule import Schedule
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon import Outlook, reckon
from pitreckon.reckon.document import document_of
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.ics import calendar_of
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.trips import trip_view

Times = dict[tuple[str, str], set[datetime]]


def planned_times(schedule: Schedule) -> Times:
    """When the plan has each act."""
    times: Times = {}
    for trip in schedule.trips:
        for call in trip.calls:
            if call.act != "serve":
                times.setdefault((call.on, call.act), set()).add(trip.at_utc)
    return times


def differences(wishes: Wishes, schedule: Schedule, members: int = 64) -> list[str]:
    """What one door tells otherwise than the plan, in words; nothing where all agree.

    members: of the outlook that the doors are made from
    """
    times = planned_times(schedule)
    cook = cook_from_text(cook_text(to_cook(wishes, schedule)), "made of the plan")
    outlook = reckon(cook, now=cook.begin_utc, members=members)
    told: Times = {}
    for trip in outlook.trips:
        for task in trip.tasks:
            told.setdefault((task.item, task.act), set()).add(trip.at_utc)
    # What the plan leaves out because it comes after serving may stand in the outlook.
    wrong = [f"outlook: {key} {told.get(key)} is {at} in the plan" for key, at in times.items() if told.get(key) != at]
    document: Times = {}
    for each in document_of(outlook).trips:
        for one in each.tasks:
            document.setdefault((one.item, one.act), set()).add(each.at)
    wrong += [] if document == told else ["JSON: not the times of the outlook"]
    reader = Reader(cook.zone)
    sheet = run_sheet(cook, outlook, reader=reader)
    rows = {row.at_utc for row in sheet.rows() if row.kind != "serve"}
    wrong += [] if rows == {trip.at_utc for trip in outlook.trips} else ["sheet: not the times of the outlook"]
    events = Calendar.from_ical(calendar_of(sheet)).walk("VEVENT")
    alarms = {str(alarm["description"]).split(" ")[0] for event in events for alarm in event.walk("VALARM")}
    wrong += (
        [] if alarms == {reader.clock(row.at_utc) for row in sheet.rows()} else ["calendar: not those of the sheet"]
    )
    starts = {event["DTSTART"].dt.astimezone(UTC) for event in events}
    wrong += [] if starts == {row.at_utc for row in sheet.rows()} else ["calendar: begins at another minute"]
    clock = ClockWords(cook.zone_info, outlook.now_utc, Preferences())
    views = [(trip_view(trip, outlook, clock, coming=True).at, clock(trip.at_utc)) for trip in outlook.trips]
    wrong += [f"page: {said}, {at} in the outlook" for said, at in views if said not in {"now", at}]
    return [*wrong, *_alerts(cook, outlook, told)]


LONG_S = 1e7
"""All that is to come is told this long before it, so that one outlook is enough for every alert of a day [s]."""


def _alerts(cook: Cook, outlook: Outlook, told: Times) -> Iterator[str]:
    """What an alert tells at another time: as if all before a trip were done, the trip is the next there is."""
    settings = AlertSettings(cook, ahead_s=LONG_S, back_s=LONG_S)
    clock = settings.clock(outlook.now_utc)
    acts = {(task.item, task.act) for trip in outlook.trips for task in trip.tasks}
    for number, trip in enumerate(outlook.trips):
        rest = outlook.trips[number:]
        here = {task.item: task.act for task in trip.tasks}
        items = tuple(
            replace(item, windows=tuple(w for w in item.windows if w.act == here.get(item.label))[:1])
            for item in outlook.items
        )
        sent = due(replace(outlook, trips=rest, items=items), Ledger(), settings, outlook.now_utc, ())
        (back,) = [each for each in sent if each.kind == "be back"]
        if back.at_utc != trip.at_utc or not back.title.endswith(("now", f" by {clock(trip.at_utc)}")):
            yield f"alert: {back.title}, {clock(trip.at_utc)} in the outlook"
        windows = [each for each in sent if each.kind == "window"]
        for item in items:
            if not item.windows:
                continue
            each = next((alert for alert in windows if alert.on == item.label), None)
            if each is None or each.at_utc != trip.at_utc or each.at_utc not in told[item.label, here[item.label]]:
                yield f"alert: {item.label}: {here[item.label]} at {each and each.at_utc}, {trip.at_utc} in the outlook"
    missing = {(item.label, window.act) for item in outlook.items for window in item.windows} - acts
    yield from (f"alert: {act} of {label} is on no trip" for label, act in sorted(missing))
