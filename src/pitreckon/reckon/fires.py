"""What the fires want: lighting, fuel, water, ash and shutting down, as tasks beside those of the meat.

How often a fire wants something stands in the cook's plan (``PitPlan``); what was recorded moves the next time. What is
not recorded is taken as done in its time: a cook who does not write down every split is not told of them as overdue.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from pitreckon import catalog
from pitreckon.cook import Away, Cook, PitPlan
from pitreckon.ledger import Act, Ledger
from pitreckon.ledger.events import OFF_ACTS
from pitreckon.reckon.outlook import Task, Trip
from pitreckon.reckon.timetable import Told
from pitreckon.reckon.waterpan import has_pan
from pitreckon.text.said import bulk, instant, joined, said, temperature
from pitreckon.units import format_duration, instant_after, seconds_between

FIRE_ACTS: Final = ("light", "feed", "water", "ash", "shut down")
DONE_AS: Final = {
    "light": "lit",
    "feed": "fed the fire",
    "water": "filled the pan",
    "ash": "knocked the ash down",
    "shut down": "shut down",
}
"""What each is called in the ledger once it was done."""
GRACE: Final = timedelta(minutes=5)
"""So long after its time a feeding that nobody recorded counts as due, then as done."""
LEAVING: Final = timedelta(minutes=10)
"""So long before somebody leaves a fire is seen to, or by as much sooner on a walk that is made anyway."""
WORTH: Final = 1.0 / 12.0
"""A fire that was fed less than this share of its interval ago is not fed again for the sake of leaving."""
BACK_S: Final = 45 * 60.0
"""So long at the most after somebody is back it is told what was due meanwhile, unless it was recorded [s]."""
AGAIN: Final = 0.5
"""What was filled before leaving and has less than this share of its interval left then is seen to again at once."""
EARLY, LATE = 1.0 / 3.0, 1.0 / 6.0
"""A fire is fed by so much of its interval sooner or later where somebody is at the pit then: common practice."""


def fire_tasks(cook: Cook, ledger: Ledger, now: datetime, trips: Sequence[Trip]) -> tuple[Told, ...]:
    """What the fires of a cook want from now on, the next of each kind.

    ledger: what is known by now; trips: those for the meat
    """
    return tuple(each for pit in cook.pits for each in _of_pit(pit, cook, ledger, now, trips))


def _of_pit(pit: PitPlan, cook: Cook, ledger: Ledger, now: datetime, trips: Sequence[Trip]) -> Iterator[Told]:
    acts = ledger.acts(pit.label)
    on_it = [item for item in cook.items if item.pit == pit.label]
    if pit.light_utc is None or not on_it or any(act.act == "shut down" for act in acts):
        return
    first_on = min(item.put_on_utc for item in on_it)
    labels = {item.label for item in on_it}
    tended = any(act.act in DONE_AS.values() for act in acts)
    put_on = any(act.act == "put on" for label in labels for act in ledger.acts(label))
    burns = tended or put_on or now >= first_on
    if not burns:
        yield _told(pit, "light", max(pit.light_utc, now), _light_note(pit, first_on, cook), planned=pit.light_utc)
    off_trips = [trip for trip in trips if any(task.item in labels and task.act == "take off" for task in trip.tasks)]
    out = max((trip.at_utc for trip in off_trips), default=None)
    if out is None:
        if burns and all(any(act.act in OFF_ACTS for act in ledger.acts(label)) for label in labels):
            yield _told(pit, "shut down", now, _shut_note(pit))
        return
    for act, every_s in (("feed", pit.feed_every_s), ("water", pit.water_every_s), ("ash", pit.ash_every_s)):
        if every_s is not None:
            yield from _again(pit, act, every_s, acts, now, trips, out, cook)
    yield _told(pit, "shut down", out, _shut_note(pit))


def _again(
    pit: PitPlan,
    act: str,
    every_s: float,
    acts: Sequence[Act],
    now: datetime,
    trips: Sequence[Trip],
    out: datetime,
    cook: Cook,
) -> Iterator[Told]:
    """The next time of what is done again and again, on a trip for the meat where one is near; none near the end.

    Where nobody is there then it is done when they are back, if it keeps so long; else before they leave.
    """
    assert pit.light_utc is not None
    lit = next((each.at_utc for each in acts if each.act == "lit"), pit.light_utc)
    last = max([lit, *(each.at_utc for each in acts if each.act == DONE_AS[act])])
    at = instant_after(last, every_s)
    while (due := _when_back(at, cook.away)) < now - (GRACE if due == at else max(GRACE, _told_for(every_s))):
        last, at = due, instant_after(due, every_s)
    at = max(at, now)
    gone = next((each for each in nobody_there(cook.away) if each[0] <= at < each[1]), None)
    before, share = "", 1.0
    high = instant_after(at, LATE * every_s)
    if gone is not None:
        leaving = max(gone[0] - LEAVING, now)
        share = min(seconds_between(last, leaving) / every_s, 1.0)
        if gone[1] > high and leaving < gone[0] and share >= WORTH:
            at, high = leaving, gone[0] - timedelta(seconds=1)
            till = instant(gone[1], f"{gone[1].astimezone(cook.zone_info):%H:%M}")
            again = instant_after(leaving, every_s) < instant_after(gone[1], AGAIN * every_s)
            again = again and seconds_between(gone[1], out) >= 0.5 * every_s
            before = said(LEFT_AND_AGAIN if again else LEFT, end=till)
        else:
            at, high, share = gone[1], instant_after(gone[1], LATE * every_s), 1.0
    if seconds_between(at, out) < 0.5 * every_s:
        return
    low = max(at - (LEAVING if before else timedelta(seconds=EARLY * every_s)), now)
    at_pit = [trip.at_utc for trip in trips if any(task.act != "hold" for task in trip.tasks)]
    near = [
        each for each in at_pit if low <= each <= high and not any(a <= each < b for a, b in nobody_there(cook.away))
    ]
    if near:
        at = min(near, key=lambda each: abs(seconds_between(each, at)))
    there = any(a < out and b > at for a, b in nobody_there(cook.away))
    often = "about every {span} while somebody is there, to the end" if there else "about every {span}, to the end"
    many = said(often, span=format_duration(every_s))
    once = seconds_between(at, out) < 1.5 * every_s
    amount = _amount(pit, act, share)
    note = amount or ("" if once else many)
    if amount and not once:
        note = said("{amount}, then {often}", amount=amount, often=many)
    note = joined("; ", [part for part in (note, before) if part])
    yield _told(pit, act, at, note, every_s=None if once else every_s, until=None if once else out)


LEFT: Final = "before you leave: nobody is there till {end}"
LEFT_AND_AGAIN: Final = "before you leave: nobody is there till {end}, and again then"


def _when_back(at: datetime, away: Sequence[Away]) -> datetime:
    """When something can be done that is due then: where nobody is there nothing was, once they are back."""
    return next((back for gone, back in nobody_there(away) if gone <= at < back), at)


def _told_for(every_s: float) -> timedelta:
    """How long what was due while nobody was there is told once they are back."""
    return timedelta(seconds=min(every_s, BACK_S))


def nobody_there(away: Sequence[Away]) -> list[tuple[datetime, datetime]]:
    """From when to when nobody is there; times that touch are one."""
    out: list[tuple[datetime, datetime]] = []
    for each in sorted(away, key=lambda each: each.from_utc):
        if out and each.from_utc <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], each.until_utc))
        else:
            out.append((each.from_utc, each.until_utc))
    return out


def _told(
    pit: PitPlan,
    act: str,
    at: datetime,
    note: str,
    *,
    planned: datetime | None = None,
    every_s: float | None = None,
    until: datetime | None = None,
) -> Told:
    task = Task(pit.label, 1, act, None, None, "", None, 1.0, None, planned, note, every_s, until)
    return Told(task, at, at, at)


def _amount(pit: PitPlan, act: str, share: float = 1.0) -> str:
    """How much fuel, in words; share: of what goes on when all of its interval is over, of fuel that is poured."""
    if act != "feed" or pit.feed_kg is None:
        return ""
    kind = catalog.pits()[pit.kind]
    fuel = catalog.fuels()[kind.fuel]
    piece = 0.0 if fuel.piece_kg is None else fuel.piece_kg.value
    mass = bulk(pit.feed_kg)
    if piece >= 0.5:
        count = max(round(pit.feed_kg / piece), 1)
        return said("{n} splits, {mass}" if count > 1 else "{n} split, {mass}", n=count, mass=mass)
    name = said(fuel.name.lower())
    if share < 1.0:
        filled = bulk(share * pit.feed_kg)
        return said("fill it up, about {mass} of {fuel}", mass=filled, fuel=name)
    return said("{mass} of {fuel}", mass=mass, fuel=name)


def _light_note(pit: PitPlan, first_on: datetime, cook: Cook) -> str:
    kind = catalog.pits()[pit.kind]
    parts = [said(BEFORE[kind.fuel])] if kind.fuel in BEFORE else []
    if has_pan(kind, pit.water_pan):
        parts.append(said("fill the water pan"))
    by = instant(first_on, f"{first_on.astimezone(cook.zone_info):%H:%M}")
    steady = temperature(pit.set_c)
    return joined(", ", [*parts, said("steady at {set} by {at}", set=steady, at=by)])


BEFORE: Final = {
    "split-hardwood": "clean out the old ash first",
    "lump-charcoal": "clean out the old ash first",
    "briquettes": "clean out the old ash first",
    "pellets": "empty the ash from the pot and fill the hopper first",
    "gas": "with the lid open until it burns",
}
"""What is done before a fire is lit, by fuel: common practice, no source."""


def _shut_note(pit: PitPlan) -> str:
    fuel = catalog.pits()[pit.kind].fuel
    return said(SHUT.get(fuel, CLOSE_VENTS))


CLOSE_VENTS: Final = "once all is off it: close all vents; ash stays hot for a day or more"
SHUT: Final = {
    "electric": "once all is off it",
    "gas": "once all is off it: turn it off, and the valve at the bottle or the wall",
    "pellets": "once all is off it: by its own switch, so that the fan empties the pot",
}
"""How a fire is ended, by fuel: common practice, no source."""
