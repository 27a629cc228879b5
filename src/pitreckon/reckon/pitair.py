"""The pit as every member of the ensemble has it: air at the grate from readings and past them, and its humidity."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Fuel, Pit
from pitreckon.ledger import Act, Reading
from pitreckon.physics import fuel as fire
from pitreckon.physics.air import humidity_ratio_from_relative_humidity, vapour_pressure_from_humidity_ratio
from pitreckon.physics.vapour import saturation_pressure
from pitreckon.reckon.draws import PitDraw, stream
from pitreckon.reckon.waterpan import ABOVE, has_pan, pan_evaporation

KNOT_S = 60.0
THICK_KNOTS = 2
"""Knots of the pit's air to one of a thick piece's: its core answers in hours."""
MEMORY_S = 2700.0
"""How far back the mean miss of the set temperature is taken to go on [s]: common practice, no source."""
RISE_KNOTS, MOST_LATE_K = 5, 15.0
"""Knots either side over which a rise is taken; more than this is not corrected, for the dip of a lid is
over before it shows."""
LID_S, LID_SLACK_S, SPARSE_S = 600.0, 60.0, 900.0
"""A reading so soon after an open lid is of the dip; entries of one minute may be in any order; readings further apart
than this do not show a dip for what it is [s]: common practice, no source."""
RETURN_S = 600.0
"""Time in which the last reading's own excursion fades [s]: common practice, no source."""
DRIFT_S = 3.0 * 3600.0
"""Time in which a pit that is held as it was read comes to be held as if nothing had been read [s]: common practice,
no source."""
AT_ONCE = 64
"""Knots of an ensemble that are added up together, so that no more memory is taken for it."""
SHORT_KNOTS = 41
"""A logger's readings are taken as their own median over so many knots: what leaves it is over in minutes."""
LIFTS_PER_S = 1.0 / 3600.0
"""How often a lid is lifted in the cooks that the trade tells of: once an hour (common practice, no source)."""
ROOM_C = 20.0
ROOM_RH = 0.5
MOST_RATIO = 0.6
"""Humidity ratio past which a pit would drip [kg/kg]: common practice, no source."""
HOT_C = 100.0
"""From here on the most that is above counts alone, at any pressure."""
EVAPORATION_PER_S = 0.05 / 3600.0
"""Water that raw meat gives off early in a cook, per kg on the pit: 0.3 kg/h from 5-6 kg (computed)."""


def set_temperature(knots_s: Floats, set_c: float, acts: Sequence[Act], put_on: float) -> Floats:
    """What the pit was set to at each knot; ``put_on`` is the epoch of the knots' zero [s]."""
    out = np.full(knots_s.size, set_c)
    for act in acts:
        if act.act == "set pit" and act.air_c is not None:
            out[knots_s >= act.at_utc.timestamp() - put_on] = act.air_c
    return out


def set_last(set_c: float, acts: Sequence[Act]) -> float:
    """What a pit is set to after all of its acts [degC]."""
    return next((act.air_c for act in reversed(acts) if act.act == "set pit" and act.air_c is not None), set_c)


def wander(rng: np.random.Generator, knots: int, n: int, sd_k: float, tau_s: float) -> Floats:
    """Smooth wander about nothing of the given spread; shape (knots, n).

    White noise through two equal first-order lags of ``tau_s``: air does not jump from one minute to the next.
    """
    keep = float(np.exp(-KNOT_S / max(tau_s, KNOT_S)))
    # Spread of the two lags in a row for a kick of one, so that it comes out as asked.
    one = (1.0 + keep * keep) * (1.0 - keep) ** 2 / (1.0 - keep * keep) ** 3 * (1.0 - keep) ** 2
    out = rng.standard_normal((knots + 1, n))  # of kicks, each of which then makes way for the wander at its knot
    out *= sd_k / np.sqrt(one)
    first = rng.standard_normal(n) * sd_k
    out[0] = first
    for k in range(1, knots):
        first = keep * first + (1.0 - keep) * out[k]
        out[k] = keep * out[k - 1] + (1.0 - keep) * first
    return out[:knots]


JUST_S = 1.0
"""What is read at the moment at which the pit is set anew is still what it was before [s]."""


