"""A cook file (TOML) to a :class:`pitreckon.cook.plan.Cook`; its form: ``docs/reference/cook-file.md``."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pitreckon.cook.parts import name_of, no_twins, one_table, parse_sugar, stages_of
from pitreckon.cook.plan import (
    FRIDGE_C,
    SUGAR_LEVELS,
    Cook,
    ItemPlan,
    PitPlan,
    TripCosts,
)
from pitreckon.errors import InputError, Place
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.forms.text import read_text
from pitreckon.forms.toml_lines import Lines, parse_toml
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
    shown,
)


def read_cook(path: Path, known: KnownNames | None = None) -> Cook:
    """The cook that a cook file plans.

    known: names of cuts, pits and wraps; None: those of the catalog

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return cook_from_text(read_text(path), str(path), known)


def cook_from_text(text: str, file: str, known: KnownNames | None = None) -> Cook:
    """The cook that the text of a cook file plans; ``file`` is its name for messages.

    Raises InputError: something in it is wrong (file, line and field).
    """
    raw = parse_toml(text, file)
    if not raw:
        raise InputError("the file is empty", "Write a [cook], a [[pit]] and an [[item]]", Place(file, 1))
    return _cook(raw, file, Lines(text), known or KnownNames.from_catalog())


def _cook(raw: dict[str, Any], file: str, lines: Lines, known: KnownNames) -> Cook:
    top = Fields(raw, (), "file", file, lines)
    top.only("cook", "pit", "item", "trips")
    cook_raw = raw.get("cook")
    if not isinstance(cook_raw, dict):
        raise top.fault("cook", "there is no [cook]", "Write [cook] with its name and its zone")
    fields = Fields(cook_raw, ("cook",), "cook", file, lines)
    fields.only("name", "zone", "serve", "altitude", "air", "humidity")
    zone = fields.need("zone", find_zone)
    serve_utc = fields.maybe("serve", partial(parse_instant, zone=zone))
    pit_fields = top.tables("pit", "pit")
    pits = tuple(_pit(each, known) for each in pit_fields)
    no_twins(pit_fields)
    item_fields = top.tables("item", "item")
    no_twins(item_fields)
    items = tuple(_item(each, known, pits, zone, serve_utc) for each in item_fields)
    trips = _trips(top)
    return fields.build(
        lambda: Cook(
            name=fields.need("name", name_of),
            zone=zone.key,
            serve_utc=serve_utc,
            altitude_m=fields.maybe("altitude", parse_altitude) or 0.0,
            weather_air_c=fields.maybe("air", parse_temperature),
            weather_rh=fields.maybe("humidity", parse_share),
            pits=pits,
            items=items,
            trips=trips,
        )
    )


def _trips(top: Fields) -> TripCosts:
    fields, usual = one_table(top, "trips"), TripCosts()
    if fields is None:
        return usual
    fields.only("walk", "lid", "late", "too_late")

    def seconds(key: str, left_out: float) -> float:
        given = fields.maybe(key, parse_duration)
        return left_out if given is None else given

    return fields.build(
        lambda: TripCosts(
            walk_s=seconds("walk", usual.walk_s),
            lid_s=seconds("lid", usual.lid_s),
            late=seconds("late", usual.late * 60.0) / 60.0,
            too_late=seconds("too_late", usual.too_late * 60.0) / 60.0,
        )
    )


def _pit(fields: Fields, known: KnownNames) -> PitPlan:
    fields.only("name", "kind", "set")
    return fields.build(
        lambda: PitPlan(
            label=fields.need("name", name_of),
            kind=fields.need("kind", known.pit),
            set_c=fields.need("set", parse_temperature),
        )
    )


def _item(
    fields: Fields, known: KnownNames, pits: tuple[PitPlan, ...], zone: ZoneInfo, serve_utc: datetime | None
) -> ItemPlan:
    fields.only(
        *("name", "cut", "pieces", "weight", "pit", "put_on", "start"),
        *("thickness", "thinner", "sugar", "salt", "stage"),
    )
    label = fields.need("name", name_of)
    put_on_utc = fields.need("put_on", partial(parse_instant, zone=zone))
    start_c = fields.maybe("start", parse_temperature)
    sugar = fields.maybe("sugar", parse_sugar)
    stages = fields.tables("stage", f"{fields.title}, stage")
    return fields.build(
        lambda: ItemPlan(
            label=label,
            cut=fields.need("cut", known.cut),
            pieces=_pieces(fields),
            mass_kg=fields.need("weight", parse_mass),
            pit=_pit_label(fields, pits),
            put_on_utc=put_on_utc,
            start_c=FRIDGE_C if start_c is None else start_c,
            thickness_m=fields.maybe("thickness", parse_length),
            thickness_factor=1.0 - (fields.maybe("thinner", parse_share) or 0.0),
            sugar=SUGAR_LEVELS["some"] if sugar is None else sugar,
            salt_g_per_kg=fields.maybe("salt", parse_salt_dose),
            stages=stages_of(stages, known, put_on_utc, zone, serve_utc),
        )
    )


def _pieces(fields: Fields) -> int:
    pieces = fields.raw.get("pieces", 1)
    if isinstance(pieces, bool) or not isinstance(pieces, int):
        raise fields.fault("pieces", "pieces is not a whole number", "Write it as in pieces = 3, without quotes")
    return pieces


def _pit_label(fields: Fields, pits: tuple[PitPlan, ...]) -> str:
    wanted = fields.maybe("pit", name_of)
    if wanted is None and len(pits) == 1:
        return pits[0].label
    listing = ", ".join(pit.label for pit in pits) or "a [[pit]] first"
    if wanted is None:
        raise fields.fault("pit", "pit is missing, and the cook has not just one", f"Write one of: {listing}")
    for pit in pits:
        if pit.label.casefold() == wanted.casefold():
            return pit.label
    raise fields.fault("pit", f"{shown(wanted)} is no pit of this cook", f"Write one of: {listing}")
