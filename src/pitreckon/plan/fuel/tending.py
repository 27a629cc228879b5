"""How often a fire wants fuel, water and its ash knocked down, from the fuel that it is reckoned to burn."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from pitreckon import catalog
from pitreckon.plan.fuel.balance import Weather
from pitreckon.plan.fuel.calibration import FuelLesson
from pitreckon.plan.fuel.use import PitSegment, fuel_use
from pitreckon.plan.wishes import PitWish
from pitreckon.reckon.waterpan import has_pan
from pitreckon.units import seconds_between

STEP_S: Final = 300.0
SOONEST_S: Final = 20 * 60.0
"""Splits go on together rather than more often than this: common practice, no source."""
WATER_S: Final = 3 * 3600.0
"""A pan is looked after so often: common practice, no source."""
ASH_S: Final = 5 * 3600.0
"""So is the ash under coals or splits, which chokes a fire: common practice, no source."""
ASHY: Final = frozenset({"briquettes", "lump-charcoal", "split-hardwood"})


@dataclass(frozen=True, slots=True)
class Tending:
    """What a fire wants while it burns. feed_every_s, water_every_s, ash_every_s [s]; feed_kg [kg]; None: nothing.

    total_kg: what it burns in all, lighting included, the middle; buy_kg: what does for 95 in 100 [kg]
    """

    feed_every_s: float | None = None
    feed_kg: float | None = None
    water_every_s: float | None = None
    ash_every_s: float | None = None
    total_kg: float | None = None
    buy_kg: float | None = None


def tending(
    pit: PitWish,
    lit_utc: datetime,
    off_utc: datetime,
    set_c: float,
    weather: Weather | None = None,
    lesson: FuelLesson | None = None,
) -> Tending:
    """What a pit wants from lighting to the end, in this weather and as this very pit was found to burn.

    Raises InputError: as ``fuel_use``.

    >>> from datetime import UTC, timedelta
    >>> noon = datetime(2026, 7, 4, 12, tzinfo=UTC)
    >>> got = tending(PitWish("long pit", "offset-log-burner", (121.0,)), noon, noon + timedelta(hours=8), 121.0)
    >>> got.feed_every_s / 60.0, got.feed_kg, got.water_every_s
    (25.0, 1.2, None)
    """
    burns_s = seconds_between(lit_utc, off_utc)
    if burns_s <= 0.0:
        return Tending()
    kind = catalog.pit(pit.kind)
    use = fuel_use(pit, [PitSegment(lit_utc, off_utc, set_c)], weather, lesson)
    every_s, kg = None, None
    if use.refills:
        times = [at_s for at_s, _ in use.refills]
        steady = (times[-1] - times[0]) / (len(times) - 1) if len(times) > 1 else times[0]
        together = max(round(SOONEST_S / steady), 1) if steady < SOONEST_S else 1
        every_s = max(STEP_S * round(together * steady / STEP_S), STEP_S)
        kg = round(use.refills[0][1] * together, 2)
    ash = ASH_S if kind.fuel in ASHY and burns_s > 1.5 * ASH_S else None
    water = WATER_S if has_pan(kind, pit.water_pan) and burns_s > 1.5 * WATER_S else None
    total = (use.total_kg.p50, use.buy_kg) if catalog.fuel(kind.fuel).burns else (None, None)
    return Tending(every_s, kg, water, ash, *total)
