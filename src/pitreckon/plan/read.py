"""A cook file that leaves the day to be planned to :class:`pitreckon.plan.wishes.Wishes`.

The form is that of :mod:`.cookfile` with more keys, and fewer that are needed; ``docs/how-to/plan-the-day.md``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pitreckon.cook.parts import name_of, no_twins, one_table, parse_span_or_none, parse_sugar, stages_of
from pitreckon.cook.plan import FRIDGE_C, SUGAR_LEVELS
from pitreckon.errors import InputError, Place
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.forms.text import read_text
from pitreckon.forms.toml_lines import Lines, parse_toml
from pitreckon.plan.wishes import (
    AWAY_KINDS,
    HOT_HOLD_C,
    LONGEST_HOLD_S,
    SIDES,
    STATES,
    USUAL_CHANCE,
    USUALLY_SURE,
    WRAPPINGS,
    Away,
    Guests,
    Hands,
    ItemWish,
    PitWish,
    Wishes,
)
from pitreckon.units import (
    FOOT_M,
    INCH_M,
    POUND_KG,
    find_zone,
    parse_altitude,
    parse_clock,
    parse_duration,
    parse_instant,
    parse_length,
    parse_mass,
    parse_salt_dose,
    parse_share,
    parse_temperature,
    shown,
)

T = TypeVar("T")

COOK_KEYS = (
    *("name", "zone", "serve", "altitude", "air", "humidity"),
    *("earliest", "planned", "chance", "hold_places", "currency"),
)
GUEST_KEYS = ("adults", "children", "hungry", "leftovers", "sure", "sides", "together")
HAND_KEYS = ("cooks", "away")
AWAY_KEYS = ("from", "until", "kind")
PIT_KEYS = ("name", "kind", "set", "grates", "grate_area", "lighting")
ITEM_KEYS = (
    *("name", "cut", "share", "pieces", "weight", "pit", "pits", "put_on", "start", "thickness", "thinner", "sugar"),
    *("salt", "stage", "wrapping", "wrap", "state", "trimmed", "handled"),
    *("shortest_hold", "longest_hold", "hold_at", "price"),
)
_AREAS = (
    ("sq in", INCH_M**2),
    ("in2", INCH_M**2),
    ("sq ft", FOOT_M**2),
    ("ft2", FOOT_M**2),
    ("cm2", 1e-4),
    ("m2", 1.0),
)
MASSES = (("lb", POUND_KG), ("kg", 1.0))


def read_wishes(path: Path, known: KnownNames | None = None) -> Wishes:
    """What a cook file asks for.

    known: names of cuts, pits and wraps; None: those of the catalog

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return wishes_from_text(read_text(path), str(path), known)


def wishes_from_text(text: str, file: str, known: KnownNames | None = None) -> Wishes:
    """What the text of a cook file asks for; ``file`` is its name for messages.

    Raises InputError: something in it is wrong (file, line and field).
    """
    raw = parse_toml(text, file)
    if not raw:
        raise InputError("the file is empty", "Write a [cook], a [[pit]] and an [[item]]", Place(file, 1))
    return _wishes(raw, file, Lines(text), known or KnownNames.from_catalog())


