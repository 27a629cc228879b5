"""A day of forty twins that were told alike: what their cook says of the piece, its pit and its hours.

Days are dealt where rules decide: taken off near a limit, too slow a pit, held near 135 degF, left standing about,
cooled too slowly, warmed again or not, thawed on the counter; with meat that is intact, injected, bladed, rolled or
ground, or of which nobody has said. Shares and hours are our own (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.catalog import Cut, Pit
from pitreckon.cook import ItemPlan
from pitreckon.safety.rules.meat import UNTOUCHED, Handled
from validation.twins.deal import CUTS, DAY, ITEM, PIT, PITS
from validation.twins.streams import about, one_of, pick, stream

HOUR: Final = 3600.0
MOST_COOK_S: Final = 20 * HOUR
SPREAD_K: Final = {"room": 3.0, "box": 2.0, "refrigerator": 1.2, "ice": 0.5, "oven": 8.0, "counter": 2.5}
"""How far the air of a place may be from what was said or is usual [K]."""
FILM_W_M2K: Final = {"room": 5.0, "box": 5.0, "refrigerator": 8.0, "ice": 120.0, "oven": 12.0, "counter": 5.0}
DRIES: Final = {"room": 1.0, "box": 0.0, "refrigerator": 0.3, "ice": 0.0, "oven": 0.5, "counter": 0.3}
"""Share of a bare face's drying that is left in a place: a bag, a box or a lid keep the water in."""
ROOM_C = 20.0
GROUND: Final = Handled(ground=True)
INJECTED: Final = Handled(injected=True)
BLADED: Final = Handled(bladed=True)
ROLLED: Final = Handled(rolled=True)
UNSAID: Final = Handled()


@dataclass(frozen=True)
class Step:
    """A stretch of the day: its phase, where the piece is, how long [s], the air there [degC], what is round it."""

    phase: str
    place: str
    lasts_s: float
    air_c: float
    wrap: str | None = None


@dataclass(frozen=True)
class Plan:
    """What the cook says.

    aim_c: the middle of the piece at which it comes off, for most of what it may be [degC]
    off_late_s: so much later it comes off [s]; handled: what was done to it, as far as it was said
    frozen: share of the twins whose middle is still frozen, whatever was said; start_said: how cold it is was said
    """

    cut: Cut
    pit: Pit
    set_c: float
    item: ItemPlan
    pressure_pa: float
    weather_c: float
    weather_rh: float
    weather_said: bool
    handled: Handled
    fat_percent: float | None
    aim_c: float
    wrapped_at_c: float | None
    thaw: tuple[Step, ...]
    after: tuple[Step, ...]
    frozen: float
    start_said: bool = True

    def begun(self, start_c: float) -> Plan:
        """The same, from another temperature."""
        return replace(self, item=replace(self.item, start_c=start_c))


def plan_of(seed: int, index: int) -> Plan:
    """Deal one day."""
    rng = stream(seed, index, "plan")
    cut = catalog.cuts()[pick(rng, dict.fromkeys(CUTS, 1.0))]
    pit = catalog.pits()[pick(rng, PITS)]
    kind = pick(rng, {"near": 5.0, "done": 3.0, "slow": 2.0})
    set_c = float(rng.uniform(100.0, 165.0))
    if kind == "slow":
        set_c = float(rng.uniform(68.0, 100.0))
    mass_kg = float(cut.shape.mass_kg.value * np.exp(np.clip(0.3 * rng.standard_normal(), -0.7, 0.7)))
    aim_c = float(rng.uniform(86.0, 94.0) if kind == "done" else rng.uniform(53.0, 76.0))
    weather_c = float(rng.uniform(-5.0, 38.0))
    start_c = 4.0
    thaw: tuple[Step, ...] = ()
    if rng.random() < 0.15:
        start_c = float(rng.uniform(-12.0, -2.0))
        thaw = (_thaw(rng),)
    elif rng.random() < 0.25:
        start_c = float(rng.uniform(6.0, 13.0))
    item = ItemPlan(
        label=ITEM, cut=cut.key, pieces=1, mass_kg=round(mass_kg, 3), pit=PIT, put_on_utc=DAY, start_c=round(start_c, 1)
    )
    handled = _handled(cut, rng)
    return Plan(
        cut=cut,
        pit=pit,
        set_c=set_c,
        item=item,
        pressure_pa=101325.0 * float(rng.uniform(0.85, 1.0)),
        weather_c=weather_c,
        weather_rh=float(rng.uniform(0.25, 0.95)),
        weather_said=bool(rng.random() < 0.75),
        handled=handled,
        fat_percent=float(rng.integers(1, 13)) if cut.animal in {"chicken", "turkey"} and rng.random() < 0.5 else None,
        aim_c=aim_c,
        wrapped_at_c=aim_c - float(rng.uniform(3.0, 15.0)) if rng.random() < 0.4 else None,
        thaw=thaw,
        after=_after(rng, weather_c),
        frozen=0.15 if rng.random() < 0.3 else 0.0,
        start_said=bool(start_c != 4.0 or stream(seed, index, "said").random() < 0.6),
    )


def _handled(cut: Cut, rng: np.random.Generator) -> Handled:
    if cut.kind == "poultry":
        return one_of(rng, (UNTOUCHED, UNSAID, INJECTED, GROUND))
    return pick(rng, {UNTOUCHED: 4.0, UNSAID: 2.0, INJECTED: 1.0, BLADED: 1.0, ROLLED: 1.0, GROUND: 1.5})


def truly(handled: Handled, rng: np.random.Generator) -> Handled:
    """What was done to it, where nobody has said."""
    return handled if handled != UNSAID else one_of(rng, (UNTOUCHED, INJECTED, ROLLED))


def _thaw(rng: np.random.Generator) -> Step:
    if rng.random() < 0.6:
        return Step("thaw", "refrigerator", HOUR * float(rng.uniform(8.0, 30.0)), float(rng.uniform(2.0, 5.0)))
    return Step("thaw", "counter", HOUR * float(rng.uniform(2.0, 9.0)), ROOM_C)


def _after(rng: np.random.Generator, weather_c: float) -> tuple[Step, ...]:
    """Rest, hold, stand about, cool, keep, warm again: each or not."""
    steps = [Step("rest", "room", 60.0 * float(rng.uniform(5.0, 70.0)), ROOM_C, "foil")]
    if rng.random() < 0.5:
        near = rng.random() < 0.6
        air_c = float(rng.uniform(54.0, 64.0) if near else rng.uniform(64.0, 75.0))
        steps.append(Step("hold", "box", HOUR * float(rng.uniform(0.5, 5.0)), air_c, "foil"))
    if rng.random() < 0.6:
        hours = float(about(rng, 1.4, 0.5))
        steps.append(Step("out", "room", HOUR * min(hours, 5.0), max(weather_c, 5.0)))
    if rng.random() < 0.6:
        place, air_c = ("ice", 1.0) if rng.random() < 0.5 else ("refrigerator", 3.0)
        steps.append(Step("cool", place, HOUR * float(rng.uniform(3.0, 9.0)), air_c))
        kept_h, kept_c = float(rng.uniform(1.0, 6.0)), float(rng.uniform(2.0, 5.0))
        steps.append(Step("chilled", "refrigerator", HOUR * kept_h, kept_c))
        if rng.random() < 0.5:
            warm_h, warm_c = float(rng.uniform(0.7, 4.0)), float(rng.uniform(110.0, 180.0))
            steps.append(Step("reheat", "oven", HOUR * warm_h, warm_c, "foil"))
    return tuple(steps)
