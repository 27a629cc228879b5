"""The tables of a cook file that asks for a day: those of :mod:`pitreckon.cook.keys` with more keys, fewer needed."""

from dataclasses import replace
from datetime import datetime, timedelta

from pitreckon.cook import Away
from pitreckon.cook.keys import (
    AMOUNT,
    AWAY_KIND,
    HEAD,
    ITEM_HEAD,
    MEAT,
    MOMENT,
    PIT_HEAD,
    PIT_LABEL,
    PUT_ON,
    SERVE,
    SHARE,
    SPAN,
    TASK_HEAD,
    TEMPERATURE,
    WATER_PAN,
    WEATHER,
    WRAP,
    Around,
    parse_span_or_none,
)
from pitreckon.cook.plan import SideTask
from pitreckon.cook.values import minutes_text, moment_text
from pitreckon.errors import InputError
from pitreckon.forms.keys import FLAG, NUMBER, WHOLE, Key, Keys, several, text, text_within, word
from pitreckon.plan.wishes import SIDES, STATES, WRAPPINGS, Guests, Hands, ItemWish, PitWish, Wishes
from pitreckon.units import parse_altitude, parse_area, parse_clock, parse_instant, parse_price, shown


def _currency(text: str) -> str:
    word = text.strip()
    if not 1 <= len(word) <= 4 or not word.isprintable():
        raise InputError(f"{shown(text)} is no currency", 'Write its three letters, as in currency = "USD"')
    return word


def _moment_before(text: str, around: Around) -> datetime:
    """A day and time; or a clock time, meant on the last day on which it is not after the serving time.

    The beginning of a time away is read by what is around its end: there ``serve_utc`` is the end.
    """
    if "-" in text:
        return parse_instant(text, around.zone)
    assert around.serve_utc is not None
    clock, local = parse_clock(text), around.serve_utc.astimezone(around.zone)
    day = local.date() - timedelta(days=0 if clock <= local.time().replace(tzinfo=None) else 1)
    return parse_instant(f"{day.isoformat()} {clock:%H:%M}", around.zone)


_BEFORE = text_within(_moment_before, lambda at, around: moment_text(at, around.zone))
_HOLD = text(parse_span_or_none, minutes_text)

DAY = Keys(
    Wishes,
    *HEAD,
    replace(SERVE, needed=True),
    Key("altitude", text(parse_altitude, "{:.1f} m".format), '"800 ft"', "altitude_m", unsaid=0.0),
    *WEATHER,
    Key("chance", SHARE, '"95 %"'),
    Key("earliest", MOMENT, '"2026-10-10 05:00"', "earliest_utc"),
    Key("planned", MOMENT, '"2026-10-09 20:00"', "planned_utc"),
    Key("hold_places", WHOLE, "8"),
    Key("currency", text(_currency), '"USD"'),
)
GUESTS = Keys(
    Guests,
    Key("adults", WHOLE, "12", unsaid=0),
    Key("children", WHOLE, "4", unsaid=0),
    Key("hungry", WHOLE, "2", unsaid=0),
    Key("leftovers", SHARE, '"10 %"', unsaid=0.0),
    Key("sure", SHARE, '"90 %"'),
    Key("sides", word(SIDES, "no kind of sides"), '"many"'),
    Key("together", FLAG, "true", unsaid=False),
)
HANDS = Keys(Hands, Key("cooks", WHOLE, "2"), inside=("away",))
UNTIL = Key("until", _BEFORE, '"15:00"', "until_utc", needed=True)
AWAY = Keys(
    Away,
    Key("from", _BEFORE, '"13:00"', "from_utc", needed=True),
    UNTIL,
    AWAY_KIND,
)
PIT = Keys(
    PitWish,
    *PIT_HEAD,
    Key("set", several(TEMPERATURE), '["225 F", "250 F"]', "sets_c", needed=True),
    Key("grates", WHOLE, "2"),
    Key("grate_area", text(parse_area, "{:.6g} m2".format), '"400 sq in"', "grate_m2"),
    Key("lighting", SPAN, '"45 min"', "lit_s"),
    WATER_PAN,
)
ITEM = Keys(
    ItemWish,
    *ITEM_HEAD,
    Key("share", NUMBER, "1.5"),
    *AMOUNT,
    Key("pits", several(PIT_LABEL), '["big box"]'),
    PUT_ON,
    Key("wrapping", word(WRAPPINGS, "no wrapping"), '"either"', unsaid="usual"),
    Key("wrap", WRAP, '"foil"'),
    Key("state", word(STATES, "no state"), '"chilled"'),
    Key("trimmed", FLAG, "true", unsaid=False),
    Key("handled", FLAG, "true", unsaid=False),
    *MEAT,
    Key("shortest_hold", _HOLD, '"30 min"', "least_hold_s", unsaid=0.0),
    Key("longest_hold", text(parse_span_or_none, lambda s: minutes_text(s or None) or "none"), '"4h"', "most_hold_s"),
    Key("hold_at", TEMPERATURE, '"150 F"', "hold_c"),
    Key("serve", _BEFORE, '"12:30"', "serve_utc"),
    Key("travel", _HOLD, '"40 min"', "travel_s", unsaid=0.0),
    Key("price", text(parse_price, "{:.6g} / kg".format), '"4.99 / lb"', "price_per_kg"),
    inside=("stage", "pit"),
)
TASK = Keys(
    SideTask,
    *TASK_HEAD,
    Key("at", _BEFORE, '"16:30"', "at_utc", needed=True),
    Key("takes", SPAN, '"20 min"', "for_s", unsaid=0.0),
)
ONE_PIT = Key("pit", several(PIT_LABEL), '"big box"')
"""An item may also have its pits as a cook file has its pit."""
