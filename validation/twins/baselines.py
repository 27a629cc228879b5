"""Plain ways of guessing, kept beside the forecast: the timetable and the straight line through the core's readings.

(The third, the prior alone, is the forecaster itself with everything but the acts taken from its ledger: ``judge``.)
Both give one number. Their spread is that of their own errors on all *other* twins, which also takes out what they are
off by on the whole; so each is as good as a cook with a long book of past cooks could make it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pitreckon.ledger import Ledger
from validation.twins import scores
from validation.twins.deal import ITEM

Floats = NDArray[np.float64]

LOOK_BACK_S = 2700.0
LEAST_SPAN_S = 600.0
LONGEST_REST_S = 20 * 3600.0
SHORTEST_REST_S = 300.0
ENOUGH = 6


def straight_line_s(ledger: Ledger, now_s: float, put_on: float, goal_c: float) -> tuple[float, str]:
    """Time left until the core is at ``goal_c`` if it goes on as over the last while [s], and from what.

    Through the probe's readings of the last 45 minutes, else through the last two spot temperatures. nan and "" where
    there is neither. ``put_on``: epoch [s].
    """
    probe = [(r.at_utc.timestamp() - put_on, r.value_c) for r in ledger.readings("probe", ITEM)]
    spots = [
        (look.at_utc.timestamp() - put_on, look.value) for look in ledger.looks(ITEM) if look.kind == "spot temperature"
    ]
    recent = [(t, v) for t, v in probe if now_s - LOOK_BACK_S <= t <= now_s]
    if len(recent) >= 3 and recent[-1][0] - recent[0][0] >= LEAST_SPAN_S:
        slope, level = np.polyfit([t - now_s for t, _ in recent], [v for _, v in recent], 1)
        return _left(goal_c - level, slope), "probe"
    known = [(t, v) for t, v in spots if t <= now_s]
    if len(known) >= 2:
        (t0, v0), (t1, v1) = known[-2:]
        slope = (v1 - v0) / max(t1 - t0, 60.0)
        return _left(goal_c - v1 - slope * (now_s - t1), slope), "spots"
    return float("nan"), ""


def _left(missing_k: float, slope_k_s: float) -> float:
    if missing_k <= 0.0:
        return SHORTEST_REST_S
    if slope_k_s <= missing_k / LONGEST_REST_S:
        return LONGEST_REST_S
    return max(missing_k / slope_k_s, SHORTEST_REST_S)


def of_others(guess: Floats, truth: Floats, groups: Sequence[str], wider: Sequence[str]) -> list[Floats]:
    """For each guess what it becomes with the errors (ratios) of all others of its group, or its wider one.

    A guess that is no number gives an empty array.
    """
    error = truth / guess
    group, wide = np.array(groups), np.array(wider)
    known = np.isfinite(error)
    out = []
    for i in range(guess.size):
        if not known[i]:
            out.append(np.zeros(0))
            continue
        others = known & (group == group[i])
        others[i] = False
        if others.sum() < ENOUGH:
            others = known & (wide == wide[i])
            others[i] = False
        out.append(guess[i] * error[others])
    return out


def score_after(samples: Floats, now: float, truth: float, cap: float) -> float:
    """CRPS of equally weighted samples, given that it has not happened by ``now``; nan without samples.

    Where the samples ran out, it is put between now and half as long again.
    """
    if samples.size == 0:
        return float("nan")
    left = samples[samples > now]
    if left.size < 3:
        left = np.concatenate((left, now * np.linspace(1.02, 1.5, 7)))
    return scores.crps(left, np.ones(left.size), truth, cap)
