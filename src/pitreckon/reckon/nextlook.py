"""What one look more would buy: how much narrower the next stage's end would be known after it.

By the straight lines of the update: how the logarithm of the time left to the end, and what a look would show then,
hang on all that is not known. A look that shows what moves the end, with a small error of its own, narrows it
(expected value of information in a linear normal model; Raiffa and Schlaifer 1961, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Look
from pitreckon.reckon.measures import looked
from pitreckon.reckon.outlook import NextLook, Outlook
from pitreckon.reckon.pace import HALF, Through, aims_of
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.quantiles import quantiles_of
from pitreckon.reckon.update import LinearObs, temper
from pitreckon.units import instant_after

BEFORE_S: Final = 4500.0
"""A first look is asked for about so long before the end [s]: a judgement, not measured."""
APART_S: Final = 1800.0
"""Between two looks [s]: sooner, the second says little that the first did not."""
EVERY_S: Final = 300.0
"""Clock times of looks are on these [s]."""
ON_THE_WAY_S: Final = 1200.0
"""A look waits so long for a walk that is made anyway, or comes so much sooner with it [s]."""
NOTHING: Final = 1e-12
LEAST_GAIN: Final = 0.1
"""A look is asked for if it takes at least this share off the width."""
PROBED_S: Final = 1200.0
"""A core that was read so lately needs no thermometer in hand [s]."""
KINDS: Final = {"colour": ("colour",), "tender": ("probe feel", "spot temperature"), "core": ("spot temperature",)}
"""Looks that settle what a stage waits for."""


@dataclass(frozen=True)
class _Lines:
    """Lines at the members near the answer: of the log of the time left, and what is open of the unknowns."""

    through: Through
    good: Bools
    slope: Floats
    covariance: Floats
    missed: float


def next_look(got: Posterior, now: datetime) -> NextLook | None:
    """The look, or the two, that would narrow the end of the stage to come most; None: none buys a tenth."""
    track, trace = got.track, got.trace
    aims = aims_of(track.stages)
    now_s = track.now_s
    if not aims or now_s < 0.0 or not track.stages[aims[0]].running:
        return None
    end = trace.stage_end_s[aims[0]]
    spread = quantiles_of(end, got.weights)
    if not spread.known or not np.isfinite(spread.p95) or spread.p95 <= now_s + EVERY_S:
        return None
    lines = _lines(got, end, now_s)
    if lines is None:
        return None
    first_s = _on_clock(max(now_s, spread.p50 - BEFORE_S), track.zero)
    times = [first_s] + [first_s + APART_S] * (first_s + APART_S < spread.p50)
    lately = any(stretch.at_s[-1] > now_s - PROBED_S for stretch in track.observations.probe.stretches)
    kinds = [
        kind
        for kind in KINDS[track.stages[aims[0]].plan.until.ends_by]
        if not (LOOK_KINDS[kind].errors.place and lately)
    ]
    if not kinds:
        return None
    width_s = spread.p95 - spread.p05
    left = [_left(lines, got, kinds, times[: n + 1], now) for n in range(len(times))]
    best = 1 if len(left) == 2 and left[1] < (1.0 - LEAST_GAIN) * left[0] else 0
    if left[best] > 1.0 - LEAST_GAIN:
        return None
    at = tuple(instant_after(track.put_on, each) for each in times[: best + 1])
    return NextLook(tuple(kinds), at, width_s, width_s * left[best])


def on_walks(outlook: Outlook) -> Outlook:
    """The outlook with its looks on the walks that are made anyway, where those are near; no two looks on one."""
    walks = [trip.at_utc for trip in outlook.trips if trip.at_utc >= outlook.now_utc]

    def moved(look: NextLook) -> NextLook:
        at: list[datetime] = []
        for when in look.at_utc:
            free = [walk for walk in walks if walk not in at and abs(walk - when).total_seconds() <= ON_THE_WAY_S]
            at.append(min(free, key=lambda walk: abs(walk - when), default=when))
        return replace(look, at_utc=tuple(sorted(at)))

    items = (
        each if each.next_look is None else replace(each, next_look=moved(each.next_look)) for each in outlook.items
    )
    return replace(outlook, items=tuple(items))


def _on_clock(at_s: float, zero: float) -> float:
    """The next full five minutes of the clock, as a time since put-on."""
    return float(np.ceil((zero + at_s) / EVERY_S) * EVERY_S - zero)


def _lines(got: Posterior, end: Floats, now_s: float) -> _Lines | None:
    z, seen = got.ensemble.z, got.track.observations
    likelihood = seen.log_likelihood(got.ensemble.draw, got.trace) + got.others.log_factor(z)
    good = np.isfinite(end) & np.isfinite(likelihood) & (end > now_s)
    k = z.shape[0]
    if good.sum() <= k:
        return None
    near = temper(np.where(good, likelihood, -np.inf), HALF)[good]
    near /= near.sum()
    zg, logs = z[:, good], np.log(end[good])
    precision = np.eye(k) + got.others.precision
    if seen:
        predicted = seen.predicted(got.ensemble.draw, got.trace)
        own = LinearObs.through(zg, predicted.of(good), near).robust()
        precision = precision + own.slope.T @ np.linalg.solve(own.covariance, own.slope)
    through = Through(zg, near)
    slope, missed = through.line(logs)
    return _Lines(through, good, slope, np.asarray(np.linalg.inv(precision)), missed)


def _left(lines: _Lines, got: Posterior, kinds: Sequence[str], at_s: Sequence[float], now: datetime) -> float:
    """Share of the width that looks of these kinds at these times would leave."""
    track, draw = got.track, got.ensemble.draw
    rows, errors, shared = [], [], []
    for kind in kinds:
        error = LOOK_KINDS[kind].errors
        for when in at_s:
            look = Look(now + timedelta(seconds=when - track.now_s), track.item.label, None, kind, 0.0)
            shown = looked(track.cut, draw, got.trace, look, when, track.item.mass_kg)[lines.good]
            slope, missed = lines.through.line(shown)
            rows.append(slope)
            errors.append(error.each**2 + error.rounded**2 + missed)
            shared.append(kind)
    h = np.array(rows)
    same = np.array([[a == b for a in shared] for b in shared])
    habit = np.array([LOOK_KINDS[kind].errors.shared ** 2 for kind in shared])
    r = np.diag(errors) + same * habit[:, None]
    p = lines.covariance
    before = float(lines.slope @ p @ lines.slope)
    if before + lines.missed <= NOTHING:
        return 1.0  # every member ends it at one time: there is nothing to narrow
    seen = h @ p @ lines.slope
    after = before - float(seen @ np.linalg.solve(h @ p @ h.T + r, seen))
    return float(np.sqrt((max(after, 0.0) + lines.missed) / (before + lines.missed)))
