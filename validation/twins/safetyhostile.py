"""What goes against a twin beside its probe's lies: how it came, what reads it, its fire, and what is said of it.

Shares are our own (common practice, no source). An instrument that nobody checked is off by no more than it is allowed
(``safety.history.checks.UNCHECKED_K``): more than that only a check can find, and checked ones are dealt so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.safety.history.checks import ICE_C, UNCHECKED, UNCHECKED_K, Allowed, allowed_by
from pitreckon.safety.history.history import Phase
from pitreckon.safety.rules.meat import UNTOUCHED, Handled
from validation.twins.safetyplan import BLADED, INJECTED, ROLLED, Plan
from validation.twins.streams import one_of, pick, stream

Floats = NDArray[np.float64]

WARM, LOST, CHANGED, CHECKED, LIED = 0.2, 0.15, 0.15, 0.3, 0.25
"""Shares of twins that come warm; of probes that lose power, are changed, are checked; of whole cuts that are not."""
CHECKED_OFF_K: Final = 8.0
BATH_SD_K: Final = 0.3
COLD_C: Final = 4.0


@dataclass(frozen=True)
class Hostile:
    """Of one twin. how: what the cook measures with: nothing, spots or a probe

    warm_c: how it truly comes [degC], None: as was said; stood_s: so long it had stood before [s]
    lost_s: when the power went [s], inf: never; sinks_s: how slowly the fire sinks then [s]
    first_k, then_k: what the probe reads too much, and the next one from changed_s on [K]; hand_k: the one in hand
    air_k: how far the pit's air at a tip that slid out is from what was set [K]
    probe: what the probe is allowed; truly: what was done to it, None: as was said
    """

    how: str
    warm_c: float | None
    stood_s: float
    lost_s: float
    sinks_s: float
    first_k: float
    then_k: float
    changed_s: float
    hand_k: float
    air_k: float
    probe: Allowed
    truly: Handled | None

    def sunk(self, at_s: Floats, air_c: Floats, weather_c: float) -> Floats:
        """The pit's air with its power gone [degC]."""
        if not np.isfinite(self.lost_s):
            return air_c
        gone_s = np.maximum(at_s - self.lost_s, 0.0)
        rest_c = max(weather_c, 5.0)
        return np.asarray(rest_c + (air_c - rest_c) * np.exp(-gone_s / self.sinks_s))

    def stood(self) -> tuple[Floats, Floats]:
        """How it warmed before it went on: times below zero [s], [degC]; none if it came as was said."""
        if self.warm_c is None:
            return np.zeros(0), np.zeros(0)
        at_s = np.linspace(-self.stood_s, 0.0, 100, endpoint=False)
        return at_s, COLD_C + (self.warm_c - COLD_C) * (1.0 + at_s / self.stood_s)

    def off_k(self, at_s: Floats) -> Floats:
        """What the probe in it reads too much at some times [K]."""
        return np.where(at_s < self.changed_s, self.first_k, self.then_k)


def hostile_of(plan: Plan, phases: tuple[Phase, ...], seed: int, index: int, i: int) -> Hostile:
    """Deal one twin's."""
    rng = stream(seed, index, f"hostile {i}")
    on = next(phase for phase in phases if phase.kind == "cook")
    begin_s, off_s = float(on.begin_s[0]), float(on.end_s[0])
    how = pick(rng, {"nothing": 1.0, "spots": 1.0, "probe": 2.0})
    warm = not plan.thaw and rng.random() < WARM
    lost = how == "probe" and rng.random() < LOST
    changed = rng.random() < CHANGED
    checked = rng.random() < CHECKED
    offs = [_off(rng, checked=checked) for _ in range(2)]
    if not changed:
        offs[1] = offs[0]
    return Hostile(
        how,
        float(rng.uniform(plan.item.start_c + 1.0, 27.0)) if warm else None,
        3600.0 * float(rng.uniform(1.0, 7.0)),
        begin_s + float(rng.uniform(0.1, 0.95)) * (off_s - begin_s) if lost else np.inf,
        60.0 * float(rng.uniform(15.0, 90.0)),
        offs[0],
        offs[1],
        begin_s + float(rng.uniform(0.1, 0.9)) * (off_s - begin_s) if changed else np.inf,
        float(rng.uniform(-2.5, 2.5)),
        float(rng.normal(0.0, 3.0)),
        _checked(offs, rng) if checked else UNCHECKED,
        one_of(rng, (INJECTED, BLADED, ROLLED)) if plan.handled == UNTOUCHED and rng.random() < LIED else None,
    )


def _off(rng: np.random.Generator, *, checked: bool) -> float:
    if checked:
        return float(rng.uniform(-CHECKED_OFF_K, CHECKED_OFF_K))
    if rng.random() < 0.5:
        return float(np.clip(rng.normal(0.0, 0.4), -1.0, 1.0))
    return float(rng.uniform(-UNCHECKED_K, UNCHECKED_K))


def _checked(offs: list[float], rng: np.random.Generator) -> Allowed:
    """Each probe that was used, in ice water, in boiling water or in both."""
    boil_c = boiling_point(pressure_isa(0.0))
    baths = one_of(rng, ((ICE_C,), (boil_c,), (ICE_C, boil_c)))
    reads = [
        bath + off + float(np.clip(rng.normal(0.0, BATH_SD_K), -0.7, 0.7))
        for bath in baths
        for off in dict.fromkeys(offs)
    ]
    return allowed_by(reads, 0.0)
