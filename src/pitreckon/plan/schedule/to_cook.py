"""A planned day as a cook, which ``reckon`` can follow."""

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.plan.schedule.schedule import PlannedItem, Schedule
from pitreckon.plan.wishes import Wishes


def to_cook(wishes: Wishes, schedule: Schedule) -> Cook:
    """The cook that a schedule plans: its pits at their temperatures, its items at their put-ons, held until served."""
    pans = {pit.label: pit.water_pan for pit in wishes.pits}
    return Cook(
        name=wishes.name,
        zone=wishes.zone,
        serve_utc=wishes.serve_utc,
        altitude_m=wishes.altitude_m,
        weather_air_c=wishes.weather_air_c,
        weather_rh=wishes.weather_rh,
        pits=tuple(PitPlan(pit.label, pit.kind, pit.set_c, pans.get(pit.label)) for pit in schedule.pits),
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
