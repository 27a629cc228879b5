"""A rival that knows no physics: a straight line through plain numbers of the ledger, learnt on other twins.

Ridge regression of the logarithm of the time left and half an hour on what a cook could write on a card: how long it
has been on, the rule of thumb's time, the pit's air, the latest feel, colour and temperature with their slopes, the
straight line through the readings, the stage and the cut. Its spread is that of its own errors on like cases of other
twins. It learns every twenty minutes of a cook, so that it does not know when it will be asked, and is given "not yet"
as the forecast is.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.ledger import Ledger
from validation.twins.deal import CUTS, ITEM, Twin

Floats = NDArray[np.float64]

HALF_HOUR_S = 1800.0
FOLDS, RIDGE = 10, 3.0
LIKE, NEAR = 20, 0.35
"""Errors of at least so many like cases of about the same time left (of its logarithm) make its spread."""
FEELS = ("probe feel", "bend")


def features(twin: Twin, ledger: Ledger, now_s: float, usual_s: float, line_s: float) -> str:
    """The numbers, as JSON. ledger: up to now; usual_s: the timetable's; line_s: left by the straight line, or nan."""
    zero = twin.put_on_utc.timestamp()
    item, set_c = twin.item, twin.fire.set_c
    hours = now_s / 3600.0
    air = [(r.at_utc.timestamp() - zero, r.value_c) for r in ledger.readings("pit air")]
    late = [v for t, v in air if t > now_s - 3600.0]
    whole = [v for t, v in air if t >= 0.0]
    looks = [(look.at_utc.timestamp() - zero, look) for look in ledger.looks(ITEM)]
    warm = [(r.at_utc.timestamp() - zero, r.value_c) for r in ledger.readings("probe", ITEM)]
    warm += [(t, look.value) for t, look in looks if look.kind == "spot temperature"]
    acts = [act.act for act in ledger.acts(ITEM)]
    left = math.log(max(usual_s - now_s, 600.0) + HALF_HOUR_S)
    known = math.isfinite(line_s)
    row = [
        *(left, hours, now_s / usual_s, math.log(usual_s), math.log(item.mass_kg), set_c / 100.0, item.sugar),
        *((np.mean(late) - set_c) / 10.0 if late else 0.0, (np.mean(whole) - set_c) / 10.0 if whole else 0.0),
        *(float("wrapped" in acts), float("sauced" in acts)),
        *_latest([(t, look.value) for t, look in looks if look.kind in FEELS], now_s, 1.0),
        *_latest([(t, look.value) for t, look in looks if look.kind == "colour"], now_s, 1.0),
        *_latest(sorted(warm), now_s, 100.0),
        *(float(known), math.log(min(line_s, 20 * 3600.0) + HALF_HOUR_S) if known else left),
        *(float(item.cut == cut) for cut in CUTS),
    ]
    return json.dumps([round(float(each), 4) for each in row])


def _latest(seen: Sequence[tuple[float, float]], now_s: float, unit: float) -> tuple[float, ...]:
    """Is there one, its value, its age in hours, its slope an hour over the last 45 min or since the one before."""
    if not seen:
        return 0.0, 0.0, 0.0, 0.0
    at, value = seen[-1]
    before = [each for each in seen if each[0] <= at - 2700.0][-1:] or list(seen[:1])
    span = max(at - before[0][0], 600.0)
    return 1.0, value / unit, (now_s - at) / 3600.0, (value - before[0][1]) / unit / span * 3600.0


@dataclass(frozen=True)
class Cases:
    """Moments of cooks: numbers of each (cases, numbers), time left [s], the cook, and what makes cases alike."""

    rows: Floats
    left_s: Floats
    cooks: Sequence[int]
    like: Sequence[str]


def of_others(learn: Cases, asked: Cases) -> list[Floats]:
    """Samples of the time left [s] of every case asked of, from what was learnt on the other folds of cooks."""
    y = np.log(learn.left_s + HALF_HOUR_S)
    folds, fold = np.array(learn.cooks) % FOLDS, np.array(asked.cooks) % FOLDS
    alike, like = np.array(learn.like), np.array(asked.like)
    out: list[Floats] = [np.zeros(0)] * fold.size
    for k in range(FOLDS):
        mine, others = np.flatnonzero(fold == k), folds != k
        if not mine.size or not others.any():
            continue
        middle, size = learn.rows[others].mean(axis=0), learn.rows[others].std(axis=0) + 1e-6
        design = _design((learn.rows[others] - middle) / size)
        ridge = RIDGE * np.diag([0.0] + [1.0] * learn.rows.shape[1])
        lines = np.linalg.solve(design.T @ design + ridge, design.T @ y[others])
        error = y[others] - design @ lines
        said = _design((asked.rows[mine] - middle) / size) @ lines
        for i, value in zip(mine, said, strict=True):
            near = np.abs(design @ lines - value) < NEAR
            cases = near & (alike[others] == like[i])
            spread = error[cases] if cases.sum() >= LIKE else error[near] if near.sum() >= LIKE else error
            out[i] = np.maximum(np.exp(value + spread) - HALF_HOUR_S, 60.0)
    return out


def _design(x: Floats) -> Floats:
    return np.column_stack((np.ones(len(x)), x))