def asks_for_a_plan(text: str, file: str) -> bool:
    """Does the text of a cook file leave something to be planned: whom to feed, or when something goes on?

    Raises InputError: it is no TOML.
    """
    raw = parse_toml(text, file)
    items = raw.get("item")
    rows = [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []
    pits = raw.get("pit")
    several = isinstance(pits, list) and any(isinstance(pit, dict) and isinstance(pit.get("set"), list) for pit in pits)
    return several or bool({"guests", "hands"} & set(raw)) or any("put_on" not in item for item in rows)


def _wishes(raw: dict[str, Any], file: str, lines: Lines, known: KnownNames) -> Wishes:
    top = Fields(raw, (), "file", file, lines)
    top.only("cook", "guests", "hands", "pit", "item", "trips")
    cook_raw = raw.get("cook")
    if not isinstance(cook_raw, dict):
        raise top.fault("cook", "there is no [cook]", "Write [cook] with its name, its zone and when to serve")
    cook = Fields(cook_raw, ("cook",), "cook", file, lines)
    cook.only(*COOK_KEYS)
    zone = cook.need("zone", find_zone)
    moment = partial(parse_instant, zone=zone)
    serve_utc = cook.need("serve", moment)
    pit_fields = top.tables("pit", "pit")
    pits = tuple(_pit(each, known) for each in pit_fields)
    no_twins(pit_fields)
    item_fields = top.tables("item", "item")
    no_twins(item_fields)
    items = tuple(_item(each, known, pits, zone, serve_utc) for each in item_fields)
    guests, hands = _guests(top), _hands(top, zone, serve_utc)
    chance = cook.maybe("chance", parse_share)
    try:
        return cook.build(
            lambda: Wishes(
                name=cook.need("name", name_of),
                zone=zone.key,
                serve_utc=serve_utc,
                pits=pits,
                items=items,
                altitude_m=cook.maybe("altitude", parse_altitude) or 0.0,
                weather_air_c=cook.maybe("air", parse_temperature),
                weather_rh=cook.maybe("humidity", parse_share),
                guests=guests,
                hands=hands,
                chance=USUAL_CHANCE if chance is None else chance,
                earliest_utc=cook.maybe("earliest", moment),
                planned_utc=cook.maybe("planned", moment),
                hold_places=_count(cook, "hold_places"),
                currency=cook.maybe("currency", _currency) or "USD",
            )
        )
    except InputError as error:
        raise _at_its_item(error, item_fields, top) from None


def _at_its_item(error: InputError, items: list[Fields], top: Fields) -> InputError:
    """A complaint of the whole about one item or table, put on the line of that."""
    field = (error.place.field or "").removeprefix("cook: ")
    if field in {"pit", "item"} and not items:
        return top.fault(field, error.trouble, error.remedy)
    for fields in items:
        if f"'{fields.raw.get('name')}'" in error.trouble and field in {"pit", "pits", "put_on", "pieces"}:
            key = field if field in fields.raw else {"pit": "pits"}.get(field, "name")
            return InputError(error.trouble, error.remedy, fields.place(key))
    return error


def _guests(top: Fields) -> Guests | None:
    fields = one_table(top, "guests")
    if fields is None:
        return None
    fields.only(*GUEST_KEYS)
    left, sure = fields.maybe("leftovers", parse_share), fields.maybe("sure", parse_share)
    return fields.build(
        lambda: Guests(
            adults=_count(fields, "adults") or 0,
            children=_count(fields, "children") or 0,
            hungry=_count(fields, "hungry") or 0,
            leftovers=left or 0.0,
            sure=USUALLY_SURE if sure is None else sure,
            sides=fields.maybe("sides", _word(SIDES, "kind of sides")) or "usual",
            together=_yes(fields, "together"),
        )
    )


def _hands(top: Fields, zone: ZoneInfo, serve_utc: datetime) -> Hands:
    fields = one_table(top, "hands")
    if fields is None:
        return Hands()
    fields.only(*HAND_KEYS)
    away = tuple(_away(each, zone, serve_utc) for each in fields.tables("away", "away"))
    cooks = _count(fields, "cooks")
    return fields.build(lambda: Hands(1 if cooks is None else cooks, away))


def _away(fields: Fields, zone: ZoneInfo, serve_utc: datetime) -> Away:
    """A time away. A clock time without a day is that on the day before or of serving: the last before serving."""
    fields.only(*AWAY_KEYS)
    until = fields.need("until", partial(_moment_before, zone=zone, end_utc=serve_utc))
    begin = fields.need("from", partial(_moment_before, zone=zone, end_utc=until))
    return fields.build(lambda: Away(begin, until, fields.maybe("kind", _word(AWAY_KINDS, "kind")) or "away"))


def _moment_before(text: str, zone: ZoneInfo, end_utc: datetime) -> datetime:
    """A day and time; or a clock time, meant on the last day on which it is not after ``end_utc``."""
    if "-" in text:
        return parse_instant(text, zone)
    clock = parse_clock(text)
    local = end_utc.astimezone(zone)
    day = local.date() if clock <= local.time().replace(tzinfo=None) else _day_before(local)
    return parse_instant(f"{day.isoformat()} {clock.strftime('%H:%M')}", zone)


def _day_before(local: datetime) -> Any:
    return type(local.date()).fromordinal(local.date().toordinal() - 1)


def _pit(fields: Fields, known: KnownNames) -> PitWish:
    fields.only(*PIT_KEYS)
    return fields.build(
        lambda: PitWish(
            label=fields.need("name", name_of),
            kind=fields.need("kind", known.pit),
            sets_c=_several(fields, "set", parse_temperature),
            grates=_count(fields, "grates"),
            grate_m2=fields.maybe("grate_area", parse_area),
            lit_s=fields.maybe("lighting", parse_duration),
        )
    )


def _item(
    fields: Fields, known: KnownNames, pits: tuple[PitWish, ...], zone: ZoneInfo, serve_utc: datetime
) -> ItemWish:
    fields.only(*ITEM_KEYS)
    if "pit" in fields.raw and "pits" in fields.raw:
        raise fields.fault("pits", "the item has pit and pits", "Leave one of them out")
    put_on = fields.maybe("put_on", partial(parse_instant, zone=zone))
    stages = fields.tables("stage", f"{fields.title}, stage")
    start_c, sugar = fields.maybe("start", parse_temperature), fields.maybe("sugar", parse_sugar)
    hold_c = fields.maybe("hold_at", parse_temperature)
    least, most = fields.maybe("shortest_hold", parse_span_or_none), fields.maybe("longest_hold", parse_span_or_none)
    share = _number(fields, "share")
    made = fields.build(
        lambda: ItemWish(
            label=fields.need("name", name_of),
            cut=fields.need("cut", known.cut),
            share=1.0 if share is None else share,
            pieces=_count(fields, "pieces"),
            mass_kg=fields.maybe("weight", parse_mass),
            pits=_pit_labels(fields, pits),
            put_on_utc=put_on,
            wrap=fields.maybe("wrap", known.wrap),
            state=fields.maybe("state", _word(STATES, "state")) or "chilled",
            trimmed=_yes(fields, "trimmed"),
            start_c=FRIDGE_C if start_c is None else start_c,
            thickness_m=fields.maybe("thickness", parse_length),
            thickness_factor=1.0 - (fields.maybe("thinner", parse_share) or 0.0),
            sugar=SUGAR_LEVELS["some"] if sugar is None else sugar,
            salt_g_per_kg=fields.maybe("salt", parse_salt_dose),
            stages=stages_of(stages, known, put_on or serve_utc, zone, serve_utc) if stages else (),
            least_hold_s=0.0 if least is None else least,
            most_hold_s=max(LONGEST_HOLD_S, least or 0.0) if most is None else most,
            hold_c=HOT_HOLD_C if hold_c is None else hold_c,
            handled=_yes(fields, "handled"),
            price_per_kg=fields.maybe("price", parse_price),
        )
    )
    wrapping = fields.maybe("wrapping", _word(WRAPPINGS, "wrapping")) or "usual"
    return fields.build(lambda: replace(made, wrapping=wrapping))


def _count(fields: Fields, key: str) -> int | None:
    value = fields.raw.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int):
        raise fields.fault(key, f"{key} is not a whole number", f"Write it as in {key} = 3, without quotes")
    if abs(value) > 10**9:
        raise fields.fault(key, f"{key} is a huge number", f"Write it as in {key} = 3")
    return value


