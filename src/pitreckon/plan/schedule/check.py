"""Is a planned day one that can be done, and as it was asked for? It knows nothing of how the day was found.

It reads wishes and a schedule, and lists what is wrong in plain sentences. Nothing of slots, solver or model is
imported here, and no time is counted in bins: what overlaps by a second overlaps.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from pitreckon import catalog
from pitreckon.plan.fuel.balance import fire_of
from pitreckon.plan.schedule.courses import courses_of, is_wrapped
from pitreckon.plan.schedule.schedule import TENDING, Call, PlannedItem, PlannedPit, Schedule
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import LEAST_HOLD_C, ItemWish, PitWish, Wishes
from pitreckon.units import format_duration, format_percent, format_temperature

STRAIGHT_TO_TABLE: Final = timedelta(minutes=20)
"""What is ready so shortly before serving needs no warm place."""
SLACK: Final = timedelta(seconds=1)
IDLE: Final = timedelta(hours=1, minutes=1)
"""A fire that stands hot for longer before anything goes on is lit too early."""
ALONE: Final = timedelta(minutes=15)
"""A fire that nobody is with for so long is named."""
CHANCE_SLACK: Final = 1e-9
CHANCE_ERROR: Final = 0.075
"""Two standard errors of a share near one half among 192 scenarios, and a little."""


def faults_of(
    wishes: Wishes, schedule: Schedule, *, chance: float | None = None, now_utc: datetime | None = None
) -> tuple[str, ...]:
    """Everything about a schedule that is not as asked, or cannot be done; nothing when it is good.

    chance: that it is held against, in place of the one that was asked; of the scenarios that the choice has seen
    now_utc: of the rest of a day; what was to be lit before it burns
    """
    return tuple(_faults(wishes, schedule, wishes.chance if chance is None else chance, now_utc))


def _faults(wishes: Wishes, schedule: Schedule, chance: float, now_utc: datetime | None) -> Iterator[str]:
    if schedule.serve_utc != wishes.serve_utc:
        yield "it is served at another time than was asked"
    planned = {item.label: item for item in schedule.items}
    for wish in wishes.items:
        if wish.label not in planned:
            yield f"{wish.label} is not in the schedule"
    for label in planned:
        if label not in {wish.label for wish in wishes.items}:
            yield f"{label} was not asked for"
    by_label = {wish.label: wish for wish in wishes.items}
    for item in schedule.items:
        if item.label in by_label:
            yield from _item(wishes, by_label[item.label], item, schedule)
    yield from _pits(wishes, schedule, now_utc)
    yield from _hands(wishes, schedule)
    yield from _warm_place(wishes, schedule)
    if schedule.sampled < chance - CHANCE_SLACK:
        yield f"{format_percent(schedule.sampled)} of its scenarios are on time, {format_percent(chance)} were asked"
    if schedule.chance < chance - CHANCE_ERROR:
        yield f"{format_percent(schedule.chance)} of unseen scenarios are on time, {format_percent(chance)} were asked"


def _item(wishes: Wishes, wish: ItemWish, item: PlannedItem, schedule: Schedule) -> Iterator[str]:
    name = item.label
    if item.cut != wish.cut:
        yield f"{name} is of another cut"
    if wish.pieces is not None and item.pieces != wish.pieces:
        yield f"{name} is {item.pieces} pieces, {wish.pieces} were asked"
    if wish.pits and item.pit not in wish.pits:
        yield f"{name} lies on {item.pit}, where it may not"
    serve = wishes.served_at(wish)
    if item.put_on_utc >= serve:
        yield f"{name} goes on after it is served"
    if not item.begun:
        if wish.put_on_utc is not None and item.put_on_utc != wish.put_on_utc:
            yield f"{name} goes on at another time than was asked"
        for limit, words in ((wishes.earliest_utc, "work may begin"), (wishes.planned_utc, "the plan is made")):
            if limit is not None and item.put_on_utc < limit:
                yield f"{name} goes on before {words}"
    if wish.wrapping == "with" and not item.wrapped:
        yield f"{name} is to be wrapped and is not"
    if wish.wrapping == "without" and item.wrapped:
        yield f"{name} is not to be wrapped and is"
    if wish.most_hold_s > 0.0 and item.hold_c < LEAST_HOLD_C:
        yield f"{name} is held at {format_temperature(item.hold_c)}, below {format_temperature(LEAST_HOLD_C)}"
    yield from _course(wishes, wish, item)
    if schedule.sampled > 0.0:  # else its hold is the mean of nothing
        yield from _held(wish, item)
    if not item.put_on_utc < item.ready.p05 <= item.ready.p50 <= item.ready.p95:
        yield f"{name} is ready before it goes on, or its times do not follow each other"
    if item.off_utc <= item.put_on_utc:
        yield f"{name} is off the pit before it goes on"
    if item.chance >= 0.5 and item.ready.p50 > serve + SLACK:
        yield f"{name} is ready after serving in most scenarios, and said to be on time in most"
    if item.chance < schedule.chance - CHANCE_SLACK:
        yield f"{name} is on time less often than all of it together"
    on = [call for call in schedule.calls if call.on == name]
    if not any(call.act == "take off" for call in on) and item.off_utc < serve and not item.begun:
        yield f"nobody takes {name} off"
    if item.wrapped and not item.begun and not any(call.act == "wrap" for call in on):
        yield f"{name} is wrapped, and nobody wraps it"
    puts = [call for call in on if call.act == "put on"]
    if not item.begun and [call.at_utc for call in puts] != [item.put_on_utc]:
        yield f"nobody puts {name} on when it is to go on"
    order = [call.at_utc for call in on]
    if order != sorted(order):
        yield f"what is done to {name} is out of order"
    if any(call.at_utc < item.put_on_utc for call in on):
        yield f"something is done to {name} before it goes on"


def _course(wishes: Wishes, wish: ItemWish, item: PlannedItem) -> Iterator[str]:
    """Its course is one that the cut or the cook has, to the end."""
    courses = courses_of(wish, wishes.zone_info, wishes.serve_utc - timedelta(days=1))
    if not item.begun and item.stages not in courses:
        yield f"{item.label} does not go through a course of its cut, or of its own"
    if item.wrapped != is_wrapped(item.stages) and not item.begun:
        yield f"{item.label} is said to be {'wrapped' if item.wrapped else 'bare'}, and its course is otherwise"


def _held(wish: ItemWish, item: PlannedItem) -> Iterator[str]:
    """It is held neither too long nor too short, and gets the rest that goes with its minimum."""
    longest_s = max(wish.most_hold_s, STRAIGHT_TO_TABLE.total_seconds())
    if item.hold_s > longest_s + 1.0:
        yield f"{item.label} is held {format_duration(item.hold_s)}, longer than {format_duration(longest_s)}"
    if item.hold_s < wish.shortest_hold_s - 1.0:
        shortest = format_duration(wish.shortest_hold_s)
        yield f"{item.label} is held {format_duration(item.hold_s)}, shorter than {shortest}"
    rests_s = sum(stage.until.duration_s or 0.0 for stage in item.stages if stage.kind == "rest")
    least_s = catalog.cut(item.cut).texture.least_rest_s.value
    if rests_s + item.hold_s < least_s - 1.0:
        yield f"{item.label} does not get the rest of {format_duration(least_s)} that goes with its minimum"


def _pits(wishes: Wishes, schedule: Schedule, now_utc: datetime | None) -> Iterator[str]:
    kinds = {pit.label: pit for pit in wishes.pits}
    used = {pit.label: pit for pit in schedule.pits}
    if len(used) < len(schedule.pits):
        yield "a pit is in the schedule twice"
    for item in schedule.items:
        pit = used.get(item.pit)
        if pit is None:
            yield f"{item.label} lies on {item.pit}, which is not lit"
        elif abs(pit.set_c - item.set_c) > 0.01:
            yield f"{item.label} wants {format_temperature(item.set_c)}, {pit.label} stands at another temperature"
    for label, pit in used.items():
        if label not in kinds:
            yield f"there is no pit {label}"
            continue
        if not any(abs(pit.set_c - allowed) < 0.01 for allowed in kinds[label].sets_c):
            yield f"{label} is set to {format_temperature(pit.set_c)}, which was not allowed"
        yield from _fire(wishes, kinds[label], pit, schedule, now_utc)
        yield from _room(kinds[label], label, wishes, schedule)


def _fire(
    wishes: Wishes, wish: PitWish, pit: PlannedPit, schedule: Schedule, now_utc: datetime | None
) -> Iterator[str]:
    here = [item for item in schedule.items if item.pit == pit.label]
    if not here:
        yield f"{pit.label} is lit for nothing"
        return
    if pit.lit_utc is None:
        if not any(item.begun for item in here):
            yield f"{pit.label} is never lit"
        return
    lights_s = fire_of(catalog.pit(wish.kind)).lit_s.value if wish.lit_s is None else wish.lit_s
    first = min((item.put_on_utc for item in here if not item.begun), default=wishes.serve_utc)
    if pit.lit_utc + timedelta(seconds=lights_s) > first + SLACK:
        yield f"{pit.label} is not hot yet when the first piece goes on"
    fixed = {item.label for item in wishes.items if item.put_on_utc is not None}
    free = now_utc is None and not any(item.begun or item.label in fixed for item in here)
    if free and pit.lit_utc + timedelta(seconds=lights_s) + IDLE < first:
        yield f"{pit.label} stands hot for too long before the first piece goes on"
    if wishes.earliest_utc is not None and pit.lit_utc < wishes.earliest_utc:
        yield f"{pit.label} is lit before work may begin"
    lit = [call for call in schedule.calls if call.act == "light" and call.on == pit.label]
    burns = any(item.begun for item in here) or (now_utc is not None and pit.lit_utc <= now_utc)
    if not lit and burns:
        return
    if [call.at_utc for call in lit] != [pit.lit_utc]:
        yield f"nobody lights {pit.label} when it is to be lit"


def _room(wish: PitWish, label: str, wishes: Wishes, schedule: Schedule) -> Iterator[str]:
    thin = {item.label: item.thickness_factor for item in wishes.items}
    here = [item for item in schedule.items if item.pit == label]
    for at_utc in sorted({item.put_on_utc for item in here}):
        on = [item for item in here if item.put_on_utc <= at_utc < item.off_utc]
        lots = [Pieces(i.label, i.cut, i.pieces, i.mass_kg, thin.get(i.label, 1.0)) for i in on]
        if lots and not room_for(wish, lots).fits:
            yield f"{', '.join(item.label for item in on)} do not lie on {label} together"
            return


def _hands(wishes: Wishes, schedule: Schedule) -> Iterator[str]:
    work = [call for call in schedule.calls if call.act != "serve" and call.act not in TENDING]
    for call in work:
        for away in wishes.hands.away:
            if call.at_utc < away.until_utc and _end(call) > away.from_utc:
                yield f"{call.on}: {call.act} falls into a time when nobody is there"
    yield from _fires_alone(wishes, schedule)
    for call in work:
        at_once = [other for other in work if other is call or other.at_utc <= call.at_utc < _end(other)]
        if len(at_once) > wishes.hands.cooks:
            acts = ", ".join(sorted(f"{other.on}: {other.act}" for other in at_once))
            yield f"{acts} want {len(at_once)} pairs of hands at once"
            return


def _fires_alone(wishes: Wishes, schedule: Schedule) -> Iterator[str]:
    """No fire is to be seen to while nobody is there, and one that burns then is named, once its fires are planned."""
    tended = [call for call in schedule.calls if call.act in TENDING and call.act != "do"]
    for away in wishes.hands.away:
        for call in tended:
            if away.from_utc <= call.at_utc < away.until_utc:
                yield f"{call.on}: {call.act} falls into a time when nobody is there"
        for pit in schedule.pits if tended else ():
            begin = max(away.from_utc, pit.lit_utc or away.from_utc)
            long = min(away.until_utc, pit.off_utc) - begin >= ALONE
            if long and not any(a.pit == pit.label and a.from_utc <= begin < a.until_utc for a in schedule.alone):
                yield f"nobody is with {pit.label} while it burns, and it is not said"


def _end(call: Call) -> datetime:
    return call.at_utc + timedelta(seconds=call.for_s)


def _warm_place(wishes: Wishes, schedule: Schedule) -> Iterator[str]:
    if wishes.hold_places is None:
        return
    serves = {wish.label: wishes.served_at(wish) for wish in wishes.items}
    held = [i for i in schedule.items if i.ready.p50 < serves.get(i.label, wishes.serve_utc) - STRAIGHT_TO_TABLE]
    count = sum(item.pieces for item in held)
    if count > wishes.hold_places:
        yield f"{count} pieces are to be held warm, there is room for {wishes.hold_places}"