def grate_air(
    pit: Pit,
    label: str,
    draw: PitDraw,
    set_c: Floats,
    readings: Sequence[Reading],
    put_on: float,
    seed: int,
    lids_s: Floats | None = None,
    set_before: Callable[[Floats], Floats] | None = None,
) -> Floats:
    """Air at the grate on the knots of ``set_c``, per member [degC]; shape (knots, members).

    Through readings where there are any (between them the members part the more, the longer the gap), past
    them from the pit's own behaviour: the set temperature, the mean miss of it over the last while, the last
    excursion fading, and a wander of the pit's usual size. The grate's offset from the readout lies on all.
    Where no reading says how it is held, it is held high or low for hours, and after a reading slowly goes there.
    ``lids_s``: when the lid was open [s], for readings that show nothing but that. Dips of lids lifted as usual are
    taken out of the readings: every time that the trade gives, and so every constant fitted on them, has those in it.
    ``set_before``: what it was set to at times before the knots' zero [s], at which a piece that is to go on later has
    readings, too; else as at zero.
    """
    n, knots = draw.offset_k.size, set_c.size
    held = np.ones(knots)
    time_s = np.arange(knots) * KNOT_S
    memory_s = pit.air.swing_period_s.value / 4
    known_s = -1.0
    noise = wander(stream(seed, f"wander {label}"), knots, n, pit.air.swing_k.value / np.sqrt(2), memory_s)
    if readings:
        at = np.array([r.at_utc.timestamp() - put_on for r in readings])
        value = np.array([r.value_c for r in readings])
        keep = np.concatenate((np.diff(at) > 0, [True]))
        at, value = at[keep], value[keep]
        keep = ~of_an_open_lid(at, np.empty(0) if lids_s is None else lids_s)
        at, value = at[keep], value[keep]
        value = without_dips(at, value, LIFTS_PER_S * pit.air.lid_dip_k.value * pit.air.lid_recovery_s.value)
        known_s = float(at[-1])
        then = np.interp(at, time_s, set_c)
        if set_before is not None and at[0] < 0.0:
            then[at < 0.0] = set_before(at[at < 0.0] - JUST_S)
        miss = value - then
        recent = miss[at >= known_s - MEMORY_S]
        lasting = float(recent.mean()) if recent.size >= 3 else 0.5 * float(recent.mean())
        done = int(np.searchsorted(time_s, known_s, side="right"))
        past, later = slice(done), slice(done, None)
        after = time_s[later] - known_s
        held[past], held[later] = 0.0, -np.expm1(-after / DRIFT_S)
        base = set_c.copy()
        base[past] += np.interp(time_s[past], at, miss, left=miss[0])
        base[later] += lasting + (miss[-1] - lasting) * np.exp(-after / RETURN_S)
        # The wander is nothing at a reading: take off the straight line between its values there.
        at_readings = _between(at, time_s, noise)
        noise[past] -= _between(time_s[past], at, at_readings)
        noise[later] -= np.exp(-after / max(memory_s, KNOT_S))[:, None] * at_readings[-1]
    else:
        base = set_c
    for first in range(0, knots, AT_ONCE):
        some = slice(first, first + AT_ONCE)
        noise[some] += base[some, None] + draw.offset_k + held[some, None] * draw.held_k
    if known_s > 0.0:
        late = _not_shown_yet(base, known_s)
        noise[: late.size] += np.clip(late[:, None] * draw.lag_s, -MOST_LATE_K, MOST_LATE_K)
    return noise


def without_dips(at_s: Floats, value_c: Floats, usual_k: float) -> Floats:
    """Readings of a logger without what is over in minutes, as far as that is usual; others as they are.

    usual_k: how far lids that are lifted as usual let the air down on average. Dips beyond that stay, in proportion. A
    fire that sinks, or a lid that is open most of the time, is in the median and so in the readings.
    """
    close = np.diff(at_s, prepend=-np.inf) <= SPARSE_S
    if close.sum() < 2:
        return value_c
    knots_s = np.arange(at_s[0], at_s[-1] + KNOT_S, KNOT_S)
    seen = np.interp(knots_s, at_s, value_c)
    flat = running_median(seen, SHORT_KNOTS)
    down_k = max(float(np.mean(flat - seen)), 1e-9)
    left = max(1.0 - usual_k / down_k, 0.0)
    close[:-1] |= close[1:]
    return np.where(close, np.interp(at_s, knots_s, flat + left * (seen - flat)), value_c)


