"""The pit as it really burns: air at the grate, what the readout makes of it, and vapour that comes and goes.

Beside the catalog's spreads it has what the forecaster's pit has not: a cook who holds it a little high or low, a
drift of hours, a fire that fades until it is fed, lids opened without a word, humidity and draught that change every
forty minutes, a pan that runs dry, and a readout that lags and is off. Sizes without a source are from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Figure, Pit
from pitreckon.physics import fuel as burning
from pitreckon.physics.air import humidity_ratio_from_relative_humidity, vapour_pressure_from_humidity_ratio
from validation.twins.streams import about
from validation.twins.worlds import Truth

Floats = NDArray[np.float64]

KNOT_S = 60.0
LONGEST_S = 40 * 3600.0
SEGMENT_S = 2400.0
LASTS_H = {"kettle": 4.0, "water-smoker": 5.0, "upright-drum": 8.0, "insulated-cabinet": 9.0, "ceramic": 14.0}
"""How long a load of charcoal holds its heat [h]; the other pits are fed by themselves or all the time."""
FADE_K_S = 12.0 / 3600.0
MOST_FADE_K = 25.0
REVIVE_S = 900.0
SHUT_S = 25.0
"""An opening of this long makes the catalog's dip; it lets out 1 - 1/e of all it can."""
OF_AIR = 0.55
"""Share of a dip that the meat feels: the walls, which give it nearly as much heat as the air does, stay hotter."""
LEAD = 25
"""Knots before put-on at which the pit burns already, and is read."""


@dataclass(frozen=True)
class Opening:
    """The lid open for ``lasting_s`` at ``at_s`` [s since put-on]; ``fed``: the fire was fed with it; ``raised_k``: the
    pit was set higher by so much."""

    at_s: float
    lasting_s: float
    fed: bool = False
    raised_k: float = 0.0


@dataclass(frozen=True)
class Fire:
    """What is true of the pit.

    Arrays by knot (``wander_k``; ``lead_k`` before put-on) or by segment of ``SEGMENT_S`` (the last three).
    own_offset_k: what is the pit's of its offset, the piece's place on the grate apart, from the middle of its kind
    """

    pit: Pit
    set_c: float
    offset_k: float
    own_offset_k: float
    air_speed_m_s: float
    dip_k: float
    recovery_s: float
    lasts_s: float
    fades: float
    lag_s: float
    readout_off_k: float
    outside_pa: float
    peeks: tuple[Opening, ...]
    wander_k: Floats
    lead_k: Floats
    vapour_pa: Floats
    draught: Floats
    wall_offset_k: Floats

    def fade_k(self, since_fed_s: Floats) -> Floats:
        """How far the fire has fallen, by the time since it was last fed [K]."""
        return self.fades * np.clip(FADE_K_S * (np.asarray(since_fed_s) - self.lasts_s), 0.0, MOST_FADE_K)

    def before_c(self) -> Floats:
        """What it would show at each of the ``LEAD`` knots before put-on [degC]."""
        return np.asarray(self.set_c + self.lead_k)

    def readout_steady_c(self, openings: Sequence[Opening], knots: int, *, felt: float = 1.0) -> Floats:
        """What a readout without lag or noise would show at each knot [degC]; ``felt``: share of the lid's dips."""
        time_s = np.arange(knots) * KNOT_S
        out = self.set_c + self.wander_k[:knots]
        fed = [o.at_s for o in openings if o.fed]
        if np.isfinite(self.lasts_s):
            starts = np.array([0.0, *fed])
            last = np.searchsorted(starts, time_s, side="right") - 1
            since = time_s - starts[last]
            was = np.array([0.0] + [float(self.fade_k(np.array(b - a))) for a, b in zip(starts, fed, strict=False)])
            out = out - np.where(last > 0, was[last] * np.exp(-since / REVIVE_S), 0.0) - self.fade_k(since)
        for opening in [*openings, *self.peeks]:
            first = int(np.ceil(opening.at_s / KNOT_S))
            if first >= knots:
                continue
            depth = felt * self.dip_k * (1.0 - np.exp(-opening.lasting_s / SHUT_S)) / (1.0 - np.exp(-1.0))
            since = time_s[first:] - opening.at_s
            out[first:] -= depth * np.exp(-since / self.recovery_s)
            out[first:] += opening.raised_k * (1.0 - np.exp(-since / REVIVE_S))
        return out

    def grate_c(self, openings: Sequence[Opening], knots: int) -> Floats:
        """Air at the grate as the meat feels it, at each knot [degC]."""
        return np.maximum(self.readout_steady_c(openings, knots, felt=OF_AIR) + self.offset_k, 10.0)


def _positive(rng: np.random.Generator, figure: Figure) -> float:
    return about(rng, figure.value, figure.spread / figure.value) if figure.value > 0.0 else 0.0


