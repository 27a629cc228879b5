"""The text of a cook file, of a cook or of what was filled in at a form; :mod:`.cookfile` reads and judges it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pitreckon.cook.plan import Cook, ItemPlan
from pitreckon.cook.values import (
    length_text,
    moment_text,
    salt_text,
    share_text,
    stage_values,
    sugar_text,
    temperature_text,
    thinner_text,
    weight_text,
)
from pitreckon.forms.toml_write import Table, Value, tables_text, whole_number

Filled = Mapping[str, str]


def plan_text(
    cook: Filled,
    pits: Sequence[Filled],
    items: Sequence[Filled],
    stages: Mapping[int, Sequence[Filled]] | None = None,
) -> str:
    """A cook file with these values, as they were typed; what is blank is left out.

    cook, pits, items: values by their keys in a cook file
    stages: of the item of that place; an item without any has its cut's usual course

    >>> print(plan_text({"name": "supper", "zone": "UTC"}, [{"name": "box", "set": "275 F"}], []))
    [cook]
    name = "supper"
    zone = "UTC"
    <BLANKLINE>
    [[pit]]
    name = "box"
    set = "275 F"
    <BLANKLINE>
    """
    tables = [_typed("[cook]", cook), *(_typed("[[pit]]", pit) for pit in pits)]
    for place, item in enumerate(items):
        tables.append(_typed("[[item]]", item))
        tables += [_typed("[[item.stage]]", stage) for stage in (stages or {}).get(place, ())]
    return tables_text(tables)


def _typed(head: str, filled: Filled) -> Table:
    values: dict[str, Value] = {key: text.strip() or None for key, text in filled.items()}
    if isinstance(pieces := values.get("pieces"), str):
        values["pieces"] = whole_number(pieces)
    return head, values


def cook_text(cook: Cook) -> str:
    """The text of a cook file of this cook, without its trip costs; :func:`pitreckon.intake.read_cook` reads it."""
    zone = cook.zone_info
    head: dict[str, Value] = {
        "name": cook.name,
        "zone": cook.zone,
        "serve": moment_text(cook.serve_utc, zone),
        "altitude": f"{cook.altitude_m:g} m",
        "air": temperature_text(cook.weather_air_c),
        "humidity": share_text(cook.weather_rh),
    }
    tables: list[Table] = [("[cook]", head)]
    tables += [
        ("[[pit]]", {"name": pit.label, "kind": pit.kind, "set": temperature_text(pit.set_c)}) for pit in cook.pits
    ]
    for item in cook.items:
        tables.append(("[[item]]", _item(item, cook)))
        tables += [("[[item.stage]]", stage_values(stage, cook.serve_utc, zone)) for stage in item.stages]
    return tables_text(tables)


def _item(item: ItemPlan, cook: Cook) -> dict[str, Value]:
    return {
        "name": item.label,
        "cut": item.cut,
        "pieces": item.pieces,
        "weight": weight_text(item.mass_kg),
        "pit": item.pit,
        "put_on": moment_text(item.put_on_utc, cook.zone_info),
        "start": temperature_text(item.start_c),
        "thickness": length_text(item.thickness_m),
        "thinner": thinner_text(item.thickness_factor),
        "sugar": sugar_text(item.sugar),
        "salt": salt_text(item.salt_g_per_kg),
    }
