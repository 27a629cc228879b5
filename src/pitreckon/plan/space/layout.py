"""Whether the meat finds room on a pit, and which piece lies where.

A grate is a strip of usable area from its hottest place to its coolest; pieces lie along it with their gaps, each
whole on one grate. That is coarser than laying out a drawing: ``usable_share`` of the catalog has to hold what
corners and odd shapes waste. A piece that is higher than the room between two grates (a turkey in a cabinet) stands
where the grates above it are taken out: it counts on each of them.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from pitreckon import catalog
from pitreckon.catalog import Pit, PitPlace, PitRoom
from pitreckon.cook import ItemPlan
from pitreckon.cook.plan import PitPlan
from pitreckon.errors import InputError, Place
from pitreckon.plan.space.footprint import Footprint, Pieces, footprint, pieces_of
from pitreckon.plan.wishes import ItemWish, PitWish
from pitreckon.units import format_percent

_SLACK_M2, _SLACK_M = 1e-9, 1e-9


@dataclass(frozen=True, slots=True)
class Lie:
    """So many pieces of an item in one place. offset_k: [K] its air less the mean of the grates."""

    label: str
    count: int
    place: str
    offset_k: float


@dataclass(frozen=True, slots=True)
class GrateLayout:
    """One grate, counted from the top. used_m2 of usable_m2 [m2] is taken; lies: from its hottest place on."""

    number: int
    usable_m2: float
    used_m2: float
    lies: tuple[Lie, ...]


@dataclass(frozen=True, slots=True)
class Room:
    """What finds room on a pit.

    fits: everything does; used_share: [-] needed over usable area, above 1 when there is too little
    need_m2, usable_m2: [m2] area that the pieces take with their gaps, and what there is
    grates: who lies where; over: label and count of what found no room
    holder: racks of ribs stand in a holder; trouble, remedy: why it does not fit and what would help, else ""
    notes: what to mind
    """

    pit: str
    fits: bool
    used_share: float
    need_m2: float
    usable_m2: float
    grates: tuple[GrateLayout, ...]
    over: tuple[tuple[str, int], ...]
    holder: bool
    trouble: str
    remedy: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Level:
    usable_m2: float
    places: tuple[PitPlace, ...]  # hottest first


def places_of(pit: PitWish | PitPlan) -> float:
    """Usable area of all grates of a pit [m2]: what :func:`places_needed` is to be summed against.

    Raises InputError where the catalog does not know the pit's room and the cook does not say it.

    >>> round(places_of(PitWish("smoker", "offset-log-burner", (107.0,))), 3)
    0.600
    """
    return sum(level.usable_m2 for level in _levels(pit))


def places_needed(
    item: Pieces | ItemWish | ItemPlan,
    mass_kg: float | None = None,
    pit: PitWish | PitPlan | None = None,
    *,
    holder: bool = False,
) -> float:
    """Area that one piece of an item takes [m2], gaps included; ``mass_kg`` [kg] of it if the item leaves it open.

    With a ``pit`` the area is a whole part of a grate (a third where three lie on one), so that a sum over one item
    is below :func:`places_of` just where :func:`room_for` finds room; inf where not even one goes on.
    """
    one = pieces_of(item, 1 if isinstance(item, ItemWish) and item.pieces is None else None, mass_kg)
    print_ = _footprint(one, holder)
    if pit is None:
        return print_.area_m2
    room, levels = _room(pit), _levels(pit)
    grate_m2 = levels[0].usable_m2
    on_one = math.floor((grate_m2 + _SLACK_M2) / print_.area_m2)
    if on_one == 0 or _too_big(print_, room, len(levels)):
        return math.inf
    in_use = len(levels) // _grates_high(print_, room)  # the others are taken out, or too few to stand in
    return grate_m2 * len(levels) / (on_one * in_use)


def room_for(pit: PitWish | PitPlan, items: Sequence[Pieces | ItemPlan | ItemWish], *, holder: bool = False) -> Room:
    """Lay items on a pit: what is large first, then thick to the hot and thin or nearly done to the cool places.

    holder: racks of ribs stand in a holder, bones up. Never raises for too much meat: see ``fits``, ``trouble``
    and ``remedy``, or call :func:`need_room`. Raises InputError where the pit's room or a count is not known.

    >>> pit = PitWish("smoker", "pellet-cooker", (107.0,))
    >>> room = room_for(pit, [Pieces("ribs", "st-louis-ribs", 4, 1.22)])
    >>> room.fits, round(room.used_share, 2)
    (True, 0.70)
    >>> room_for(pit, [Pieces("ribs", "st-louis-ribs", 10_000, 1.22)]).trouble
    "10000 pieces need 487.5 m2 with their gaps, 'smoker' has 0.28 m2: 5 find room"
    """
    lots = [pieces_of(item) for item in items]
    room, levels = _room(pit), _levels(pit)
    prints = [_footprint(lot, holder) for lot in lots]
    usable = sum(level.usable_m2 for level in levels)
    need = sum(lot.count * each.area_m2 * _grates_high(each, room) for lot, each in zip(lots, prints, strict=True))
    held, left, out = _spread_out(lots, prints, room, levels)
    over = tuple((lot.label, n) for lot, n in zip(lots, left, strict=True) if n)
    trouble, remedy = "", ""
    if over:
        trouble = _trouble(pit, lots, prints, room, levels, need, usable, over)
        remedy = _remedy(pit, lots, prints, room, over, holder)
    grates = tuple(
        _laid(n, level, lots, prints, counts) for n, (level, counts) in enumerate(zip(levels, held, strict=True), 1)
    )
    share = need / usable
    notes = _notes(lots, room, out)
    return Room(pit.label, not over, share, need, usable, grates, over, holder, trouble, remedy, notes)


def need_room(pit: PitWish | PitPlan, items: Sequence[Pieces | ItemPlan | ItemWish], *, holder: bool = False) -> Room:
    """As :func:`room_for`, but raises InputError, with the numbers and a remedy, when it does not fit."""
    room = room_for(pit, items, holder=holder)
    if not room.fits:
        raise InputError(room.trouble, room.remedy, Place(field="pieces"))
    return room


def _room(pit: PitWish | PitPlan) -> PitRoom:
    kind = _kind(pit)
    if kind.room is None:
        raise InputError(
            f"the catalog does not say how much room there is on '{kind.key}'",
            "Add a [room] to its file, as the pits that come with Pitreckon have",
            Place(field="kind"),
        )
    room = kind.room
    if isinstance(pit, PitWish) and pit.grate_m2 is not None:
        # a grate of another size has the same proportions
        across_m = room.across_m.value * math.sqrt(pit.grate_m2 / room.grate_m2.value)
        return replace(room, across_m=replace(room.across_m, value=across_m))
    return room


def _kind(pit: PitWish | PitPlan) -> Pit:
    return catalog.pit(pit.kind)


def _levels(pit: PitWish | PitPlan) -> list[_Level]:
    room = _room(pit)
    grates, grate_m2 = int(room.grates.value), room.grate_m2.value
    if isinstance(pit, PitWish):
        grates = grates if pit.grates is None else pit.grates
        grate_m2 = grate_m2 if pit.grate_m2 is None else pit.grate_m2
    usable = grate_m2 * room.usable_share.value
    places = _kind(pit).place
    if not places:
        return [_Level(usable, ())] * grates
    if room.places_along == "grate":
        hot_first = tuple(sorted(places, key=lambda place: -place.offset_k.value))
        return [_Level(usable, hot_first)] * grates
    return [_Level(usable, (_at(places, (n + 0.5) / grates),)) for n in range(grates)]


def _at(places: Sequence[PitPlace], share: float) -> PitPlace:
    passed = 0.0
    for place in places:
        passed += place.share.value
        if share < passed:
            return place
    return places[-1]


def _footprint(lot: Pieces, holder: bool) -> Footprint:
    return footprint(catalog.cut(lot.cut), lot.mass_kg, thickness_factor=lot.thickness_factor, holder=holder)


def _grates_high(one: Footprint, room: PitRoom) -> int:
    """How many times the room above a grate a piece takes; past the first, the grates above it are taken out."""
    return max(1, math.ceil((one.height_m - _SLACK_M) / room.clear_m.value))


def _too_big(one: Footprint, room: PitRoom, grates: int) -> str:
    if one.length_m > room.across_m.value:
        return f"{one.length_m * 1000:.0f} mm long with its gap, the grate is {room.across_m.value * 1000:.0f} mm"
    if _grates_high(one, room) > grates:
        most = "above the grate are" if grates == 1 else "with the other grates taken out there are"
        return f"{one.height_m * 1000:.0f} mm high, {most} {grates * room.clear_m.value * 1000:.0f} mm"
    return ""


def _spread_out(
    lots: Sequence[Pieces], prints: Sequence[Footprint], room: PitRoom, levels: Sequence[_Level]
) -> tuple[list[list[int]], list[int], int]:
    """Count of each lot on each level, of each that found no room, and how many grates are taken out.

    Highest first, then largest footprint; hottest level first.
    """
    held = [[0] * len(lots) for _ in levels]
    left = [lot.count for lot in lots]
    free = [level.usable_m2 for level in levels]
    opened = [1] * len(levels)  # how many times the room above a grate is free over each; 0: it is taken out
    hot_first = sorted(range(len(levels)), key=lambda k: -_mean_offset(levels[k]))
    high = [_grates_high(each, room) for each in prints]
    for i in sorted(range(len(lots)), key=lambda k: (-high[k], -prints[k].area_m2, k)):
        if _too_big(prints[i], room, len(levels)):
            continue
        # what is nearly done goes to the cool levels; everything thick to the hot ones
        for k in reversed(hot_first) if lots[i].done else hot_first:
            n = min(left[i], math.floor((free[k] + _SLACK_M2) / prints[i].area_m2))
            if n == 0 or not _opens(k, high[i], opened, free, levels):
                continue
            held[k][i] += n
            left[i] -= n
            free[k] -= n * prints[i].area_m2
    return held, left, opened.count(0)


def _opens(k: int, high: int, opened: list[int], free: list[float], levels: Sequence[_Level]) -> bool:
    """Is there room above level ``k``; where nothing lies on them yet, the grates above are taken out for it."""
    if opened[k] == 0 or high <= opened[k]:
        return opened[k] > 0
    # counted from the lowest, so that as many stand above each other as can
    above = range(k - high + 1, k)
    if (len(levels) - 1 - k) % high or k - high + 1 < 0 or any(free[j] < levels[j].usable_m2 for j in above):
        return False
    for j in above:
        opened[j], free[j] = 0, 0.0
    opened[k] = high
    return True


def _mean_offset(level: _Level) -> float:
    total = sum(place.share.value for place in level.places)
    return sum(place.share.value * place.offset_k.value for place in level.places) / total if total else 0.0


def _laid(
    number: int, level: _Level, lots: Sequence[Pieces], prints: Sequence[Footprint], counts: Sequence[int]
) -> GrateLayout:
    """One grate, its pieces along it from hot to cool: thick first, what is nearly done last."""
    order = sorted(
        (i for i in range(len(lots)) if counts[i]), key=lambda i: (lots[i].done, -prints[i].height_m, lots[i].label)
    )
    at = 0.0
    lies: list[Lie] = []
    used = sum(counts[i] * prints[i].area_m2 for i in order)
    # where there is room to spare, what is nearly done moves to the cool end
    spare = level.usable_m2 - used
    for i in order:
        if lots[i].done and spare:
            at, spare = at + spare, 0.0
        for _ in range(counts[i]):
            place = _at(level.places, (at + 0.5 * prints[i].area_m2) / level.usable_m2) if level.places else None
            at += prints[i].area_m2
            name, offset = ("", 0.0) if place is None else (place.name, place.offset_k.value)
            if lies and (lies[-1].label, lies[-1].place) == (lots[i].label, name):
                lies[-1] = Lie(lots[i].label, lies[-1].count + 1, name, offset)
            else:
                lies.append(Lie(lots[i].label, 1, name, offset))
    return GrateLayout(number, level.usable_m2, used, tuple(lies))


def _count(n: int, one: str = "piece") -> str:
    return f"{n} {one}" if n == 1 else f"{n} {one}s"


def _trouble(
    pit: PitWish | PitPlan,
    lots: Sequence[Pieces],
    prints: Sequence[Footprint],
    room: PitRoom,
    levels: Sequence[_Level],
    need: float,
    usable: float,
    over: Sequence[tuple[str, int]],
) -> str:
    for lot, one in zip(lots, prints, strict=True):
        big = _too_big(one, room, len(levels))
        if big:
            return f"a piece of '{lot.label}' does not go on '{pit.label}': it is {big}"
        if one.area_m2 > levels[0].usable_m2 + _SLACK_M2:
            return (
                f"a piece of '{lot.label}' does not go on '{pit.label}': it takes {one.area_m2:.2f} m2, "
                f"a grate has {levels[0].usable_m2:.2f} m2"
            )
    total = sum(lot.count for lot in lots)
    fit = total - sum(n for _, n in over)
    need_is = "needs" if total == 1 else "need"
    finds = "finds" if fit == 1 else "find"
    gaps = "its gaps" if total == 1 else "their gaps"
    room_is = f"{usable:.2f} m2" if len(levels) == 1 else f"{usable:.2f} m2 on {len(levels)} grates"
    return f"{_count(total)} {need_is} {need:.4g} m2 with {gaps}, '{pit.label}' has {room_is}: {fit} {finds} room"


def _remedy(
    pit: PitWish | PitPlan,
    lots: Sequence[Pieces],
    prints: Sequence[Footprint],
    room: PitRoom,
    over: Sequence[tuple[str, int]],
    holder: bool,
) -> str:
    if any(_too_big(one, room, len(_levels(pit))) for one in prints):
        return "Cut it in two and give the weight of a part, or use a larger pit"
    if not holder and any(catalog.cut(lot.cut).shape.kind == "rack" for lot in lots):
        standing = room_for(pit, lots, holder=True)
        if standing.fits:
            return f"Stand the racks in a holder, bones up: then {format_percent(standing.used_share)} is taken"
    off = ", ".join(f"{n} of '{label}'" for label, n in over)
    return f"Take off {off}, use one more pit, or cook them one batch after the other"


def _notes(lots: Iterable[Pieces], room: PitRoom, taken_out: int) -> tuple[str, ...]:
    kinds = {catalog.cut(lot.cut).kind for lot in lots}
    notes = []
    if taken_out:
        notes.append(f"Take out {_count(taken_out, 'grate')}: what is highest needs the room above it")
    if "poultry" in kinds and len(kinds) > 1:
        where = "below the other meat" if room.places_along == "levels" or room.grates.value > 1 else "apart"
        notes.append(f"Raw poultry drips: keep it {where}, so that nothing nearly done lies under it")
    return tuple(notes)
