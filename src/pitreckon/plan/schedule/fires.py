"""What the fires of a planned day want, and what is done beside the meat, at the times that its cook will tell."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

from pitreckon import catalog
from pitreckon.ledger import Ledger
from pitreckon.plan.fuel.earlier import Lessons
from pitreckon.plan.fuel.tending import Tending, tending
from pitreckon.plan.schedule.leaving import tasks_of
from pitreckon.plan.schedule.problem import weather_of
from pitreckon.plan.schedule.schedule import Alone, Call, PlannedPit, Schedule, Trip
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon import Task
from pitreckon.reckon import Trip as Walk
from pitreckon.reckon.fires import LATE, fire_tasks, nobody_there
from pitreckon.text.said import clock_time, joined, said
from pitreckon.units import format_duration, seconds_between

SHORT_S: Final = 15 * 60.0
"""Nobody calls a fire left that somebody is back at so soon: common practice, no source."""
NIGHT: Final = range(5)
"""Hours of the clock at which nobody is up unless it is said: common practice, no source."""
SELF_FED: Final = {
    "pellets": "a hopper can bridge, and the fire go out or creep back",
    "gas": "a flame can blow out",
    "electric": "a fuse can trip",
}
"""What can go wrong at a pit that feeds itself: common practice, no source."""


def with_fires(wishes: Wishes, schedule: Schedule, lessons: Lessons | None = None) -> Schedule:
    """The schedule with feeding, water, ash and shutting down, and with what to know of fires that nobody watches.

    Raises InputError: as ``fuel_use``.
    """
    kinds, taught, sky = {pit.label: pit for pit in wishes.pits}, lessons or {}, weather_of(wishes)
    pits = tuple(
        pit
        if pit.lit_utc is None or not pit.lit_utc < pit.off_utc
        else _wanting(pit, tending(kinds[pit.label], pit.lit_utc, pit.off_utc, pit.set_c, sky, taught.get(pit.label)))
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
    for side in tasks_of(wishes):
        trips = _with(trips, Call(side.at_utc, "do", side.label, side.for_s, note=side.do))
    trips.sort(key=lambda trip: (trip.at_utc, not _takes(trip)))
    alone = tuple(unwatched(wishes, tended))
    notes = (*(each.words for each in alone), *_at_night(wishes, trips))
    fuel_kg = sum(pit.fuel_kg for pit in pits)
    return replace(tended, trips=tuple(trips), notes=(*notes, *schedule.notes), alone=alone, fuel_kg=fuel_kg)


def _at_night(wishes: Wishes, trips: Sequence[Trip]) -> Iterator[str]:
    """What is to be done at an hour at which a cook sleeps, where no hours of sleep were said."""
    if any(each.kind == "asleep" for each in wishes.hands.away):
        return
    for trip in trips:
        local = trip.at_utc.astimezone(wishes.zone_info)
        if local.hour in NIGHT and any(call.act not in {"serve", "do"} for call in trip.calls):
            call = trip.calls[0]
            at = clock_time(trip.at_utc, wishes.zone_info, wishes.serve_utc)
            yield said(SOMEBODY_UP, at=at, item=call.on, doing=call.words)
            return


SOMEBODY_UP: Final = "somebody is up at {at} ({item}: {doing}); if nobody is, say when you sleep and plan again"


def _wanting(pit: PlannedPit, wants: Tending) -> PlannedPit:
    """The pit with what its fire wants, and with what it burns by that."""
    return replace(pit, wants=wants, fuel_kg=pit.fuel_kg if wants.total_kg is None else wants.total_kg)


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


def unwatched(wishes: Wishes, schedule: Schedule) -> Iterator[Alone]:
    """When a fire burns that nobody is with, in order of time: from lighting to the last piece's time off the pit."""
    found = []
    for pit in schedule.pits:
        begin = pit.lit_utc or min(item.put_on_utc for item in schedule.items if item.pit == pit.label)
        for from_utc, until_utc in _spans(wishes, begin, pit.off_utc):
            if seconds_between(from_utc, until_utc) >= SHORT_S:
                words = _alone_words(wishes, pit, from_utc, until_utc)
                found.append(Alone(pit.label, from_utc, until_utc, words, _counts_on(wishes, pit, from_utc, until_utc)))
    yield from sorted(found, key=lambda each: (each.from_utc, each.pit))


def _spans(wishes: Wishes, begin: datetime, end: datetime) -> list[tuple[datetime, datetime]]:
    """The hours at which nobody is there that lie in the time of a fire."""
    cut = [(max(left, begin), min(back, end)) for left, back in nobody_there(wishes.hands.away)]
    return [(left, back) for left, back in cut if left < back]


def _counts_on(wishes: Wishes, pit: PlannedPit, from_utc: datetime, until_utc: datetime) -> str:
    """What the promise counts on: a fire whose fuel is gone before anybody is back is fed meanwhile, or it is out."""
    every_s = pit.wants.feed_every_s
    if every_s is None or seconds_between(from_utc, until_utc) <= (1.0 + LATE) * every_s:
        return ""
    begin, end = (clock_time(at, wishes.zone_info, wishes.serve_utc) for at in (from_utc, until_utc))
    return said(COUNTS_ON, pit=pit.label, begin=begin, end=end)


COUNTS_ON: Final = (
    "That counts on somebody feeding {pit} from {begin} to {end}: what burns in it does not last so long."
)


def _alone_words(wishes: Wishes, pit: PlannedPit, from_utc: datetime, until_utc: datetime) -> str:
    """What is to be known of a fire that nobody is with: the rule of every fire brigade for a live one, less for a
    pit that feeds itself; both common practice, no source.
    """
    begin, end = (clock_time(at, wishes.zone_info, wishes.serve_utc) for at in (from_utc, until_utc))
    fuel = catalog.pit(pit.kind).fuel
    every_s = pit.wants.feed_every_s
    long = every_s is not None and seconds_between(from_utc, until_utc) > 0.5 * every_s
    often = format_duration(every_s) if every_s is not None and long else ""
    fields = {"pit": pit.label, "begin": begin, "end": end}
    if fuel in SELF_FED:
        parts = [said(LEFT_BURNING, **fields, why=said(SELF_FED[fuel]))]
        lasts_s = 0.0 if every_s is None else (1.0 + LATE) * every_s
        if often and seconds_between(from_utc, until_utc) > lasts_s:
            lasts = format_duration(900.0 * round(lasts_s / 900.0))
            parts += [said(LEFT_TOO_LONG, span=often, lasts=lasts, end=end)]
        elif often:
            parts += [said("It wants fuel about every {span}: fill it up before you leave.", span=often)]
        return joined(" ", [*parts, said(KEEP_CLEAR)])
    parts = [said(LEFT_COALS, **fields)]
    parts += [said("It wants fuel about every {span}.", span=often)] if often else []
    return joined(" ", [*parts, said("Have somebody there, or cook on a pit that feeds itself")])


LEFT_BURNING: Final = "nobody is with {pit} from {begin} to {end}, and it burns: {why}."
LEFT_COALS: Final = "nobody is with the fire in {pit} from {begin} to {end}: coals and splits are not left alone."
LEFT_TOO_LONG: Final = (
    "It wants fuel about every {span}, and what it holds lasts {lasts}, not till {end}: fill it up before you leave, "
    "and have somebody fill it again."
)
KEEP_CLEAR: Final = (
    "Keep it clear of what can burn, set an alarm on its air, and do as its maker and your fire code say"
)
