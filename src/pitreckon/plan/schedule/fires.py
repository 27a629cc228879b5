"""What the fires of a planned day want, and what is done beside the meat, at the times that its cook will tell."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.plan.fuel.earlier import Lessons
from pitreckon.plan.fuel.tending import tending
from pitreckon.plan.schedule.problem import weather_of
from pitreckon.plan.schedule.schedule import Call, Schedule, Trip
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon import Task
from pitreckon.reckon import Trip as Walk
from pitreckon.reckon.fires import fire_tasks
from pitreckon.units import format_clock, format_duration, seconds_between


def with_fires(wishes: Wishes, schedule: Schedule, lessons: Lessons | None = None) -> Schedule:
    """The schedule with feeding, water, ash and shutting down, and with what to know of fires that nobody watches.

    Raises InputError: as ``fuel_use``.
    """
    kinds, taught, sky = {pit.label: pit for pit in wishes.pits}, lessons or {}, weather_of(wishes)
    pits = tuple(
        pit
        if pit.lit_utc is None or not pit.lit_utc < pit.off_utc
        else replace(
            pit, wants=tending(kinds[pit.label], pit.lit_utc, pit.off_utc, pit.set_c, sky, taught.get(pit.label))
        )
        for pit in schedule.pits
    )
    tended = replace(schedule, pits=pits)
    cook = to_cook(wishes, tended)
    trips = list(schedule.trips)
    walks = [walk for walk in (_walk(trip) for trip in trips) if walk.tasks]
    for told in fire_tasks(cook, Ledger(), trips[0].at_utc, walks):
        call = Call(told.at_utc, told.task.act, told.task.item, note=told.task.note)
        if call.act == "light":
            trips = [replace(t, calls=tuple(_noted(each, call) for each in t.calls)) for t in trips]
        else:
            trips = _with(trips, call)
    for side in wishes.tasks:
        trips = _with(trips, Call(side.at_utc, "do", side.label, side.for_s, note=side.do))
    trips.sort(key=lambda trip: (trip.at_utc, not _takes(trip)))
    return replace(tended, trips=tuple(trips), notes=(*schedule.notes, *_unwatched(wishes, schedule, cook)))


def _with(trips: Sequence[Trip], call: Call) -> list[Trip]:
    """The trips with a call on the one at its minute, or on one of its own."""
    here = next((n for n, trip in enumerate(trips) if trip.at_utc == call.at_utc and _takes(trip)), None)
    if here is None:
        return [*trips, Trip(call.at_utc, (call,))]
    return [replace(t, calls=(*t.calls, call)) if n == here else t for n, t in enumerate(trips)]


def _takes(trip: Trip) -> bool:
    return trip.calls[-1].act != "serve"


def _walk(trip: Trip) -> Walk:
    """A trip as far as it is for the meat."""
    meat = [call for call in trip.calls if call.act not in {"light", "serve"}]
    tasks = tuple(Task(call.on, 1, call.act, None, None, "", None, 1.0, None) for call in meat)
    return Walk(trip.at_utc, trip.at_utc, trip.at_utc, tasks)


def _noted(call: Call, light: Call) -> Call:
    return replace(call, note=light.note) if (call.act, call.on) == ("light", light.on) else call


def _unwatched(wishes: Wishes, schedule: Schedule, cook: Cook) -> Iterator[str]:
    """Fires that want feeding oftener than somebody is there."""
    for pit in schedule.pits:
        every_s = cook.pit(pit.label).feed_every_s
        if every_s is None or pit.lit_utc is None:
            continue
        for away in wishes.hands.away:
            begin, end = max(away.from_utc, pit.lit_utc), min(away.until_utc, pit.off_utc)
            if seconds_between(begin, end) > every_s:
                times = [format_clock(at, wishes.zone_info, seen_from=wishes.serve_utc) for at in (begin, end)]
                yield (
                    f"{pit.label} wants fuel about every {format_duration(every_s)}, and nobody is there from "
                    f"{times[0]} to {times[1]}: have somebody feed it, or use a pit that feeds itself"
                )