def running_median(values: Floats, many: int) -> Floats:
    """The median of ``many`` values, an odd number, about each; past the ends the values are mirrored there."""
    mirrored = np.pad(values, many // 2, mode="symmetric")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(mirrored, many), axis=1))


def of_an_open_lid(at_s: Floats, lids_s: Floats) -> Bools:
    """Which readings tell of a lid just opened and of nothing else: few and far between, and right after it.

    A logger shows the dip and the recovery. A dial that is read when the lid is open shows the dip alone, which must
    not stand for the hour before and after. If all readings are such, they are better than none.
    """
    if at_s.size == 0 or lids_s.size == 0:
        return np.zeros(at_s.size, dtype=bool)
    gaps = np.diff(at_s, prepend=-np.inf, append=np.inf)
    alone = np.minimum(gaps[:-1], gaps[1:]) > SPARSE_S
    dip = alone & after_a_lid(at_s, lids_s)
    return np.asarray(dip if not dip.all() else np.zeros(at_s.size, dtype=bool))


def after_a_lid(at_s: Floats, lids_s: Floats) -> Bools:
    """Which times lie so soon after a lid was open that what is read then is of the dip."""
    lids = np.concatenate(([-np.inf], np.sort(lids_s)))
    last = np.searchsorted(lids, at_s + LID_SLACK_S, side="right") - 1
    return np.asarray(at_s - lids[last] < LID_S)


def _between(x: ArrayLike, xp: ArrayLike, fp: Floats) -> Floats:
    """Columns of ``fp`` at ``x`` by straight lines, the ends held; as ``np.interp`` for each."""
    x, xp = np.asarray(x, dtype=np.float64), np.asarray(xp, dtype=np.float64)
    if xp.size == 1:
        return np.repeat(fp[:1], x.size, axis=0)
    hi = np.clip(np.searchsorted(xp, x), 1, xp.size - 1)
    share = np.clip((x - xp[hi - 1]) / (xp[hi] - xp[hi - 1]), 0.0, 1.0)[:, None]
    return np.asarray((1.0 - share) * fp[hi - 1] + share * fp[hi])


def _not_shown_yet(base: Floats, known_s: float) -> Floats:
    """The rise of the readings, of which a sensor that is late shows so much less as it is late [K/s].

    It is that over ten minutes about a knot; where the readings do not reach so far, nothing is made up, and the last
    knot is the last of which anything is known.
    """
    last = min(int(known_s / KNOT_S), base.size - 1) - RISE_KNOTS
    rise = np.zeros(max(last + 1, 0))
    if last > RISE_KNOTS:
        span = 2 * RISE_KNOTS
        rise[RISE_KNOTS : last + 1] = (base[span : last + RISE_KNOTS + 1] - base[: last + 1 - RISE_KNOTS]) / (
            span * KNOT_S
        )
    return rise


def ambient_ratio(air_c: float | None, humidity: float | None, pressure_pa: float) -> float:
    """Humidity ratio of the weather; a mild day where it was not said [kg/kg]."""
    return humidity_ratio_from_relative_humidity(
        ROOM_C if air_c is None else air_c, ROOM_RH if humidity is None else humidity, pressure_pa
    )


def pit_vapour(
    pit: Pit,
    fuel: Fuel,
    draw: PitDraw,
    set_c: float,
    weather_c: float | None,
    ratio: float,
    meat_kg: float,
    pressure_pa: float,
    water_pan: bool | None = None,
) -> Floats:
    """Vapour pressure in the pit per member: the weather's, the fire's, the pan's and the meat's own [Pa].

    ``water_pan``: whether there is water in a pan; None: as such a pit is usually run.
    """
    outside_c = ROOM_C if weather_c is None else weather_c
    rise = max(set_c - outside_c, 5.0)
    # The draught goes with the fire: a flow is given at about 90 K above the weather.
    flow = draw.air_flow_kg_s * rise / ABOVE
    burnt, water = 0.0, 0.0
    if fuel.burns:
        heat = pit.exchange.heat_loss_w_per_k.value * rise / pit.exchange.wall_share.value
        burnt = fire.fuel_rate(heat, fuel.lower_heating_j_kg.value)
        water = fire.combustion_water(fuel.hydrogen.value, fuel.moisture.value)
    with_water = has_pan(pit, water_pan)
    own_pan = pit.exchange.pan_evaporation_kg_s.value if with_water else 0.0
    inside = np.array(
        [
            fire.chamber_humidity_ratio(
                ratio,
                float(air),
                fuel_kg_s=burnt,
                water_per_fuel=water,
                evaporation_kg_s=own_pan + EVAPORATION_PER_S * meat_kg,
            )
            for air in flow
        ]
    )
    if with_water and own_pan == 0.0:
        pan = pan_evaporation(pit, draw.air_speed_m_s, set_c, draw.wall_offset_k, inside, flow, pressure_pa)
        inside = inside + pan / flow
    # A pit that is barely warm has hardly a draught; air holds no more than saturated, the rest drips off its walls.
    most = saturation_pressure(min(set_c, HOT_C))
    return np.array(
        [min(vapour_pressure_from_humidity_ratio(min(float(each), MOST_RATIO), pressure_pa), most) for each in inside]
    )
