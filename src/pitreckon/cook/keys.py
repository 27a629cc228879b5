"""The tables of a cook file, by their keys; those of a day to be planned are in :mod:`pitreckon.plan.keys`."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from pitreckon.cook.plan import (
    AWAY_KINDS,
    RULE_SETS,
    STAGE_KINDS,
    SUGAR_LEVELS,
    Away,
    Cook,
    ItemPlan,
    PitPlan,
    SideTask,
    StagePlan,
    TripCosts,
    Until,
)
from pitreckon.cook.until import mark_text, parse_until
from pitreckon.cook.values import (
    length_text,
    minutes_text,
    moment_text,
    salt_text,
    share_text,
    sugar_text,
    temperature_text,
    thinner_text,
    weight_text,
)
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, WHOLE, Key, Keys, text, text_within, word
from pitreckon.forms.names import KnownNames, by_any_case, label_of
from pitreckon.units import (
    find_zone,
    parse_altitude,
    parse_duration,
    parse_instant,
    parse_length,
    parse_mass,
    parse_salt_dose,
    parse_share,
    parse_temperature,
)


@dataclass(frozen=True, slots=True)
class Around:
    """What the values of a cook file are read and written by.

    pits: labels of the cook's pits, by their spelling in any case; after_utc: when a stage begins at the earliest
    """

    zone: ZoneInfo
    serve_utc: datetime | None = None
    known: KnownNames = field(default_factory=KnownNames)
    pits: dict[str, str] = field(default_factory=dict)
    after_utc: datetime | None = None


def _until(until: Until, around: Around) -> str | None:
    if until.core_c is not None:
        return temperature_text(until.core_c)
    if until.duration_s is not None:
        return minutes_text(until.duration_s)
    if until.at_utc is not None:
        return "serve" if until.at_utc == around.serve_utc else moment_text(until.at_utc, around.zone)
    return mark_text(until)


def _parse_until(text: str, around: Around) -> Until:
    return parse_until(text, after_utc=around.after_utc, zone=around.zone, serve_utc=around.serve_utc)


def parse_span_or_none(text: str) -> float:
    """A length of time [s]; "none" is no time at all."""
    return 0.0 if text.strip().casefold() in {"none", "0"} else parse_duration(text)


NAME = text()
MOMENT = text_within(lambda text, around: parse_instant(text, around.zone), lambda at, a: moment_text(at, a.zone))
TEMPERATURE = text(parse_temperature, temperature_text)
WEIGHT = text(parse_mass, weight_text)
LENGTH = text(parse_length, length_text)
ALTITUDE = text(parse_altitude, "{:g} m".format)
SHARE = text(parse_share, share_text)
SPAN = text(parse_duration, minutes_text)
SUGAR = word(SUGAR_LEVELS, "no amount of sugar", sugar_text)
SALT = text(parse_salt_dose, salt_text)
CUT = text_within(lambda text, around: around.known.cut(text), lambda key, _: str(key))
PIT_KIND = text_within(lambda text, around: around.known.pit(text), lambda key, _: str(key))
WRAP = text_within(lambda text, around: around.known.wrap(text), lambda key, _: str(key))
PIT_LABEL = text_within(lambda text, around: label_of(text, around.pits, "pit"), lambda label, _: str(label))
_THINNER = text(lambda text: 1.0 - parse_share(text), thinner_text)
_UNTIL = text_within(_parse_until, _until)
_IN_MINUTES = text(lambda text: parse_duration(text) / 60.0, lambda minutes: minutes_text(minutes * 60.0))

HEAD = (
    Key("name", NAME, '"harvest supper"', needed=True),
    Key("zone", text(lambda text: find_zone(text).key), '"America/Chicago"', needed=True),
)
SERVE = Key("serve", MOMENT, '"2026-10-10 18:00"', "serve_utc")
WEATHER = (
    Key("air", TEMPERATURE, '"54 F"', "weather_air_c"),
    Key("humidity", SHARE, '"60 %"', "weather_rh"),
)
RULES = Key("rules", word(RULE_SETS, "no set of rules"), '"us"', unsaid="us")
COOK = Keys(Cook, *HEAD, SERVE, Key("altitude", ALTITUDE, '"800 ft"', "altitude_m"), *WEATHER, RULES)
PIT_HEAD = (
    Key("name", NAME, '"big box"', "label", needed=True),
    Key("kind", PIT_KIND, '"pellet-cooker"', needed=True),
)
WATER_PAN = Key("water_pan", FLAG, "true")
PIT = Keys(
    PitPlan,
    *PIT_HEAD,
    Key("set", TEMPERATURE, '"275 F"', "set_c", needed=True),
    WATER_PAN,
    Key("light", MOMENT, '"2026-10-10 11:30"', "light_utc"),
    Key("feed_every", SPAN, '"40 min"', "feed_every_s"),
    Key("feed", WEIGHT, '"2 lb 8 oz"', "feed_kg"),
    Key("water_every", SPAN, '"3 h"', "water_every_s"),
    Key("ash_every", SPAN, '"5 h"', "ash_every_s"),
)
ITEM_HEAD = (
    Key("name", NAME, '"racks"', "label", needed=True),
    Key("cut", CUT, '"st-louis-ribs"', needed=True),
)
AMOUNT = (Key("pieces", WHOLE, "3"), Key("weight", WEIGHT, '"2 lb 12 oz"', "mass_kg"))
PUT_ON = Key("put_on", MOMENT, '"2026-10-10 13:00"', "put_on_utc")
MEAT = (
    Key("start", TEMPERATURE, '"40 F"', "start_c"),
    Key("thickness", LENGTH, '"1 1/4 in"', "thickness_m"),
    Key("thinner", _THINNER, '"1/3"', "thickness_factor"),
    Key("sugar", SUGAR, '"some"'),
    Key("salt", SALT, '"15 g/kg"', "salt_g_per_kg"),
)
ITEM = Keys(
    ItemPlan,
    *ITEM_HEAD,
    AMOUNT[0],
    replace(AMOUNT[1], needed=True),
    Key("pit", PIT_LABEL, '"big box"'),
    replace(PUT_ON, needed=True),
    replace(MEAT[0], said="start_said"),
    *MEAT[1:],
    SERVE,
    inside=("stage",),
)
STAGE = Keys(
    StagePlan,
    Key("do", word(STAGE_KINDS, "nothing a stage can do"), '"open"', "kind", needed=True),
    Key("until", _UNTIL, '"colour"', needed=True),
    Key("wrap", WRAP, '"foil"'),
    Key("liquid", WEIGHT, '"60 g"', "liquid_kg", unsaid=0.0),
    Key("air", TEMPERATURE, '"150 F"', "air_c"),
    Key("glaze", WEIGHT, '"40 g"', "glaze_kg"),
    Key("about", MOMENT, '"2026-10-10 15:30"', "about_utc"),
)
TASK_HEAD = (Key("name", NAME, '"slaw"', "label", needed=True), Key("do", NAME, '"dress it"'))
TASK = Keys(
    SideTask,
    *TASK_HEAD,
    Key("at", MOMENT, '"2026-10-10 16:30"', "at_utc", needed=True),
    Key("takes", SPAN, '"20 min"', "for_s", unsaid=0.0),
)
AWAY_KIND = Key("kind", word(AWAY_KINDS, "no kind"), '"asleep"')
AWAY = Keys(
    Away,
    Key("from", MOMENT, '"2026-10-09 23:30"', "from_utc", needed=True),
    Key("until", MOMENT, '"2026-10-10 06:00"', "until_utc", needed=True),
    AWAY_KIND,
)
TRIPS = Keys(
    TripCosts,
    Key("walk", SPAN, '"15 min"', "walk_s"),
    Key("lid", SPAN, '"5 min"', "lid_s"),
    Key("late", _IN_MINUTES, '"90 s"'),
    Key("too_late", _IN_MINUTES, '"5 min"'),
)


def look_around(top: Fields, head: Fields, known: KnownNames | None) -> Fields:
    """The head, now that it is known by what the values of a file are to be read: its zone, serving time, names."""
    head.around = Around(find_zone(HEAD[1].read(head)), known=known or KnownNames.from_catalog())
    head.around = top.around = replace(head.around, serve_utc=SERVE.read(head))
    return head


def know_pits(top: Fields, labels: list[str]) -> None:
    """The pits that items may go on."""
    top.around = replace(top.around, pits=by_any_case(labels))


def stages_of(item: Fields, put_on_utc: datetime) -> tuple[StagePlan, ...]:
    """An item's own course. Raises InputError: a stage that ends before it begins, or that cannot be read."""
    stages, after_utc = [], put_on_utc
    own = SERVE.read(item) or item.around.serve_utc
    for fields in item.tables("stage", f"{item.title}, stage"):
        fields.around = replace(fields.around, after_utc=after_utc, serve_utc=own)
        stage = STAGE.read(fields)
        if stage.until.at_utc is not None:
            if stage.until.at_utc <= after_utc:
                raise fields.fault("until", "the stage ends before it can begin", "Write a later time")
            after_utc = stage.until.at_utc
        stages.append(stage)
    return tuple(stages)


def item_tables(keys: Keys[Any], items: Any, around: Around) -> list[dict[str, Any]]:
    """The tables of items, each with those of its course."""
    return [
        {**keys.write(item, around), "stage": [STAGE.write(stage, _own(item, around)) for stage in item.stages]}
        for item in items
    ]


def _own(item: Any, around: Around) -> Around:
    """What the stages of an item are read and written by: of one that is served by itself its own time is "serve"."""
    return around if item.serve_utc is None else replace(around, serve_utc=item.serve_utc)
