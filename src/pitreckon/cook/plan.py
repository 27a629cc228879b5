"""The plan of one cook: its pits, its items, and the course of each item.

Records check themselves: each raises :class:`pitreckon.errors.InputError` naming its field, so that a file,
a form and a program meet the same rules. Whether a cut, a pit or a wrap exists is for the reader to ask the
catalog.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from pitreckon.forms.checks import fault, is_label, is_utc, kilograms, millimetres, no_twins, one_of, within
from pitreckon.forms.names import UNWRAPPED
from pitreckon.units import (
    find_zone,
    format_duration,
    format_local,
    format_percent,
    format_temperature,
)

STAGE_KINDS: Final = ("open", "wrapped", "sauced", "rest", "hold")
UNTIL_KINDS: Final = ("colour", "tender", "core", "minutes", "clock", "glaze")
SUGAR_LEVELS: Final = {"none": 0.0, "some": 0.5, "much": 1.0}

RULE_SETS: Final = ("us", "canada", "uk")
AWAY_KINDS: Final = ("away", "asleep")

FRIDGE_C: Final = 4.0  # meat straight from a cold refrigerator: common practice, no source
_LONGEST_S = 5 * 86400.0
LONGEST_DAYS: Final = 14
"""Nobody cooks so long ahead: a date is wrong then."""
LONGEST_DO: Final = 160


def _minutes(minutes: float) -> str:
    return format_duration(minutes * 60.0)


@dataclass(frozen=True, slots=True)
class Until:
    """What ends a stage.

    ``value`` by ``ends_by``: ``core`` a temperature [°C]; ``minutes`` a duration [s]; ``clock`` a UTC instant;
    ``colour`` a colour level [-] (None: the set colour, 1.0); ``tender`` a tenderness level [-] (None: the
    probe slides in, 1.0); ``glaze`` always None.
    """

    ends_by: str
    value: float | datetime | None = None

    def __post_init__(self) -> None:
        one_of("until", self.ends_by, UNTIL_KINDS)
        value = self.value
        if self.ends_by == "clock":
            if not isinstance(value, datetime):
                raise fault("until", "a stage that ends by the clock has no time", "Give the UTC instant")
            is_utc("until", value)
        elif isinstance(value, datetime):
            raise fault("until", f"a time cannot end a stage by {self.ends_by}", "Use until = clock")
        elif self.ends_by == "core":
            core_c = float("nan") if value is None else value
            within("until", core_c, 0.0, 110.0, format_temperature)
        elif self.ends_by == "minutes":
            duration_s = 0.0 if value is None else value
            within("until", duration_s, 1.0, _LONGEST_S, format_duration)
        elif self.ends_by == "glaze" and value is not None:
            raise fault("until", "a glaze is set or not", "Leave its level out")
        elif value is not None:
            within("until", value, 0.05, 1.5)

    @property
    def core_c(self) -> float | None:
        """The core temperature [°C] that ends the stage, if that does."""
        return self._number if self.ends_by == "core" else None

    @property
    def duration_s(self) -> float | None:
        """The time in the stage [s] that ends it, if that does."""
        return self._number if self.ends_by == "minutes" else None

    @property
    def at_utc(self) -> datetime | None:
        """The instant that ends the stage, if one does."""
        return self.value if self.ends_by == "clock" and isinstance(self.value, datetime) else None

    @property
    def level(self) -> float:
        """The level [-] of colour, tenderness or glaze that ends the stage; 1.0 where none was given."""
        given = self._number if self.ends_by in {"colour", "tender"} else None
        return 1.0 if given is None else given

    @property
    def _number(self) -> float | None:
        return None if self.value is None or isinstance(self.value, datetime) else float(self.value)


@dataclass(frozen=True, slots=True)
class StagePlan:
    """A stretch of an item's course with one surrounding.

    kind: open | wrapped | sauced | rest | hold
    until: what ends it
    wrap: catalog key. A wrapped stage needs one; a rest or hold without one keeps what the stage before left
        on, or has foil laid over ("none" leaves it bare); open and sauced stages have none
    air_c: [°C] around a rest or a hold; None for a rest is a room's air. A hold needs one
    glaze_kg: [kg] of glaze brushed on one piece, sauced stages only; None: the usual amount
    liquid_kg: [kg] put inside the wrap of one piece, 0 to 5
    about_utc: when it is to end, as planned; it ends nothing, and tells by how much the day has moved; None: not said
    """

    kind: str
    until: Until
    wrap: str | None = None
    air_c: float | None = None
    glaze_kg: float | None = None
    liquid_kg: float = 0.0
    about_utc: datetime | None = None

    def __post_init__(self) -> None:
        one_of("do", self.kind, STAGE_KINDS)
        if self.about_utc is not None:
            is_utc("about", self.about_utc)
        wrappable = self.kind in {"wrapped", "rest", "hold"}
        if self.kind == "wrapped" and self.wrap in {None, UNWRAPPED}:
            raise fault("wrap", "a wrapped stage has no wrap", 'Say which, as in wrap = "foil"')
        if self.wrap is not None and not wrappable:
            remedy = 'Leave the wrap out, or write do = "wrapped"'
            raise fault("wrap", f"a stage that is {self.kind} has a wrap", remedy)
        if self.liquid_kg and not wrappable:
            raise fault("liquid", f"a stage that is {self.kind} has liquid in a wrap", "Leave the liquid out")
        within("liquid", self.liquid_kg, 0.0, 5.0, kilograms)
        if self.kind == "hold" and self.air_c is None:
            raise fault("air", "a hold has no air temperature", 'Say how warm it is kept, as in air = "150 F"')
        if self.air_c is not None and self.kind not in {"rest", "hold"}:
            raise fault("air", f"a stage that is {self.kind} takes the pit's air", "Leave its air out")
        within("air", self.air_c, -40.0, 120.0, format_temperature)
        if self.glaze_kg is not None and self.kind != "sauced":
            raise fault("glaze", f"a stage that is {self.kind} has a glaze", 'Leave it out, or write do = "sauced"')
        within("glaze", self.glaze_kg, 0.001, 2.0, kilograms)
        if self.until.ends_by == "glaze" and self.kind != "sauced":
            raise fault("until", f"a glaze cannot set while {self.kind}", 'Use it on a stage with do = "sauced"')


@dataclass(frozen=True, slots=True)
class PitPlan:
    """One pit of the cook.

    label: the cook's own name for it
    kind: catalog pit key
    set_c: [°C] what it is set to, or aimed at; 10 to 400
    water_pan: water stands in it in a pan; None: as such a pit is usually run
    light_utc: when its fire is to be lit, UTC; None: nobody is told to
    feed_every_s, feed_kg: [s] how often fuel goes on, and [kg] how much; None: it needs none in between
    water_every_s, ash_every_s: [s] how often water goes into its pan, and ash is knocked down; None: not in between
    """

    label: str
    kind: str
    set_c: float
    water_pan: bool | None = None
    light_utc: datetime | None = None
    feed_every_s: float | None = None
    feed_kg: float | None = None
    water_every_s: float | None = None
    ash_every_s: float | None = None

    def __post_init__(self) -> None:
        is_label("name", self.label)
        within("set", self.set_c, 10.0, 400.0, format_temperature)
        if self.light_utc is not None:
            is_utc("light", self.light_utc)
        for name in ("feed_every", "water_every", "ash_every"):
            within(name, getattr(self, f"{name}_s"), 300.0, 48 * 3600.0, format_duration)
        within("feed", self.feed_kg, 0.01, 100.0, kilograms)


@dataclass(frozen=True, slots=True)
class ItemPlan:
    """One kind of meat in the cook.

    label: the cook's own name for it
    cut: catalog cut key
    pieces: how many, 1 to 500
    mass_kg: [kg] of one piece, above 0, to 150
    pit: label of the pit it goes on
    put_on_utc: when it is meant to go on, UTC
    start_c: [°C] of the meat then, -25 to 45; start_said: the cook said it, it is not just the usual
    thickness_m: [m] measured thickness, 0.003 to 0.6; None: from the weight and the cut
    thickness_factor: [-] 1.0 as the cut comes, 0.67 when a third thinner
    sugar: [-] in the rub: 0 none, 0.5 some, 1 much
    salt_g_per_kg: [g/kg] of raw meat, 0 to 100; None: the cut's usual
    stages: empty: the cut's own default course
    serve_utc: when it is on the table, UTC, before the rest of the cook; None: with it
    """

    label: str
    cut: str
    pieces: int
    mass_kg: float
    pit: str
    put_on_utc: datetime
    start_c: float = FRIDGE_C
    thickness_m: float | None = None
    thickness_factor: float = 1.0
    sugar: float = 0.5
    salt_g_per_kg: float | None = None
    stages: tuple[StagePlan, ...] = ()
    start_said: bool = True
    serve_utc: datetime | None = None

    def __post_init__(self) -> None:
        check_meat(self)
        if self.serve_utc is not None:
            is_utc("serve", self.serve_utc)
            if self.serve_utc <= self.put_on_utc:
                raise fault("serve", "it is served before it goes on", "Write a later serve or an earlier put_on")
        if self.pieces < 1:
            raise fault("pieces", f"pieces is {self.pieces}", "Write how many there are, 1 or more")
        within("pieces", self.pieces, 1, 500)
        is_utc("put_on", self.put_on_utc)
        for stage in self.stages:
            ends = stage.until.at_utc
            if ends is not None and ends <= self.put_on_utc:
                raise fault("until", "a stage ends before the meat is put on", "Write a later time")


@dataclass(frozen=True, slots=True)
class TripCosts:
    """What trips and lateness are worth to the cook, in time of the cook's own: common practice, no source.

    walk_s: [s] a trip to the pit, whatever is done there, 0 to 4 h
    lid_s: [s] opening a lid, which costs the pit its heat, 0 to 4 h
    late: [-] each minute that a thing could have been done and was not, in minutes, 0 to 60
    too_late: [-] each minute after it has become too late for it, in minutes; 0.1 to 240 and not below ``late``
    """

    walk_s: float = 900.0
    lid_s: float = 300.0
    late: float = 1.5
    too_late: float = 5.0

    def __post_init__(self) -> None:
        within("walk", self.walk_s, 0.0, 4 * 3600.0, format_duration)
        within("lid", self.lid_s, 0.0, 4 * 3600.0, format_duration)
        within("late", self.late, 0.0, 60.0, _minutes)
        within("too_late", self.too_late, 0.1, 240.0, _minutes)
        if self.too_late < self.late:
            raise fault(
                "too_late",
                f"a minute too late ({_minutes(self.too_late)}) costs less than a minute late ({_minutes(self.late)})",
                "Write as much or more",
            )


@dataclass(frozen=True, slots=True)
class SideTask:
    """Something to be done beside the meat, at a time of the clock: slaw, beans, a sauce, bread to warm.

    label: what it is about; at_utc: when, UTC; do: what is done, in words; for_s: [s] how long it takes, to 24 h
    """

    label: str
    at_utc: datetime
    do: str = "make it"
    for_s: float = 0.0

    def __post_init__(self) -> None:
        is_label("name", self.label)
        if not (0 < len(self.do) <= LONGEST_DO and self.do.isprintable()):
            raise fault("do", "what is to be done is empty or too long", f"Write it in at most {LONGEST_DO} signs")
        is_utc("at", self.at_utc)
        within("takes", self.for_s, 0.0, 24 * 3600.0, format_duration)


@dataclass(frozen=True, slots=True)
class Away:
    """A time in which nobody is at the pit.

    kind: away | asleep; from_utc, until_utc: UTC instants, the second later, at most 24 h apart
    """

    from_utc: datetime
    until_utc: datetime
    kind: str = "away"

    def __post_init__(self) -> None:
        one_of("kind", self.kind, AWAY_KINDS)
        is_utc("from", self.from_utc)
        is_utc("until", self.until_utc)
        span_s = (self.until_utc - self.from_utc).total_seconds()
        if span_s <= 0:
            raise fault("until", "the time away ends before it begins", "Write a later end")
        within("until", span_s, 1.0, 24 * 3600.0, format_duration)


@dataclass(frozen=True, slots=True)
class Cook:
    """One occasion: what is cooked, on which pits, to be served when.

    name: what the cook calls it
    zone: IANA name of the zone in which its clock times are meant
    serve_utc: when it is to be on the table, UTC; None: whenever it is ready
    altitude_m: [m] above the sea, -500 to 6000
    weather_air_c: [°C] -50 to 60; None: not known
    weather_rh: [-] relative humidity 0 to 1; None: not known
    trips: what trips to the pit and lateness are worth to the cook
    rules: whose safety rules it is held against: us | canada | uk
    tasks: what is to be done beside the meat; away: when nobody is there
    """

    name: str
    zone: str
    serve_utc: datetime | None = None
    altitude_m: float = 0.0
    weather_air_c: float | None = None
    weather_rh: float | None = None
    pits: tuple[PitPlan, ...] = ()
    items: tuple[ItemPlan, ...] = ()
    trips: TripCosts = TripCosts()
    rules: str = "us"
    tasks: tuple[SideTask, ...] = ()
    away: tuple[Away, ...] = ()

    def __post_init__(self) -> None:
        one_of("rules", self.rules, RULE_SETS)
        if not self.pits:
            raise fault("pit", "the cook has no pit", "Add a [[pit]] with its name, kind and set temperature")
        if not self.items:
            raise fault("item", "the cook has no items", "Add an [[item]] with its cut, weight, pit and put_on")
        zone = check_occasion(self)
        for n, item in enumerate(self.items):
            check_pit(item.label, item.pit, [pit.label for pit in self.pits], ("item", n))
        check_servings(self)
        for n, item in enumerate(self.items):
            served = self.served_at(item)
            if served is not None and (served - item.put_on_utc).days >= LONGEST_DAYS:
                raise fault(
                    "serve",
                    f"'{item.label}' goes on {(served - item.put_on_utc).days} days before it is served",
                    "Check the day, the month and the year of serve and of put_on",
                    ("item", n) if item.serve_utc is not None else None,
                )
        if self.serve_utc is not None:
            is_utc("serve", self.serve_utc)
            last = max(self.items, key=lambda item: item.put_on_utc)
            if self.serve_utc <= last.put_on_utc:
                raise fault(
                    "serve",
                    f"the serving time {format_local(self.serve_utc, zone)} is not after the start: "
                    f"'{last.label}' is put on at {format_local(last.put_on_utc, zone)}",
                    "Write a later serving time or an earlier put_on",
                )

    def served_at(self, item: ItemPlan) -> datetime | None:
        """When an item is to be on the table, UTC: at its own time, else with the rest; None: whenever it is ready."""
        return item.serve_utc or self.serve_utc

    @property
    def zone_info(self) -> ZoneInfo:
        """The zone itself."""
        return find_zone(self.zone)

    @property
    def start_utc(self) -> datetime:
        """When the first item is meant to go on, UTC."""
        return min(item.put_on_utc for item in self.items)

    @property
    def begin_utc(self) -> datetime:
        """When there is first something to be done: a fire to be lit, or an item to go on, UTC."""
        return min([self.start_utc, *(pit.light_utc for pit in self.pits if pit.light_utc is not None)])

    def item(self, label: str) -> ItemPlan:
        """The item of this label. Raises KeyError when there is none."""
        for item in self.items:
            if item.label == label:
                return item
        raise KeyError(label)

    def pit(self, label: str) -> PitPlan:
        """The pit of this label. Raises KeyError when there is none."""
        for pit in self.pits:
            if pit.label == label:
                return pit
        raise KeyError(label)


def check_meat(meat: Any) -> None:
    """Checks what an item says of its meat, whether its cook is planned or still to be. Raises InputError."""
    is_label("name", meat.label)
    within("weight", meat.mass_kg, 0.005, 150.0, kilograms)
    within("start", meat.start_c, -25.0, 45.0, format_temperature)
    within("thickness", meat.thickness_m, 0.003, 0.6, millimetres)
    within("thinner", 1.0 - meat.thickness_factor, 0.0, 0.9, format_percent)
    within("sugar", meat.sugar, 0.0, 1.0)
    within("salt", meat.salt_g_per_kg, 0.0, 100.0, "{:g} g/kg".format)


def check_occasion(occasion: Any) -> ZoneInfo:
    """Checks the name, place and weather of a cook, planned or still to be, and its labels; its zone."""
    is_label("name", occasion.name)
    zone = find_zone(occasion.zone)
    within("altitude", occasion.altitude_m, -500.0, 6000.0, "{:g} m".format)
    within("air", occasion.weather_air_c, -50.0, 60.0, format_temperature)
    within("humidity", occasion.weather_rh, 0.0, 1.0, format_percent)
    no_twins("pit", [pit.label for pit in occasion.pits])
    no_twins("item", [item.label for item in occasion.items])
    return zone


def check_servings(occasion: Any) -> None:
    """Checks that what is served by itself is served no later than the rest. Raises InputError."""
    for n, item in enumerate(occasion.items):
        if item.serve_utc is not None and (occasion.serve_utc is None or item.serve_utc > occasion.serve_utc):
            raise fault(
                "serve",
                f"'{item.label}' is served after the cook's own serving time",
                "Write the last serving time under [cook]",
                ("item", n),
            )


def check_pit(item: str, pit: str, pits: list[str], entry: tuple[str, int]) -> None:
    """Checks that the pit of an item is one of the cook's. Raises InputError."""
    if pit not in pits:
        trouble = f"item '{item}' goes on '{pit}', which is no pit of this cook"
        raise fault("pit", trouble, f"Write one of: {', '.join(pits)}", entry)