def _lagged(rng: np.random.Generator, n: int, sd: float, tau: float) -> Floats:
    """A stationary wander with memory ``tau`` steps."""
    keep = float(np.exp(-1.0 / tau))
    kick = rng.standard_normal(n) * sd * np.sqrt(1.0 - keep * keep)
    out = np.empty(n)
    last = sd * float(rng.standard_normal())
    for i in range(n):
        last = keep * last + kick[i]
        out[i] = last
    return out


def deal_fire(
    pit: Pit,
    *,
    set_c: float,
    weather_c: float,
    weather_rh: float,
    meat_kg: float,
    pressure_pa: float,
    true: Truth,
    rng: np.random.Generator,
) -> Fire:
    """Draw what is true of a pit on the day."""
    knots = int(LONGEST_S / KNOT_S) + 1
    fuel = catalog.fuels()[pit.fuel]
    itself = pit.fan or fuel.key in {"gas", "electric"}  # holds its set temperature by itself
    period = about(rng, pit.air.swing_period_s.value, 0.3)
    swing = about(rng, max(pit.air.swing_k.value, 0.5), 0.4)
    held = true.held  # how much of the departures that memory has such cooks really show
    time_s = np.arange(knots) * KNOT_S
    phase = rng.uniform(0.0, 2.0 * np.pi) + np.cumsum(0.03 * rng.standard_normal(knots))
    wander = 0.75 * swing * np.sin(2.0 * np.pi * time_s / period + phase)
    wander += _lagged(rng, knots, 0.35 * swing, 12.0)
    slow = held * _lagged(rng, knots, 1.0 if itself else 4.0, 150.0)  # the drift of hours
    slow += true.off("held")  # held a little high or low
    segments = int(LONGEST_S / SEGMENT_S) + 1
    ratio = humidity_ratio_from_relative_humidity(weather_c, weather_rh, pressure_pa)
    rise = max(set_c - weather_c, 5.0)
    flow = pit.exchange.air_flow_kg_s.value * true.times("flow") * rise / 90.0
    burnt = water = 0.0
    if fuel.burns:
        heat = _positive(rng, pit.exchange.heat_loss_w_per_k) * rise / pit.exchange.wall_share.value
        burnt = burning.fuel_rate(heat, fuel.lower_heating_j_kg.value)
        water = burning.combustion_water(fuel.hydrogen.value, fuel.moisture.value)
    pan = _positive(rng, pit.exchange.pan_evaporation_kg_s)
    dry_from = rng.uniform(2.0, 12.0) * 3600.0 if rng.random() < 0.3 else np.inf
    gives = about(rng, 0.05 / 3600.0, 0.25) * meat_kg
    vapour = np.empty(segments)
    swings = np.exp(_lagged(rng, segments, 0.2, 2.0))
    for i in range(segments):
        at_s = i * SEGMENT_S
        from_meat = gives * (0.35 + 0.65 * np.exp(-at_s / (4 * 3600.0)))  # it dries as it cooks
        inside = burning.chamber_humidity_ratio(
            ratio,
            flow,
            fuel_kg_s=burnt,
            water_per_fuel=water,
            evaporation_kg_s=from_meat + (pan if at_s < dry_from or at_s > dry_from + 5400.0 else 0.0),
        )
        vapour[i] = vapour_pressure_from_humidity_ratio(min(inside * swings[i], 0.6), pressure_pa)
    peeks = rng.uniform(0.0, LONGEST_S, rng.poisson(0.15 * LONGEST_S / 3600.0))
    early_s = np.arange(-LEAD, 0) * KNOT_S
    early = rng.spawn(1)[0]  # what is drawn after this stays as it is
    lead = 0.75 * swing * np.sin(2.0 * np.pi * early_s / period + phase[0])
    lead += _lagged(early, LEAD, 0.35 * swing, 12.0)
    return Fire(
        pit=pit,
        set_c=set_c,
        offset_k=pit.air.offset_k.value + true.off("offset") + true.off("spot"),
        own_offset_k=true.off("offset"),
        air_speed_m_s=pit.surface.air_speed_m_s.value * true.times("convection"),
        dip_k=max(pit.air.lid_dip_k.value + true.off("dip"), 5.0),
        recovery_s=max(pit.air.lid_recovery_s.value + true.off("recovery"), 40.0),
        lasts_s=about(rng, LASTS_H[pit.key], 0.25) * 3600.0 if pit.key in LASTS_H else np.inf,
        fades=held,
        lag_s=about(rng, 60.0, 0.5),
        readout_off_k=float(rng.normal(0.0, 1.5)),
        outside_pa=vapour_pressure_from_humidity_ratio(0.0075 * about(rng, 1.0, 0.2), pressure_pa),
        peeks=tuple(Opening(float(at), float(rng.uniform(10.0, 40.0))) for at in np.sort(peeks)),
        wander_k=wander + slow,
        lead_k=lead + slow[0],
        vapour_pa=vapour,
        draught=np.exp(_lagged(rng, segments, 0.1, 3.0)),
        wall_offset_k=pit.surface.wall_offset_k.value + true.off("wall") + _lagged(rng, segments, 3.0, 3.0),
    )
