"""The text of a cook file that asks for a day to be planned; :mod:`.wishfile` reads it back to the same wishes."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from pitreckon.cook.values import (
    length_text,
    minutes_text,
    moment_text,
    salt_text,
    share_text,
    stage_values,
    sugar_text,
    temperature_text,
    thinner_text,
    weight_text,
)
from pitreckon.forms.toml_write import Table, Value, tables_text
from pitreckon.plan.wishes import Away, Guests, ItemWish, PitWish, Wishes


def wish_text(wishes: Wishes) -> str:
    """A cook file of these wishes, each value with its unit, as :mod:`.valuewrite` writes it."""
    zone = wishes.zone_info
    tables: list[Table] = [("[cook]", _cook(wishes, zone))]
    if wishes.guests is not None:
        tables.append(("[guests]", _guests(wishes.guests)))
    if wishes.hands.cooks != 1 or wishes.hands.away:
        tables.append(("[hands]", {"cooks": wishes.hands.cooks}))
        tables += [("[[hands.away]]", _away(away, zone)) for away in wishes.hands.away]
    tables += [("[[pit]]", _pit(pit)) for pit in wishes.pits]
    for item in wishes.items:
        tables.append(("[[item]]", _item(item, zone)))
        tables += [("[[item.stage]]", stage_values(stage, wishes.serve_utc, zone)) for stage in item.stages]
    return tables_text(tables)


def _cook(wishes: Wishes, zone: ZoneInfo) -> dict[str, Value]:
    return {
        "name": wishes.name,
        "zone": wishes.zone,
        "serve": moment_text(wishes.serve_utc, zone),
        "altitude": f"{wishes.altitude_m:.1f} m" if wishes.altitude_m else None,
        "air": temperature_text(wishes.weather_air_c),
        "humidity": share_text(wishes.weather_rh),
        "chance": share_text(wishes.chance),
        "earliest": moment_text(wishes.earliest_utc, zone),
        "planned": moment_text(wishes.planned_utc, zone),
        "hold_places": wishes.hold_places,
        "currency": wishes.currency,
    }


def _guests(guests: Guests) -> dict[str, Value]:
    return {
        "adults": guests.adults or None,
        "children": guests.children or None,
        "hungry": guests.hungry or None,
        "leftovers": share_text(guests.leftovers or None),
        "sure": share_text(guests.sure),
        "sides": guests.sides,
        "together": guests.together or None,
    }


def _away(away: Away, zone: ZoneInfo) -> dict[str, Value]:
    return {"from": moment_text(away.from_utc, zone), "until": moment_text(away.until_utc, zone), "kind": away.kind}


def _pit(pit: PitWish) -> dict[str, Value]:
    return {
        "name": pit.label,
        "kind": pit.kind,
        "set": tuple(str(temperature_text(set_c)) for set_c in pit.sets_c),
        "grates": pit.grates,
        "grate_area": None if pit.grate_m2 is None else f"{pit.grate_m2:.6g} m2",
        "lighting": minutes_text(pit.lit_s),
    }


def _item(item: ItemWish, zone: ZoneInfo) -> dict[str, Value]:
    return {
        "name": item.label,
        "cut": item.cut,
        "share": item.share,
        "pieces": item.pieces,
        "weight": weight_text(item.mass_kg),
        "pits": item.pits or None,
        "put_on": moment_text(item.put_on_utc, zone),
        "wrapping": None if item.wrapping == "usual" else item.wrapping,
        "wrap": item.wrap,
        "state": item.state,
        "trimmed": item.trimmed or None,
        "handled": item.handled or None,
        "start": temperature_text(item.start_c),
        "thickness": length_text(item.thickness_m),
        "thinner": thinner_text(item.thickness_factor),
        "sugar": sugar_text(item.sugar),
        "salt": salt_text(item.salt_g_per_kg),
        "shortest_hold": minutes_text(item.least_hold_s or None),
        "longest_hold": minutes_text(item.most_hold_s or None) or "none",
        "hold_at": temperature_text(item.hold_c),
        "price": None if item.price_per_kg is None else f"{item.price_per_kg:.6g} / kg",
    }
