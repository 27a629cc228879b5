"""The text of a cook file that asks for a day to be planned; :mod:`.wishfile` reads it back to the same wishes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from pitreckon.intake.until import mark_text
from pitreckon.ledger import StagePlan, Until
from pitreckon.ledger.cook import SUGAR_LEVELS
from pitreckon.ledger.wishes import Away, ItemWish, PitWish, Wishes
from pitreckon.units import INCH_M, POUND_KG, format_mass, parse_length, parse_mass, parse_temperature

Value = str | int | float | bool | Sequence[str] | None


def wish_text(wishes: Wishes) -> str:
    """A cook file of these wishes, each value with its unit.

    Temperatures, weights and lengths are written in the unit in which they are short and read back the same; else to
    0.01 K, 0.1 g and 0.01 mm. Times are written to the minute.
    """
    zone = wishes.zone_info
    parts = [_table("[cook]", _cook(wishes, zone))]
    if wishes.guests is not None:
        guests = wishes.guests
        people: dict[str, Value] = {name: getattr(guests, name) or None for name in ("adults", "children", "hungry")}
        more: dict[str, Value] = {"leftovers": _percent(guests.leftovers) if guests.leftovers else None}
        more |= {"sure": _percent(guests.sure), "sides": guests.sides, "together": guests.together or None}
        parts.append(_table("[guests]", people | more))
    if wishes.hands.cooks != 1 or wishes.hands.away:
        parts.append(_table("[hands]", {"cooks": wishes.hands.cooks}))
        parts += [_table("[[hands.away]]", _away(away, zone)) for away in wishes.hands.away]
    parts += [_table("[[pit]]", _pit(pit)) for pit in wishes.pits]
    for item in wishes.items:
        parts.append(_table("[[item]]", _item(item, zone)))
        parts += [_table("[[item.stage]]", _stage(stage, wishes, zone)) for stage in item.stages]
    return "\n".join(parts)


def _cook(wishes: Wishes, zone: ZoneInfo) -> dict[str, Value]:
    return {
        "name": wishes.name,
        "zone": wishes.zone,
        "serve": _moment(wishes.serve_utc, zone),
        "altitude": f"{wishes.altitude_m:.1f} m" if wishes.altitude_m else None,
        "air": _celsius(wishes.weather_air_c),
        "humidity": None if wishes.weather_rh is None else _percent(wishes.weather_rh),
        "chance": _percent(wishes.chance),
        "earliest": _moment(wishes.earliest_utc, zone),
        "planned": _moment(wishes.planned_utc, zone),
        "hold_places": wishes.hold_places,
        "currency": wishes.currency,
    }


def _away(away: Away, zone: ZoneInfo) -> dict[str, Value]:
    return {"from": _moment(away.from_utc, zone), "until": _moment(away.until_utc, zone), "kind": away.kind}


def _pit(pit: PitWish) -> dict[str, Value]:
    return {
        "name": pit.label,
        "kind": pit.kind,
        "set": tuple(str(_celsius(set_c)) for set_c in pit.sets_c),
        "grates": pit.grates,
        "grate_area": None if pit.grate_m2 is None else f"{pit.grate_m2:.6g} m2",
        "lighting": None if pit.lit_s is None else _minutes(pit.lit_s),
    }


def _item(item: ItemWish, zone: ZoneInfo) -> dict[str, Value]:
    thinner = 1.0 - item.thickness_factor
    return {
        "name": item.label,
        "cut": item.cut,
        "share": item.share,
        "pieces": item.pieces,
        "weight": _weight(item.mass_kg),
        "pits": item.pits or None,
        "put_on": _moment(item.put_on_utc, zone),
        "wrapping": None if item.wrapping == "usual" else item.wrapping,
        "wrap": item.wrap,
        "state": item.state,
        "trimmed": item.trimmed or None,
        "handled": item.handled or None,
        "start": _celsius(item.start_c),
        "thickness": _length(item.thickness_m),
        "thinner": f"{100.0 * thinner:.2f} %" if thinner > 1e-6 else None,
        "sugar": min(SUGAR_LEVELS, key=lambda name: abs(SUGAR_LEVELS[name] - item.sugar)),
        "salt": None if item.salt_g_per_kg is None else f"{item.salt_g_per_kg:g} g/kg",
        "shortest_hold": _minutes(item.least_hold_s) if item.least_hold_s else None,
        "longest_hold": _minutes(item.most_hold_s) if item.most_hold_s else "none",
        "hold_at": _celsius(item.hold_c),
        "price": None if item.price_per_kg is None else f"{item.price_per_kg:.6g} / kg",
    }


def _stage(stage: StagePlan, wishes: Wishes, zone: ZoneInfo) -> dict[str, Value]:
    return {
        "do": stage.kind,
        "until": _until(stage.until, wishes, zone),
        "wrap": stage.wrap,
        "liquid": _weight(stage.liquid_kg) if stage.liquid_kg else None,
        "air": _celsius(stage.air_c),
        "glaze": _weight(stage.glaze_kg),
    }


def _until(until: Until, wishes: Wishes, zone: ZoneInfo) -> str:
    if until.core_c is not None:
        return str(_celsius(until.core_c))
    if until.duration_s is not None:
        return _minutes(until.duration_s)
    if until.at_utc is not None:
        return "serve" if until.at_utc == wishes.serve_utc else str(_moment(until.at_utc, zone))
    return mark_text(until)


def _moment(at_utc: datetime | None, zone: ZoneInfo) -> str | None:
    """With its offset, for an hour that the clocks repeat."""
    return None if at_utc is None else at_utc.astimezone(zone).isoformat(sep=" ", timespec="minutes")


def _celsius(temp_c: float | None) -> str | None:
    if temp_c is None:
        return None
    celsius, fahrenheit = f"{temp_c:g} C", f"{temp_c * 1.8 + 32.0:.0f} F"
    # Cooks set fives: 275 F is rather meant than 135 C, and 65 C than 149 F.
    ways = (fahrenheit, celsius) if fahrenheit.endswith(("0 F", "5 F")) else (celsius, fahrenheit)
    return _same(ways, temp_c, parse_temperature) or f"{temp_c:.2f} C"


def _weight(mass_kg: float | None) -> str | None:
    if mass_kg is None:
        return None
    ways = (f"{mass_kg:g} kg", f"{mass_kg / POUND_KG:.4g} lb", format_mass(mass_kg, "lb"))
    return _same(ways, mass_kg, parse_mass) or f"{1000.0 * mass_kg:.1f} g"


def _length(length_m: float | None) -> str | None:
    if length_m is None:
        return None
    ways = (f"{1000.0 * length_m:g} mm", f"{length_m / INCH_M:.4g} in")
    return _same(ways, length_m, parse_length) or f"{1000.0 * length_m:.2f} mm"


def _same(ways: Sequence[str], value: float, parse: Callable[[str], float]) -> str | None:
    """The first of these texts that is read as just that value."""
    return next((text for text in ways if parse(text) == value), None)


def _percent(share: float) -> str:
    return f"{100.0 * share:.6g} %"


def _minutes(span_s: float) -> str:
    return f"{span_s / 60.0:.6g} min"


def tables_text(tables: Iterable[tuple[str, Mapping[str, Value]]]) -> str:
    """A TOML document of these tables: their headings with brackets, and their values; what is None is left out.

    >>> print(tables_text([("[cook]", {"name": "supper"}), ("[hands]", {"cooks": 2})]))
    [cook]
    name = "supper"
    <BLANKLINE>
    [hands]
    cooks = 2
    <BLANKLINE>
    """
    return "\n".join(_table(head, values) for head, values in tables)


def _table(head: str, values: Mapping[str, Value]) -> str:
    return "\n".join([head, *_lines(values)]) + "\n"


def _lines(values: Mapping[str, Value]) -> Iterator[str]:
    for key, value in values.items():
        if value is None:
            continue
        if isinstance(value, str):
            yield f"{key} = {_quoted(value)}"
        elif isinstance(value, bool):
            yield f"{key} = {'true' if value else 'false'}"
        elif isinstance(value, int | float):
            yield f"{key} = {value!r}"
        else:
            yield f"{key} = [{', '.join(_quoted(each) for each in value)}]"


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's escapes are its own; JSON leaves but one character that TOML does not allow."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