def _number(fields: Fields, key: str) -> float | None:
    value = fields.raw.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9:
        raise fields.fault(key, f"{key} is not a number", f"Write it as in {key} = 1.5, without quotes")
    return float(value)


def _yes(fields: Fields, key: str) -> bool:
    value = fields.raw.get(key, False)
    if not isinstance(value, bool):
        raise fields.fault(key, f"{key} is neither true nor false", f"Write {key} = true, without quotes")
    return value


def _several(fields: Fields, key: str, parse: Callable[[str], T]) -> tuple[T, ...]:
    """The values of a key that may be one text or a list of them."""
    raw = fields.raw.get(key)
    if not isinstance(raw, list):
        return (fields.need(key, parse),)
    values: list[T] = []
    for each in raw:
        if not isinstance(each, str):
            raise fields.fault(key, f"{key} has something that is not a text", f'Write it as in {key} = ["225 F"]')
        try:
            values.append(parse(each))
        except InputError as error:
            raise InputError(error.trouble, error.remedy, fields.place(key)) from None
    return tuple(dict.fromkeys(values))


def _pit_labels(fields: Fields, pits: tuple[PitWish, ...]) -> tuple[str, ...]:
    key = "pit" if "pit" in fields.raw else "pits"
    if key not in fields.raw:
        return ()
    by_name = {pit.label.casefold(): pit.label for pit in pits}

    def label(text: str) -> str:
        found = by_name.get(text.strip().casefold())
        if found is None:
            listing = ", ".join(by_name.values()) or "a [[pit]] first"
            raise InputError(f"{shown(text)} is no pit of this cook", f"Write one of: {listing}")
        return found

    return _several(fields, key, label)


def _word(allowed: tuple[str, ...], what: str) -> Callable[[str], str]:
    def parse(text: str) -> str:
        word = text.strip().casefold()
        if word not in allowed:
            raise InputError(f"{shown(text)} is no {what}", f"Write one of: {', '.join(allowed)}")
        return word

    return parse


def _currency(text: str) -> str:
    word = text.strip()
    if not 1 <= len(word) <= 4 or not word.isprintable():
        raise InputError(f"{shown(text)} is no currency", 'Write its three letters, as in currency = "USD"')
    return word


def parse_area(text: str) -> float:
    """An area [m2], written "300 sq in", "2 sq ft", "1900 cm2" or "0.2 m2".

    >>> round(parse_area("300 sq in"), 4)
    0.1935

    Raises InputError: no such thing.
    """
    plain = " ".join(text.casefold().replace("²", "2").split())
    for unit, square_m in _AREAS:
        if plain.endswith(unit):
            number = plain.removesuffix(unit).strip()
            try:
                value = float(number) * square_m
            except ValueError:
                break
            if 0.0 < value < 1e6:
                return value
    raise InputError(f"{shown(text)} is no area", 'Write it as in "300 sq in" or "0.2 m2"')


def parse_price(text: str) -> float:
    """A price for a kilogram, written "4.99 / lb" or "11 / kg".

    >>> round(parse_price("4.99 / lb"), 2)
    11.0

    Raises InputError: no such thing.
    """
    number, slash, unit = text.casefold().partition("/")
    weighs = dict(MASSES).get(unit.strip())
    try:
        value = float(number.strip().strip("$€£ "))
    except ValueError:
        weighs = None
        value = 0.0
    if not slash or weighs is None or not 0.0 <= value < 1e6:
        raise InputError(f"{shown(text)} is no price", 'Write it by weight, as in "4.99 / lb" or "11 / kg"')
    return value / weighs
