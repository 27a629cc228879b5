"""What the ledger teaches of one pit's fire: its use over the usual, from the fuel that was put on.

Splits put on up to the last time but one have burnt by the last time; a hopper or a basket is filled up again with what
has burnt since it was last full; both but for what the fire holds more or less. So one cook gives one observation: fuel
fed over fuel reckoned, its logarithm normal. A cook with a single load says only that
the fire burnt no more than that. The posterior is on a grid of the logarithm.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.special import log_ndtr

from pitreckon import catalog
from pitreckon.catalog import Pit
from pitreckon.cook import Cook
from pitreckon.ledger import Act, Ledger
from pitreckon.plan.fuel.balance import (
    REFERENCE_AIR_C,
    REFERENCE_WIND_M_S,
    Stretch,
    Weather,
    burnt_j,
    fire_of,
    heat_of,
    middle_member,
)
from pitreckon.plan.fuel.feeds import COUNTED_KG
from pitreckon.plan.fuel.meat import load_of
from pitreckon.reckon.quantiles import Quantiles, quantiles_of
from pitreckon.units import format_mass, round_half_up

DAY_SD: Final = 0.12
"""How one pit's use differs from one day to the next at the same weather, of the logarithm [-]: from memory."""
BED_SHARE: Final = 0.5
"""How unsure the fuel in the bed is at either end, of one usual feeding [-]: from memory."""
MISSING_SD: Final = 0.5
"""How unsure a feeding is whose amount was not written down, of the mean of the others [-]: from memory."""
LEFT_SD: Final = 0.2
"""Spread of the logarithm where only "no more than" is known [-]: from memory."""
LEAST_S: Final = 1800.0
"""Feedings closer together than this say nothing [s]."""
LIT_BEFORE_S: Final = 600.0
_GRID: Final = np.linspace(-math.log(8.0), math.log(8.0), 1601)


@dataclass(frozen=True, slots=True)
class FuelLesson:
    """A pit's use of fuel over the usual for its kind.

    factor: [-] posterior; log_mean, log_sd: of its logarithm
    cooks, feedings: what it rests on; fed_kg: [kg] fuel of known amount in them
    missing: feedings whose amount was not written down; note: all that in words
    """

    factor: Quantiles
    log_mean: float
    log_sd: float
    cooks: int
    feedings: int
    fed_kg: float
    missing: int
    note: str

    @property
    def for_a_day(self) -> tuple[float, float]:
        """Mean and sd of the logarithm of the factor on one more day [-]."""
        # with nothing learned the prior is of pits and days together
        return self.log_mean, math.hypot(self.log_sd, DAY_SD) if self.cooks else self.log_sd


@dataclass(frozen=True, slots=True)
class Fed:
    """One observation.

    fed_kg: fuel put on [kg]; reckoned_kg: fuel that the balance has burnt in that time [kg], above 0
    sd: of the logarithm of their ratio [-]; at_most: the fire burnt no more than that
    feedings, missing: how many, and how many without an amount
    """

    fed_kg: float
    reckoned_kg: float
    sd: float
    at_most: bool
    feedings: int
    missing: int


def learn(pit: Pit, observed: Iterable[Fed], *, silent: int = 0) -> FuelLesson:
    """Posterior of a pit's factor from observations; with none, the prior of its kind.

    silent: feedings of which no amount is known in a whole cook. Raises InputError where the pit's fire is not in
    the catalog.
    """
    usual = fire_of(pit).usual_kg_h
    prior_sd = usual.spread / usual.value if usual.value > 0 else 0.1
    log_post = -0.5 * (_GRID / prior_sd) ** 2
    seen = list(observed)
    for one in seen:
        miss = (math.log(one.fed_kg / one.reckoned_kg) - _GRID) / one.sd
        log_post = log_post + (log_ndtr(miss) if one.at_most else -0.5 * miss**2)
    weights = np.exp(log_post - log_post.max())
    weights /= weights.sum()
    mean = float(np.sum(weights * _GRID))
    sd = math.sqrt(float(np.sum(weights * (_GRID - mean) ** 2)))
    feedings = sum(one.feedings for one in seen)
    missing = sum(one.missing for one in seen) + silent
    fed = sum(one.fed_kg for one in seen)
    told = 1.0 - (sd / prior_sd) ** 2
    note = _note(len(seen), feedings, fed, missing, math.exp(mean), told, silent)
    return FuelLesson(quantiles_of(np.exp(_GRID), weights), mean, sd, len(seen), feedings, fed, missing, note)


