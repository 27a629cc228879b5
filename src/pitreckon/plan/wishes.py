"""What a cook file asks for while the day is still to be planned: whom to feed, and what may be chosen.

A :class:`Wishes` leaves open what a :class:`pitreckon.cook.plan.Cook` has to say: how much meat, when it goes on,
how hot the pit is, whether it is wrapped. Planning turns one into the other. As in ``cook.py``, records check
themselves.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final
from zoneinfo import ZoneInfo

from pitreckon.cook.plan import (
    FRIDGE_C,
    Away,
    Cook,
    ItemPlan,
    PitPlan,
    SideTask,
    StagePlan,
    check_meat,
    check_occasion,
    check_pit,
    check_servings,
)
from pitreckon.forms.checks import fault, is_label, is_utc, number, one_of, price, within
from pitreckon.units import find_zone, format_duration, format_local, format_percent, format_temperature

if TYPE_CHECKING:  # a file of wishes is read without numpy
    from pitreckon.reckon.learned import Lessons

WRAPPINGS: Final = ("usual", "with", "without", "either")
STATES: Final = ("chilled", "frozen")
SIDES: Final = ("none", "usual", "many")
USUAL_CHANCE: Final = 0.8
USUALLY_SURE: Final = 0.9
LEAST_HOLD_C: Final = 57.2
"""135 F: the least at which hot food may be kept, Food Code 3-501.16."""
HOT_HOLD_C: Final = (165.0 - 32.0) / 1.8
"""Where a warm box or a low oven keeps meat. Its air is that much above the 135 F of the Food Code, 3-501.16, and the
140 F of USDA's home advice, because moist meat stays cooler than the air: common practice, no source."""
LONGEST_HOLD_S: Final = 4 * 3600.0
"""Longest hold by default: past it meat softens and dries. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Guests:
    """Who eats. adults, children, hungry: head counts; a hungry one eats half as much again as an adult.

    leftovers: [-] share of what is eaten that is wanted over for the next day, 0 to 2
    sure: [-] how sure the cook wants to be that nobody goes short, 0.5 to 0.999
    sides: none | usual | many; together: sure of the meat in all, and not of each item by itself
    """

    adults: int
    children: int = 0
    hungry: int = 0
    leftovers: float = 0.0
    sure: float = USUALLY_SURE
    sides: str = "usual"
    together: bool = False

    def __post_init__(self) -> None:
        for name in ("adults", "children", "hungry"):
            count = getattr(self, name)
            if not 0 <= count <= 5000:
                raise fault(name, f"{name} is {count}", "Write how many come, from 0 to 5000")
        if self.count == 0:
            raise fault("adults", "nobody is coming", "Write how many eat, as in adults = 12")
        one_of("sides", self.sides, SIDES)
        within("leftovers", self.leftovers, 0.0, 2.0, format_percent)
        within("sure", self.sure, 0.5, 0.999, lambda share: f"{number(100.0 * share)} %")

    @property
    def count(self) -> int:
        """How many heads."""
        return self.adults + self.children + self.hungry


@dataclass(frozen=True, slots=True)
class Hands:
    """cooks: pairs of hands at the pit, 1 to 50; away: when there is nobody."""

    cooks: int = 1
    away: tuple[Away, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.cooks <= 50:
            raise fault("cooks", f"cooks is {self.cooks}", "Write how many can work at the pit, 1 to 50")


@dataclass(frozen=True, slots=True)
class PitWish:
    """A pit that may be used.

    label: the cook's own name for it; kind: catalog pit key
    sets_c: [°C] the temperatures that it may be set to, the usual one first; 10 to 400
    grates: how many levels it has, 1 to 40; grate_m2: [m2] area of one, 0.02 to 10; None: as such a pit has
    lit_s: [s] from lighting to steady heat; None: as such a pit takes
    water_pan: water stands in it in a pan; None: as such a pit is usually run
    """

    label: str
    kind: str
    sets_c: tuple[float, ...]
    grates: int | None = None
    grate_m2: float | None = None
    lit_s: float | None = None
    water_pan: bool | None = None

    def __post_init__(self) -> None:
        is_label("name", self.label)
        if not self.sets_c:
            raise fault("set", "the pit has no temperature", 'Write one or several, as in set = ["225 F", "250 F"]')
        for set_c in self.sets_c:
            within("set", set_c, 10.0, 400.0, format_temperature)
        if self.grates is not None and not 1 <= self.grates <= 40:
            raise fault("grates", f"grates is {self.grates}", "Write how many levels it has, 1 to 40")
        within("grate_area", self.grate_m2, 0.02, 10.0, "{:g} m2".format)
        within("lighting", self.lit_s, 0.0, 6 * 3600.0, format_duration)


@dataclass(frozen=True, slots=True)
class ItemWish:
    """One kind of meat that is wanted.

    label: the cook's own name for it; cut: catalog cut key
    share: [-] its part of the meat that is eaten, relative to the other items' shares; 0.001 to 100
    pieces, mass_kg: how many, and [kg] of one as it goes on; None: from the guests and the cut's usual piece
    pits: labels of the pits it may go on; empty: any
    put_on_utc: when it has to go on, UTC; None: to be chosen
    wrapping: usual | with | without | either; wrap: catalog key for with and either, None: the cut's own, or foil
    state: chilled | frozen, as it is bought or stored; trimmed: it is bought as it goes on
    start_c: [°C] of the meat at put-on; thickness_m, thickness_factor, sugar, salt_g_per_kg: as in ItemPlan
    stages: its own course; empty: the cut's
    least_hold_s, most_hold_s: [s] between done and served in a warm place; hold_c: [°C] how warm, 57.2 (135 F) or more
    travel_s: [s] from the pit to the table, packed hot: the last part of its hold; 0: it is eaten here
    handled: [-] injected, bladed, ground or rolled, so that its inside counts as a surface
    price_per_kg: what a kilogram costs as bought, in the currency of Wishes.currency; None: not known
    serve_utc: when it is on the table, UTC, before the rest of the day; None: with it
    """

    label: str
    cut: str
    share: float = 1.0
    pieces: int | None = None
    mass_kg: float | None = None
    pits: tuple[str, ...] = ()
    put_on_utc: datetime | None = None
    wrapping: str = "usual"
    wrap: str | None = None
    state: str = "chilled"
    trimmed: bool = False
    start_c: float = FRIDGE_C
    thickness_m: float | None = None
    thickness_factor: float = 1.0
    sugar: float = 0.5
    salt_g_per_kg: float | None = None
    stages: tuple[StagePlan, ...] = ()
    least_hold_s: float = 0.0
    most_hold_s: float = LONGEST_HOLD_S
    hold_c: float = HOT_HOLD_C
    handled: bool = False
    price_per_kg: float | None = None
    serve_utc: datetime | None = None
    travel_s: float = 0.0

    def __post_init__(self) -> None:
        check_meat(self)
        if self.serve_utc is not None:
            is_utc("serve", self.serve_utc)
        within("share", self.share, 0.001, 100.0)
        if self.pieces is not None and not 1 <= self.pieces <= 500:
            raise fault("pieces", f"pieces is {self.pieces}", "Write how many there are, 1 to 500, or leave it out")
        if self.put_on_utc is not None:
            is_utc("put_on", self.put_on_utc)
        one_of("wrapping", self.wrapping, WRAPPINGS)
        if self.stages and self.wrapping != "usual":
            raise fault("wrapping", "an item with stages of its own also says how it is wrapped", "Leave one out")
        one_of("state", self.state, STATES)
        within("shortest_hold", self.least_hold_s, 0.0, 24 * 3600.0, format_duration)  # first: the longest follows it
        within("longest_hold", self.most_hold_s, 0.0, 24 * 3600.0, format_duration)
        if self.least_hold_s > self.most_hold_s:
            raise fault("shortest_hold", "the shortest hold is longer than the longest", "Write a shorter one")
        if not 0.0 <= self.travel_s <= self.most_hold_s:
            trouble = f"the way takes {format_duration(self.travel_s)}, longer than it may be held"
            raise fault("travel", trouble, "Write a longer longest_hold, or a shorter way")
        if self.most_hold_s > 0.0:
            within("hold_at", self.hold_c, LEAST_HOLD_C, 110.0, format_temperature)
        within("price", self.price_per_kg, 0.0, 10_000.0, price)

    @property
    def shortest_hold_s(self) -> float:
        """The least between done and served [s]: what travels is held on its way."""
        return max(self.least_hold_s, self.travel_s)


@dataclass(frozen=True, slots=True)
class Wishes:
    """One occasion before it is planned.

    name, zone, altitude_m, weather_air_c, weather_rh: as in Cook
    serve_utc: when it is to be on the table, UTC
    guests: who eats; None: every item says how many pieces
    chance: [-] asked probability that everything is ready to serve together, 0.05 to 0.99
    earliest_utc: before which nothing goes on and no fire is lit; None: as early as need be
    planned_utc: the moment the plan is made for: what lies before it cannot be done any more; None: not said
    hold_places: how many pieces the warm place takes; None: enough
    currency: of the prices, three letters or a sign
    tasks: what is to be done beside the meat, at times of the clock
    learned: what earlier cooks of the house told of its pits and its meat, which no file of wishes says; None: nothing
    """

    name: str
    zone: str
    serve_utc: datetime
    pits: tuple[PitWish, ...]
    items: tuple[ItemWish, ...]
    altitude_m: float = 0.0
    weather_air_c: float | None = None
    weather_rh: float | None = None
    guests: Guests | None = None
    hands: Hands = Hands()
    chance: float = USUAL_CHANCE
    earliest_utc: datetime | None = None
    planned_utc: datetime | None = None
    hold_places: int | None = None
    currency: str = "USD"
    tasks: tuple[SideTask, ...] = ()
    learned: "Lessons | None" = None

    def as_cook(
        self,
        pits: tuple[PitPlan, ...],
        items: tuple[ItemPlan, ...],
        serve_utc: datetime | None,
        *,
        tasks: tuple[SideTask, ...] = (),
        away: tuple[Away, ...] = (),
    ) -> Cook:
        """A cook at the place and in the weather of these wishes."""
        return Cook(
            name=self.name,
            zone=self.zone,
            serve_utc=serve_utc,
            altitude_m=self.altitude_m,
            weather_air_c=self.weather_air_c,
            weather_rh=self.weather_rh,
            pits=pits,
            items=items,
            tasks=tasks,
            away=away,
        )

    def __post_init__(self) -> None:
        if not self.pits:
            raise fault("pit", "there is no pit", "Add a [[pit]] with its name, kind and set temperatures")
        if not self.items:
            raise fault("item", "there are no items", "Add an [[item]] with its name and its cut")
        zone = check_occasion(self)
        is_utc("serve", self.serve_utc)
        within("chance", self.chance, 0.05, 0.99, format_percent)
        check_servings(self)
        for n, item in enumerate(self.items):
            for label in item.pits:
                check_pit(item.label, label, [pit.label for pit in self.pits], ("item", n))
            if item.put_on_utc is not None and item.put_on_utc >= self.served_at(item):
                raise fault(
                    "put_on",
                    f"'{item.label}' goes on after the serving time {format_local(self.serve_utc, zone)}",
                    "Write an earlier put_on or a later serving time",
                    ("item", n),
                )
            if self.guests is None and item.pieces is None:
                raise fault(
                    "pieces",
                    f"'{item.label}' does not say how many, and there are no guests to reckon it from",
                    "Write pieces = 3, or a [guests] with adults = 12",
                    ("item", n),
                )
        for name, at_utc in (("earliest", self.earliest_utc), ("planned", self.planned_utc)):
            if at_utc is not None:
                is_utc(name, at_utc)
                if at_utc >= self.serve_utc:
                    raise fault(
                        "serve",
                        f"the serving time {format_local(self.serve_utc, zone)} is not after "
                        f"{format_local(at_utc, zone)}, when work can begin",
                        "Write a later serving time or an earlier start",
                    )
        if self.hold_places is not None and not 0 <= self.hold_places <= 10_000:
            raise fault(
                "hold_places", f"hold_places is {self.hold_places}", "Write how many pieces it takes, 0 to 10000"
            )

    def served_later(self, by_s: float) -> "Wishes":
        """The same with every serving so much later [s]; negative is sooner."""
        span = timedelta(seconds=by_s)  # UTC, so no clock change comes between
        items = tuple(
            item if item.serve_utc is None else replace(item, serve_utc=item.serve_utc + span) for item in self.items
        )
        return replace(self, serve_utc=self.serve_utc + span, items=items)

    def leaves_at(self, item: ItemWish) -> datetime | None:
        """When an item is packed and goes to those who eat it, UTC; None: they eat it here."""
        return self.served_at(item) - timedelta(seconds=item.travel_s) if item.travel_s > 0.0 else None

    def served_at(self, item: ItemWish) -> datetime:
        """When an item is to be on the table, UTC: at its own time, else with the rest."""
        return item.serve_utc or self.serve_utc

    @property
    def zone_info(self) -> ZoneInfo:
        """The zone itself."""
        return find_zone(self.zone)
