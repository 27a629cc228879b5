"""When the fires of a cook are to be lit, and how often they are fed, where only its meat was planned."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from pitreckon import catalog
from pitreckon.cook import Cook, PitPlan
from pitreckon.plan.fuel.balance import Weather
from pitreckon.plan.fuel.tending import tending
from pitreckon.plan.wishes import PitWish
from pitreckon.units import instant_after

STEP: Final = timedelta(minutes=5)
"""A fire is lit on a round time."""
BURNS_ON: Final = timedelta(hours=6)
"""So long after the last put-on a fire burns where no hour of serving is known: common practice, no source."""


def with_fires(cook: Cook) -> Cook:
    """The cook with each fire that meat is planned for lit so early that it is steady at the first put-on, and fed.

    What its plan says of a fire stays; of a kind whose fire the catalog does not know nothing is said.
    """
    return replace(cook, pits=tuple(_pit(pit, cook) for pit in cook.pits))


def _pit(pit: PitPlan, cook: Cook) -> PitPlan:
    on_it = [item.put_on_utc for item in cook.items if item.pit == pit.label]
    fire = catalog.pit(pit.kind).fire
    if pit.light_utc is not None or not on_it or fire is None:
        return pit
    lit = instant_after(min(on_it), -fire.lit_s.value)
    lit -= timedelta(seconds=lit.timestamp() % STEP.total_seconds())
    wish = PitWish(pit.label, pit.kind, (pit.set_c,), water_pan=pit.water_pan)
    sky = None if cook.weather_air_c is None else Weather(cook.weather_air_c)
    wants = tending(wish, lit, _off(cook, max(on_it)), pit.set_c, sky)
    said = pit.feed_every_s is not None
    return replace(
        pit,
        light_utc=lit,
        feed_every_s=pit.feed_every_s if said else wants.feed_every_s,
        feed_kg=pit.feed_kg if said else wants.feed_kg,
        water_every_s=pit.water_every_s or wants.water_every_s,
        ash_every_s=pit.ash_every_s or wants.ash_every_s,
    )


def _off(cook: Cook, last_on: datetime) -> datetime:
    """When its fires are no longer wanted, at the latest."""
    return cook.serve_utc if cook.serve_utc is not None and cook.serve_utc > last_on else last_on + BURNS_ON