def learn_from(label: str, kind: str, cooks: Sequence[tuple[Cook, Ledger]]) -> FuelLesson:
    """The lesson of every cook in which the pit of that label and catalog key was fed.

    Cooks on other pits are passed over. Raises InputError where the kind or its fire is not in the catalog.
    """
    pit = catalog.pit(kind)
    fire_of(pit)
    observed, silent = [], 0
    for cook, ledger in cooks:
        if not any(each.label == label and catalog.pit(each.kind).key == pit.key for each in cook.pits):
            continue
        feedings = [act for act in ledger.acts(label) if act.act == "fed the fire"]
        one = fed_in(pit, label, cook, ledger)
        if one is not None:
            observed.append(one)
        else:
            silent += sum(act.fuel_kg is None for act in feedings)
    return learn(pit, observed, silent=silent)


def fed_in(pit: Pit, label: str, cook: Cook, ledger: Ledger) -> Fed | None:
    """What one cook says of its fire; None where it says nothing."""
    feedings = [act for act in ledger.acts(label) if act.act == "fed the fire"]
    known = [act.fuel_kg for act in feedings if act.fuel_kg is not None and act.fuel_kg > 0]
    if not known or not catalog.fuel(pit.fuel).burns:
        return None
    mean_kg = sum(known) / len(known)
    end = feedings[-1].at_utc.timestamp()
    at_most = len(feedings) == 1 or end - feedings[0].at_utc.timestamp() < LEAST_S
    if at_most:
        end = _end_of(label, cook, ledger)
    piece = catalog.fuel(pit.fuel).piece_kg
    by_the_piece = piece is not None and piece.value >= COUNTED_KG
    counted = feedings if at_most else feedings[:-1] if by_the_piece else feedings[1:]
    missing = sum(act.fuel_kg is None for act in counted)
    fed = sum(mean_kg if act.fuel_kg is None else act.fuel_kg for act in counted)
    begin = feedings[0].at_utc.timestamp()
    if end - begin < LEAST_S or fed <= 0:
        return None
    reckoned = reckoned_kg(pit, label, cook, ledger, begin, end, feedings)
    if reckoned <= 0:
        return None
    gaps = MISSING_SD * mean_kg * math.sqrt(missing)
    sd = math.hypot(DAY_SD, BED_SHARE * mean_kg / fed, gaps / fed) if not at_most else math.hypot(LEFT_SD, gaps / fed)
    return Fed(fed, reckoned, sd, at_most, len(counted), missing)


