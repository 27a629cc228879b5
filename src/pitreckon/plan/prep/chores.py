"""What is done to the meat before the fire: thawing, trimming, seasoning, laid backward from put-on.

Raw meat stays in the refrigerator but for the work on it, in batches so small that no piece is out for longer than
the official two hours (one in the heat) over all of that work; nothing stands out to warm up, it goes on cold.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from pitreckon import catalog
from pitreckon.catalog.buying import BeforeFire, before_fire, buying
from pitreckon.errors import InputError, Place
from pitreckon.plan.buying.quantities import ItemQuantity, Quantities
from pitreckon.plan.prep.hands import HandsFree, crossing
from pitreckon.plan.prep.season import Seasoning, seasoned_already, seasoning
from pitreckon.plan.prep.thaw import WAYS, Thawing, thawing
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.units import format_clock, format_duration, format_temperature, instant_after, seconds_between

INTO_FRIDGE_S = 300.0
"""Moving frozen meat over, in a dish that catches what drips [s]: common practice, no source."""
FAR_OFF_S = 12 * 3600.0
"""Work that lies earlier than this before its time is remarked on [s]: common practice, no source."""
KINDS = ("thaw", "trim", "season")
LONG_IN_WATER_S = 4 * 3600.0
"""Food Code 3-501.13 (from memory): raw food is above 41 F no longer than this while it thaws in water."""


@dataclass(frozen=True, slots=True)
class Chore:
    """One thing that is done to the meat before it goes on.

    item: label; kind: thaw | trim | season; what: in plain words; why: likewise
    begin_utc, end_utc: UTC; hands_s: [s] of somebody's hands in that time
    out_s: [s] that a piece is out of the refrigerator in it, at most; batch: pieces that are out at once
    """

    item: str
    kind: str
    what: str
    begin_utc: datetime
    end_utc: datetime
    hands_s: float
    why: str
    out_s: float
    batch: int


@dataclass(frozen=True, slots=True)
class Preparation:
    """chores: by their begin; thaw: by label, both ways to thaw a frozen item; seasoning: by label; notes: cautions."""

    chores: tuple[Chore, ...]
    thaw: Mapping[str, tuple[Thawing, ...]]
    seasoning: Mapping[str, Seasoning]
    notes: tuple[str, ...]

    def of(self, label: str) -> tuple[Chore, ...]:
        """The chores of one item."""
        return tuple(chore for chore in self.chores if chore.item == label)


def spoils_soon(cut: catalog.Cut) -> bool:
    """Whether it keeps thawed no longer than poultry: birds and ground meat (MSU E3259), and fish (from memory)."""
    return cut.kind == "ground" or catalog.animal(cut.animal).family != "meat"


def prepare_meat(
    wishes: Wishes,
    amounts: Quantities,
    put_on_utc: Mapping[str, datetime],
    *,
    thaw: Mapping[str, str] | None = None,
) -> Preparation:
    """What to do before the fire, and when.

    wishes: the items, the hands and when they are away; nothing is planned before ``planned_utc``
    amounts: how many pieces of each
    put_on_utc: by label, when each item goes on
    thaw: by label, refrigerator or cold water; left out: in the refrigerator, in cold water where time is short

    Raises InputError: no put-on for an item or one that is not UTC, a way to thaw that is none, or too little time
    """
    kitchen = before_fire()
    ways = thaw or {}
    for label in (*ways, *put_on_utc):
        if all(item.label != label for item in wishes.items):
            raise InputError(f"there is no item '{label}' to prepare", "Name an item of this cook")
    free = HandsFree(wishes.hands)
    done: list[Chore] = []
    thaws: dict[str, tuple[Thawing, ...]] = {}
    seasonings: dict[str, Seasoning] = {}
    notes: list[str] = []
    # the last to go on first: its work must stand close to its put-on, what comes earlier can move
    for item in sorted(wishes.items, key=lambda item: _put_on(item, put_on_utc), reverse=True):
        work = _Work(wishes, item, amounts.item(item.label), _put_on(item, put_on_utc), kitchen, free)
        chores = work.plan(ways.get(item.label))
        done += chores
        notes += work.notes
        seasonings[item.label] = work.season
        if work.thaws:
            thaws[item.label] = work.thaws
    notes.append(_cold(kitchen, _out_limit(wishes, kitchen)))
    return Preparation(tuple(sorted(done, key=lambda chore: chore.begin_utc)), thaws, seasonings, tuple(notes))


def _put_on(item: ItemWish, put_on_utc: Mapping[str, datetime]) -> datetime:
    at = put_on_utc.get(item.label)
    if at is None:
        raise InputError(f"'{item.label}' has no time to go on", "Give its put_on", Place(field="put_on"))
    if at.utcoffset() != timedelta(0):
        raise InputError(
            f"'{item.label}' goes on at a time that is not in UTC", "Convert it first", Place(field="put_on")
        )
    return at


def _out_limit(wishes: Wishes, kitchen: BeforeFire) -> float:
    hot = wishes.weather_air_c is not None and wishes.weather_air_c > kitchen.hot_air_c.value
    return kitchen.out_hot_s.value if hot else kitchen.out_s.value


def _cold(kitchen: BeforeFire, out_s: float) -> str:
    return (
        f"Raw meat goes from the refrigerator straight on: nothing stands out to warm up. In all it is out for at most "
        f"{format_duration(out_s)} (USDA: 2 h, 1 h above {format_temperature(kitchen.hot_air_c.value)}). "
        "Follow your local food code."
    )


class _Work:
    """The chores of one item."""

    def __init__(
        self,
        wishes: Wishes,
        item: ItemWish,
        much: ItemQuantity,
        put_on: datetime,
        kitchen: BeforeFire,
        free: HandsFree,
    ) -> None:
        self.wishes, self.item, self.much, self.put_on = wishes, item, much, put_on
        self.kitchen, self.free = kitchen, free
        self.cut = catalog.cut(item.cut)
        self.buy = buying(self.cut.key)
        self.season = seasoning(item, self.cut, much.piece.on_kg, kitchen)
        self.notes: list[str] = []
        self.thaws: tuple[Thawing, ...] = ()
        if item.state == "frozen":
            block_kg = max(self.buy.pack_kg.value if self.buy.key == self.cut.key else 0.0, much.piece.bought_kg)
            self.thaws = tuple(thawing(self.cut, block_kg, way, kitchen) for way in WAYS)
        # half of the limit for each of the two kinds of work, so that a piece is never out for longer than the whole
        self.at_once_s = _out_limit(wishes, kitchen) / 2.0

    def plan(self, way: str | None) -> list[Chore]:
        if way is not None and way not in WAYS:
            raise InputError(f"'{way}' is no way to thaw meat", f"Write one of: {', '.join(WAYS)}", Place(field="thaw"))
        if not self.thaws:
            return self._first_that_fits([(None, self.season.lead_s), (None, 0.0)])
        cold, water = self.thaws
        hour_s = min(self.season.lead_s, self.kitchen.hour_s.value)
        tries: list[tuple[Thawing | None, float]]
        tries = [(cold, self.season.lead_s), (cold, hour_s)] if way != "cold water" else []
        if way != "refrigerator":
            tries += [(water, hour_s), (water, 0.0)]
        return self._first_that_fits(tries)

    def _first_that_fits(self, tries: list[tuple[Thawing | None, float]]) -> list[Chore]:
        planned = self.wishes.planned_utc
        for n, (thaw, lead_s) in enumerate(tries):
            mark = self.free.mark()
            chores = self._chores(thaw, lead_s)
            if not chores or planned is None or chores[0].begin_utc >= planned:
                if n and lead_s < self.season.lead_s:
                    self.notes.append(
                        f"{self.item.label}: seasoned {format_duration(lead_s) if lead_s else 'just'} before it goes "
                        f"on, there is no time for {format_duration(self.season.lead_s)}"
                    )
                self._note_thaw(thaw, chores)
                self._note_early(chores, lead_s)
                return chores
            self.free.back_to(mark)
        missing_s = seconds_between(chores[0].begin_utc, planned) if planned is not None else 0.0
        raise InputError(
            f"there is no time to {'thaw and ' if self.thaws else ''}prepare '{self.item.label}': "
            f"it lacks {format_duration(missing_s)}",
            "Serve later, buy it chilled and trimmed, or have more hands",
            Place(field="serve"),
        )

    def _chores(self, thaw: Thawing | None, lead_s: float) -> list[Chore]:
        begin = instant_after(self.put_on, -lead_s)
        chores: list[Chore] = []
        if not seasoned_already(self.item, self.cut):
            chores.insert(0, self._handwork("season", "season", self.buy.rub_s.value, begin))
            begin = chores[0].begin_utc
        trim_s = 0.0 if self.item.trimmed else self.buy.trim_s.value
        if trim_s:
            chores.insert(0, self._handwork("trim", "trim", trim_s, begin))
            begin = chores[0].begin_utc
        if thaw is not None:
            chores.insert(0, self._thaw(thaw, begin))
        return chores

    def _handwork(self, kind: str, verb: str, one_s: float, latest_end: datetime) -> Chore:
        pieces = self.much.pieces
        batch = min(max(int(self.at_once_s // one_s), 1), pieces)
        out_s = batch * one_s
        begin, end = self.free.take(latest_end, pieces * one_s)
        few = f", {batch} at a time from the refrigerator" if batch < pieces else ""
        why = (
            self.season.why
            if kind == "season"
            else f"about {format_duration(one_s)} a piece (common practice, no source)"
        )
        what = f"{verb} {pieces} of {self.item.label}{few}, and back into the refrigerator"
        return Chore(self.item.label, kind, what, begin, end, pieces * one_s, why, out_s, batch)

    def _thaw(self, thaw: Thawing, end: datetime) -> Chore:
        label, begin = self.item.label, instant_after(end, -thaw.plan_s)
        both = (
            f"{format_duration(thaw.physics_s)} by its shape (Cleland's equation), "
            f"{format_duration(thaw.official_s)} by the official rule for its weight; planned with the longer"
        )
        if thaw.way == "refrigerator":
            begin = self.free.there(begin)
            what = f"move {label} from the freezer to the refrigerator, in a dish that catches what drips"
            return Chore(label, "thaw", what, begin, end, INTO_FRIDGE_S, both, 0.0, self.much.pieces)
        gone = crossing(begin, end, self.wishes.hands.away)
        if gone is not None:
            zone = self.wishes.zone_info
            raise InputError(
                f"nobody is there at {format_clock(gone.from_utc, zone)} to change the water in which '{label}' thaws",
                "Thaw it in the refrigerator, or stay",
                Place(field="away"),
            )
        hands_s = INTO_FRIDGE_S + thaw.changes * self.kitchen.change_hands_s.value
        what = f"thaw {label} in cold water, in a bag that keeps water out; change the water every 30 min"
        return Chore(
            label, "thaw", what, begin, end, hands_s, f"{both}; then it is cooked at once", 0.0, self.much.pieces
        )

    def _note_early(self, chores: list[Chore], lead_s: float) -> None:
        if not chores:
            return
        early_s = seconds_between(chores[-1].end_utc, self.put_on) - lead_s
        if early_s > FAR_OFF_S:
            self.notes.append(
                f"{self.item.label}: the hands that are there have no room for its work until "
                f"{format_duration(early_s)} before its time; more hands would help"
            )

    def _note_thaw(self, thaw: Thawing | None, chores: list[Chore]) -> None:
        if thaw is None:
            return
        label = self.item.label
        self.notes.append(f"{label}: thawed fully before it goes on, as the official advice for smoking asks")
        if thaw.way == "cold water":
            gap_s = seconds_between(chores[0].end_utc, self.put_on)
            if gap_s > 2.0 * self.at_once_s:
                self.notes.append(
                    f"{label}: it goes on {format_duration(gap_s)} after it has thawed in water; official advice is "
                    "to cook it at once: thaw it in the refrigerator, or buy it trimmed"
                )
            if thaw.plan_s > LONG_IN_WATER_S:
                self.notes.append(
                    f"{label}: longer in water than the {format_duration(LONG_IN_WATER_S)} that food codes allow a "
                    "kitchen that sells; ask your health department, or thaw it in the refrigerator"
                )
            return
        keeps = self.kitchen.keep_poultry_s if spoils_soon(self.cut) else self.kitchen.keep_meat_s
        soonest = instant_after(chores[0].begin_utc, min(thaw.physics_s, thaw.official_s))
        thawed_s = seconds_between(soonest, self.put_on)
        if thawed_s > keeps.value:
            self.notes.append(
                f"{label}: it may lie thawed for {format_duration(thawed_s)}, longer than the official "
                f"{format_duration(keeps.value)}; buy it chilled, or thaw it in smaller packs"
            )
