"""Fuel for a plan of pit temperatures: how much an hour and in all, how long a fill lasts, when to add.

See ``fuelbalance`` for what the numbers rest on. Rain, a leaking lid in a gale and a lid that is often open are not in
the balance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.cook.plan import PitPlan
from pitreckon.errors import InputError, Place
from pitreckon.plan.fuel.balance import Heat, Stretch, Weather, burnt_j, draw_members, fire_of, heat_of
from pitreckon.plan.fuel.calibration import FuelLesson
from pitreckon.plan.fuel.feeds import refills
from pitreckon.plan.fuel.meat import MeatLoad
from pitreckon.plan.wishes import PitWish
from pitreckon.reckon.quantiles import Quantiles, quantiles_of
from pitreckon.units import seconds_between

MEMBERS = 400
_J_PER_KWH = 3.6e6
_MOST_S = 10 * 86400.0


@dataclass(frozen=True, slots=True)
class PitSegment:
    """A time in which a pit is kept at one temperature, the first from lighting on.

    begin_utc, end_utc: UTC instants; set_c: [°C] 10 to 400; items: what the meat on it takes in that time
    """

    begin_utc: datetime
    end_utc: datetime
    set_c: float
    items: tuple[MeatLoad, ...] = ()


@dataclass(frozen=True, slots=True)
class FuelUse:
    """What a pit burns over its segments.

    pit: label; fuel: catalog key
    kg_per_h: [kg/h] once the pit is hot; total_kg: [kg] in all, lighting included; both 0 where nothing burns
    electricity_kwh: [kWh] heat by wire, fan and auger
    first_fill_kg: [kg] what to fill in before lighting; refills: (time since lighting [s], [kg]) to add
    lasts_s: [s] how long one fill lasts in a pit that burns a lot (95 % sure), None where nothing is filled in
    pieces: splits or briquettes in all (95 % sure), None where fuel is not counted
    goes_to: share of the fuel's heat [-] by where it goes, together 1: walls, exhaust, pit, meat, water pan and
        unaccounted (badly burnt, leaks)
    note: what the figures rest on
    """

    pit: str
    fuel: str
    kg_per_h: Quantiles
    total_kg: Quantiles
    electricity_kwh: Quantiles
    first_fill_kg: float
    refills: tuple[tuple[float, float], ...]
    lasts_s: float | None
    pieces: int | None
    goes_to: dict[str, float]
    note: str

    @property
    def buy_kg(self) -> float:
        """What to have at hand so that it does for 95 in 100 [kg]."""
        return self.total_kg.p95


def fuel_use(
    pit: PitWish | PitPlan,
    segments: Sequence[PitSegment],
    weather: Weather | None = None,
    lesson: FuelLesson | None = None,
    *,
    members: int = MEMBERS,
    seed: int = 0,
) -> FuelUse:
    """Fuel for a pit over its segments, in order and not overlapping; a gap lets the fire go out.

    weather: None: a mild day with a light wind
    lesson: what the ledger taught of this pit; None: pits of its kind
    members, seed: of the ensemble

    Raises InputError: no segment, segments out of order or out of range, a pit whose fire is not in the catalog

    >>> from datetime import UTC, timedelta
    >>> lit = datetime(2026, 7, 4, 12, tzinfo=UTC)
    >>> day = [PitSegment(lit, lit + timedelta(hours=8), 107.2)]
    >>> use = fuel_use(PitWish("smoker", "pellet-cooker", (107.2,)), day)
    >>> round(use.kg_per_h.p50, 1), use.refills, round(sum(use.goes_to.values()), 9)
    (0.6, (), 1.0)
    """
    sky = Weather() if weather is None else weather
    kind = catalog.pit(pit.kind)
    fire, fuel = fire_of(kind), catalog.fuel(kind.fuel)
    lit_s = pit.lit_s if isinstance(pit, PitWish) and pit.lit_s is not None else fire.lit_s.value
    stretches = _stretches(pit, segments, lit_s)
    learned = None if lesson is None else lesson.for_a_day
    drawn = draw_members(kind, pit.label, sky, members, seed, learned)
    heat = heat_of(kind, drawn, stretches, sky)
    given_j = burnt_j(heat, drawn)
    hours = sum(each.end_s - each.begin_s for each in stretches) / 3600.0
    weights = np.full(members, 1.0 / members)
    wire_kwh = np.full(members, fire.electric_w.value * hours / 1000.0)
    kg = given_j / fuel.lower_heating_j_kg.value if fuel.burns else np.zeros_like(given_j)
    if not fuel.burns:
        wire_kwh = wire_kwh + given_j.sum(axis=0) / _J_PER_KWH
    hot = [k for k, each in enumerate(stretches) if each.begin_s >= lit_s] or [len(stretches) - 1]
    hot_h = sum(stretches[k].end_s - stretches[k].begin_s for k in hot) / 3600.0
    # heat into the pit itself belongs to lighting, not to keeping it hot
    kept_j = burnt_j(heat, drawn, keeping=True)[hot].sum(axis=0)
    kept_kg = kept_j / fuel.lower_heating_j_kg.value if fuel.burns else np.zeros(members)
    rate = quantiles_of(kept_kg / hot_h, weights)
    total = quantiles_of(kg.sum(axis=0), weights)
    first, lasts, pieces = 0.0, None, None
    added: tuple[tuple[float, float], ...] = ()
    if fire.holds_kg.value > 0 and fuel.burns:
        piece = 0.0 if fuel.piece_kg is None else fuel.piece_kg.value
        first, added = refills(*_used(stretches, kg), fire.holds_kg.value, piece)
        lasts = fire.holds_kg.value / rate.p95 * 3600.0 if rate.p95 > 0 else None
        pieces = int(np.ceil(total.p95 / piece - 1e-9)) if piece else None
    note = lesson.note if lesson is not None else _usual_note(fuel.burns)
    goes = _goes_to(heat, given_j)
    return FuelUse(
        pit.label, fuel.key, rate, total, quantiles_of(wire_kwh, weights), first, added, lasts, pieces, goes, note
    )


def _usual_note(burns: bool) -> str:
    if not burns:
        return "From the heat balance of such an oven."
    return "From what such pits usually burn; record what goes on the fire and it will be learned."


def _stretches(pit: PitWish | PitPlan, segments: Sequence[PitSegment], lit_s: float) -> list[Stretch]:
    """Segments in seconds since lighting; heating up is a stretch of its own, with the meat of it in the rest."""
    if not segments:
        raise InputError(f"the pit '{pit.label}' has no time to burn in", "Give at least one segment")
    start = segments[0].begin_utc
    out: list[Stretch] = []
    end_s = 0.0
    for n, segment in enumerate(segments):
        begin_s, until_s = seconds_between(start, segment.begin_utc), seconds_between(start, segment.end_utc)
        if not until_s > begin_s or until_s > _MOST_S:
            raise InputError(
                f"segment {n + 1} of '{pit.label}' ends before it begins or after ten days", "Give a later end"
            )
        if begin_s < end_s:
            raise InputError(f"segments {n} and {n + 1} of '{pit.label}' overlap", "Put them in order of time")
        if not 10.0 <= segment.set_c <= 400.0:
            raise InputError(
                f"segment {n + 1} of '{pit.label}' is at {segment.set_c:g} C", "Give 10 to 400 C", Place(field="set")
            )
        if n == 0 and until_s > lit_s > 0:
            out.append(Stretch(0.0, lit_s, segment.set_c, water_pan=pit.water_pan))
            begin_s = lit_s
        out.append(Stretch(begin_s, until_s, segment.set_c, segment.items, pit.water_pan))
        end_s = until_s
    return out


def _used(stretches: Sequence[Stretch], kg: Floats) -> tuple[Floats, Floats]:
    """Knots of time [s] and fuel burnt until then [kg], shape (knots, members); level where the fire is out."""
    times, used = [stretches[0].begin_s], [np.zeros(kg.shape[1])]
    for stretch, burnt in zip(stretches, kg, strict=True):
        if stretch.begin_s > times[-1]:
            times.append(stretch.begin_s)
            used.append(used[-1])
        times.append(stretch.end_s)
        used.append(used[-1] + burnt)
    return np.array(times), np.array(used)


def _goes_to(heat: Heat, given_j: Floats) -> dict[str, float]:
    total = float(given_j.sum())
    if total <= 0:
        return {}
    parts = {"walls": "walls", "exhaust": "exhaust", "pit": "body", "meat": "meat", "water pan": "pan"}
    out = {name: float(getattr(heat, field).sum()) / total for name, field in parts.items()}
    out["unaccounted"] = 1.0 - sum(out.values())
    return out
