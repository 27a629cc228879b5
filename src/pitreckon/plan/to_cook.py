"""A planned day as a cook, which ``reckon`` can follow, and as the text of a cook file."""

from __future__ import annotations

from datetime import datetime

from pitreckon.intake.cookwrite import plan_text
from pitreckon.ledger import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger.wishes import Wishes
from pitreckon.plan.schedule import PlannedItem, Schedule
from pitreckon.units import format_local


def to_cook(wishes: Wishes, schedule: Schedule) -> Cook:
    """The cook that a schedule plans: its pits at their temperatures, its items at their put-ons, held until served."""
    return Cook(
        name=wishes.name,
        zone=wishes.zone,
        serve_utc=wishes.serve_utc,
        altitude_m=wishes.altitude_m,
        weather_air_c=wishes.weather_air_c,
        weather_rh=wishes.weather_rh,
        pits=tuple(PitPlan(pit.label, pit.kind, pit.set_c) for pit in schedule.pits),
        items=tuple(_item(wishes, each) for each in schedule.items),
    )


def _item(wishes: Wishes, planned: PlannedItem) -> ItemPlan:
    wish = next(item for item in wishes.items if item.label == planned.label)
    hold = StagePlan("hold", Until("clock", wishes.serve_utc), air_c=planned.hold_c)
    return ItemPlan(
        label=wish.label,
        cut=wish.cut,
        pieces=planned.pieces,
        mass_kg=planned.mass_kg,
        pit=planned.pit,
        put_on_utc=planned.put_on_utc,
        start_c=wish.start_c,
        thickness_m=wish.thickness_m,
        thickness_factor=wish.thickness_factor,
        sugar=wish.sugar,
        salt_g_per_kg=wish.salt_g_per_kg,
        stages=(*planned.stages, hold) if wish.most_hold_s > 0.0 else planned.stages,
    )


def cook_file(cook: Cook) -> str:
    """The text of a cook file of this cook, which :func:`pitreckon.intake.read_cook` reads."""
    zone = cook.zone_info

    def moment(at_utc: datetime) -> str:
        # The offset is said as well, for an hour that the clocks repeat.
        return at_utc.astimezone(zone).isoformat(sep=" ", timespec="minutes")

    head = {
        "name": cook.name,
        "zone": cook.zone,
        "serve": "" if cook.serve_utc is None else moment(cook.serve_utc),
        "altitude": f"{cook.altitude_m:g} m",
        "air": "" if cook.weather_air_c is None else _celsius(cook.weather_air_c),
        "humidity": "" if cook.weather_rh is None else f"{100 * cook.weather_rh:g} %",
    }
    pits = [{"name": pit.label, "kind": pit.kind, "set": _celsius(pit.set_c)} for pit in cook.pits]
    items, stages = [], {}
    for number, item in enumerate(cook.items):
        items.append(
            {
                "name": item.label,
                "cut": item.cut,
                "pieces": str(item.pieces),
                "weight": f"{1000 * item.mass_kg:.1f} g",
                "pit": item.pit,
                "put_on": moment(item.put_on_utc),
                "start": _celsius(item.start_c),
                "thickness": "" if item.thickness_m is None else f"{1000 * item.thickness_m:.2f} mm",
                "thinner": "" if item.thickness_factor == 1.0 else f"{100 * (1 - item.thickness_factor):.2f} %",
                "sugar": _sugar(item.sugar),
                "salt": "" if item.salt_g_per_kg is None else f"{item.salt_g_per_kg:g} g/kg",
            }
        )
        stages[number] = [_stage(stage, cook) for stage in item.stages]
    return plan_text(head, pits, items, stages)


def _stage(stage: StagePlan, cook: Cook) -> dict[str, str]:
    return {
        "do": stage.kind,
        "until": _until(stage.until, cook),
        "wrap": stage.wrap or "",
        "liquid": f"{1000 * stage.liquid_kg:g} g" if stage.liquid_kg else "",
        "air": "" if stage.air_c is None else _celsius(stage.air_c),
        "glaze": "" if stage.glaze_kg is None else f"{1000 * stage.glaze_kg:g} g",
    }


def _until(until: Until, cook: Cook) -> str:
    if until.core_c is not None:
        return _celsius(until.core_c)
    if until.duration_s is not None:
        return f"{until.duration_s / 60.0:g} min"
    if until.at_utc is not None:
        return "serve" if until.at_utc == cook.serve_utc else format_local(until.at_utc, cook.zone_info)
    return until.what


def _celsius(temp_c: float) -> str:
    return f"{temp_c:.2f} C"


def _sugar(level: float) -> str:
    return "none" if level < 0.25 else "some" if level < 0.75 else "much"