def reckoned_kg(
    pit: Pit, label: str, cook: Cook, ledger: Ledger, begin: float, end: float, feedings: Sequence[Act]
) -> float:
    """Fuel that a usual pit of that kind burns between two moments [epoch s] of a cook [kg].

    The air is the mean of the readings in each stretch, else what the pit was set to; the day is the cook's weather
    with a light wind.
    """
    air_c = REFERENCE_AIR_C if cook.weather_air_c is None else min(max(cook.weather_air_c, -40.0), 50.0)
    weather = Weather(air_c, REFERENCE_WIND_M_S, 0.0)
    settings = [act for act in ledger.acts(label) if act.act == "set pit" and act.air_c is not None]
    turns = [act.at_utc.timestamp() for act in (*settings, *feedings)]
    knots = sorted({begin, end, *(at for at in turns if begin < at < end)})
    readings = [(r.at_utc.timestamp(), r.value_c) for r in ledger.readings("pit air", label) if r.value_c == r.value_c]
    planned_c = cook.pit(label).set_c
    stretches = []
    for left, right in pairwise(knots):
        within = [value for at, value in readings if left <= at <= right]
        set_c = next((a.air_c for a in reversed(settings) if a.at_utc.timestamp() <= left and a.air_c), planned_c)
        mean_c = sum(within) / len(within) if within else set_c
        stretches.append(Stretch(left - begin, right - begin, mean_c, water_pan=cook.pit(label).water_pan))
    member = middle_member(pit, weather)
    start_c = _start_c(cook, label, begin, readings, stretches[0].set_c, air_c)
    heat = heat_of(pit, member, stretches, weather, start_c)
    joules = float(burnt_j(heat, member).sum())
    joules += _meat_j(label, cook, ledger, begin, end) / float(member.share[0])
    return joules / catalog.fuel(pit.fuel).lower_heating_j_kg.value


def _start_c(
    cook: Cook, label: str, begin: float, readings: Sequence[tuple[float, float]], set_c: float, air_c: float
) -> float:
    near = [value for at, value in readings if abs(at - begin) <= LIT_BEFORE_S]
    if near:
        return near[0]
    first_on = min((i.put_on_utc.timestamp() for i in cook.items if i.pit == label), default=begin)
    return air_c if first_on - begin >= LIT_BEFORE_S else set_c


def _end_of(label: str, cook: Cook, ledger: Ledger) -> float:
    """When the fire was last needed: the last meat off it, else the last reading of its air [epoch s]."""
    on_it = {item.label for item in cook.items if item.pit == label}
    off = [act.at_utc.timestamp() for act in ledger.all_acts if act.act == "took off" and act.on in on_it]
    air = [reading.at_utc.timestamp() for reading in ledger.readings("pit air", label)]
    return max(off or air, default=-math.inf)


def _meat_j(label: str, cook: Cook, ledger: Ledger, begin: float, end: float) -> float:
    """Heat of the meat on a pit between two moments [J], evenly from put-on to off, from simple totals."""
    last = ledger.last_utc
    total = 0.0
    for item in cook.items:
        if item.pit != label:
            continue
        acts = {act.act: act.at_utc.timestamp() for act in ledger.acts(item.label)}
        on = acts.get("put on", item.put_on_utc.timestamp())
        off = acts.get("took off", end if last is None else last.timestamp())
        if off <= on:
            continue
        cut = catalog.cut(item.cut)
        load = load_of(
            item.label, cut, item.mass_kg * item.pieces, from_c=item.start_c, to_c=cut.texture.done_core_c.value
        )
        total += load.heat_j * max(min(off, end) - max(on, begin), 0.0) / (off - on)
    return total


def _note(cooks: int, feedings: int, fed: float, missing: int, factor: float, told: float, silent: int) -> str:
    if not cooks:
        lacks = f" {silent} feedings have no amount written down." if silent else ""
        return f"Nothing learned yet: what pits of its kind usually burn.{lacks}"
    percent = round_half_up(100.0 * (factor - 1.0))
    than = "as much as" if percent == 0 else f"{abs(percent):.0f} % {'more' if percent > 0 else 'less'} than"
    rests = f"{cooks} cook{'s' if cooks > 1 else ''} with {feedings} feeding{'s' if feedings > 1 else ''}"
    lacks = f"; {missing} of unknown amount" if missing else ""
    much = "mostly" if told > 0.75 else "partly" if told > 0.3 else "hardly"
    return (
        f"This pit burns {than} its kind usually does, from {rests}, {format_mass(fed, 'kg')}{lacks}; "
        f"{much} learned, the rest is what pits of its kind burn."
    )
