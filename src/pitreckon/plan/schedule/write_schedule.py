"""What was picked, in the words of a schedule."""

import math
from collections.abc import Sequence
from datetime import datetime

import numpy as np

from pitreckon.arrays import Bools
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.cpsat import Picked, trip_of
from pitreckon.plan.schedule.schedule import Call, PlannedItem, PlannedPit, Schedule, Span, Trip
from pitreckon.plan.schedule.slots import STRAIGHT_S
from pitreckon.plan.schedule.slots import Call as Doing
from pitreckon.plan.schedule.tables import Day, Option, Task, work_s
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.units import format_temperature, instant_after, seconds_between

BY_CLOCK = frozenset({"light", "put on"})
SOONEST_AGAIN_S = 600.0
"""What is done to one thing twice has so long between, or the times that it was planned for [s]."""
LOW_SET_C = 93.3
"""200 F: meat on a pit cooler than this is long in the danger zone; it is said."""


def schedule_of(wishes: Wishes, amounts: Sequence[Amount], day: Day, picked: Picked, ok: Sequence[Bools]) -> Schedule:
    """What was picked, in the words of a schedule. ok: of each item in unseen scenarios."""

    def at(seconds: float) -> datetime:
        return instant_after(wishes.serve_utc, seconds)

    items, calls = [], []
    for slot, good in zip(picked.slots, ok, strict=True):
        task = day.tasks[slot.task]
        option, wish, amount = task.options[slot.option], wishes.items[slot.task], amounts[slot.task]
        items.append(
            PlannedItem(
                label=wish.label,
                cut=wish.cut,
                pieces=amount.pieces,
                mass_kg=amount.mass_kg,
                pit=option.pit,
                set_c=option.set_c,
                wrapped=option.wrapped,
                stages=option.stages,
                put_on_utc=at(slot.put_on_s),
                off_utc=at(slot.off_s) if math.isfinite(slot.off_s) else wishes.served_at(wish),
                ready=Span(*(at(each) if math.isfinite(each) else wishes.served_at(wish) for each in slot.ready_s)),
                hold_s=slot.hold_s,
                hold_c=wish.hold_c,
                chance=float(np.mean(good)),
                begun=task.begun,
            )
        )
        calls += [
            Call(at(call.at_s), call.act, wish.label, call.for_s, call.wrap, _off_note(wish, option, task, call))
            for call in slot.calls
        ]
    pits = []
    for place in day.places:
        here = [s for s in picked.slots if day.tasks[s.task].options[s.option].pit == place.label]
        if not here:
            continue
        set_c = picked.sets[place.label]
        lit = picked.lights.get(place.label)
        begin_s = lit if lit is not None else min(slot.put_on_s for slot in here)
        end_s = max(min(slot.off_s, 0.0) for slot in here)
        rate = dict(zip(place.sets_c, place.fuel_kg_h, strict=True))[set_c]
        kind = next(pit.kind for pit in wishes.pits if pit.label == place.label)
        pits.append(
            PlannedPit(
                place.label,
                kind,
                set_c,
                None if lit is None else at(lit),
                at(end_s),
                rate * (end_s - begin_s) / 3600.0,
            )
        )
        if lit is not None:
            calls.append(Call(at(lit), "light", place.label, work_s("light", 1)))
    calls.append(Call(wishes.serve_utc, "serve", wishes.name))
    beside = {(task.label, task.at_utc) for task in wishes.tasks}  # what is done with it then is no serving
    own = [wish for wish in wishes.items if wish.serve_utc not in {None, wishes.serve_utc}]
    own = [wish for wish in own if (wish.label, wish.serve_utc) not in beside]
    calls += [Call(wishes.served_at(wish), "serve", wish.label) for wish in own]
    together = np.all(list(ok), axis=0)
    return Schedule(
        name=wishes.name,
        zone=wishes.zone,
        serve_utc=wishes.serve_utc,
        pits=tuple(pits),
        items=tuple(items),
        trips=trips_of(calls, wishes.serve_utc),
        chance=float(np.mean(together)),
        sampled=picked.on_time / day.members,
        fuel_kg=sum(pit.fuel_kg for pit in pits),
        notes=_low_pits(pits),
    )


def _off_note(wish: ItemWish, option: Option, task: Task, call: Doing) -> str:
    """Where it goes from the pit, if it neither rests nor is served at once: then nobody is called to it again."""
    rests = option.stages[-1].kind not in PIT_KINDS
    straight = task.serve_s - call.at_s <= STRAIGHT_S or wish.most_hold_s <= 0.0
    return "" if call.act != "take off" or rests or straight else "into the warm place"


def trips_of(calls: Sequence[Call], serve_utc: datetime) -> tuple[Trip, ...]:
    """Calls of one quarter of an hour are one trip, at one time: that of lighting or putting on, if one is among them.

    What is done to one thing twice in it takes two trips, and so do two things by the clock at different times.
    """
    serve = serve_utc.timestamp()
    trips: list[list[Call]] = []
    quarter = None
    last: dict[str, datetime] = {}
    for call in sorted(calls, key=lambda call: (call.at_utc, call.act, call.on)):
        here = trip_of(call.at_utc.timestamp() - serve)
        fits = here == quarter and call.act != "serve" and call.on not in {other.on for other in trips[-1]}
        if fits and call.on in last:  # a glaze that was put on just before is not taken off for the sake of a walk
            then = _fixed(trips[-1], trips[-1][0])
            fits = call.at_utc <= then or seconds_between(last[call.on], then) >= SOONEST_AGAIN_S
        if not fits or (call.act in BY_CLOCK and _fixed(trips[-1], call) != call.at_utc):
            trips.append([])
        trips[-1].append(call)
        last[call.on] = _fixed(trips[-1], trips[-1][0])
        quarter = here
    return tuple(Trip(_fixed(group, group[0]), tuple(group)) for group in trips)


def _fixed(calls: Sequence[Call], other: Call) -> datetime:
    """The time of those calls that are by the clock, else that of another."""
    return next((call.at_utc for call in calls if call.act in BY_CLOCK), other.at_utc)


def _low_pits(pits: Sequence[PlannedPit]) -> tuple[str, ...]:
    return tuple(
        f"{pit.label} at {format_temperature(pit.set_c)} is below {format_temperature(LOW_SET_C)}: meat is long in the "
        "danger zone there; run it hotter unless a tested process says otherwise"
        for pit in pits
        if pit.set_c < LOW_SET_C
    )
