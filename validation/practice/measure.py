"""A row's number from a cook's curve. Words of ``rows.csv`` and what they mean:

``time_to EVENT`` since put-on; ``time_from EVENT EVENT``; ``stage_time N``; ``core_at EVENT``; ``loss_at EVENT``: water
and rendered fat, of the raw piece; ``slowest_rate``: smallest gain of the core in an hour that begins between 130 and
190 °F; ``slowest_core``: the core in the middle of that hour; ``rise_again``: the fastest hour after it that begins
below 195 °F, over it; ``core_change_after EVENT 60min``; ``core_rise_after EVENT``: the highest later core less that at
the event; ``balance``: the larger relative fault of its heat and water balances.

An EVENT is ``165F`` (the core is there for the first time), ``tender``, ``colour``, ``dark``, ``3h`` or ``stage2`` (the
end of that stage).
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from validation.practice.adapter import Curve

Floats = NDArray[np.float64]

MARKS = {"tender": "tender", "colour": "colour_set", "dark": "too_dark"}
IN_UNIT = {"h": 1.0 / 3600.0, "min": 1.0 / 60.0}
FROM_F, BEGINS_BELOW_F, LAST_F = 130.0, 190.0, 195.0


def measure(curve: Curve, quantity: str, unit: str) -> float:
    """The number of a quantity in a unit; nan where the cook did not come so far.

    Raises
    ------
    ValueError: the quantity is not known
    """
    word, *args = quantity.split()
    if word == "time_to":
        return event_s(curve, args[0]) * _time_unit(unit)
    if word == "time_from":
        return (event_s(curve, args[1]) - event_s(curve, args[0])) * _time_unit(unit)
    if word == "stage_time":
        n = int(args[0])
        begin = 0.0 if n == 1 else event_s(curve, f"stage{n - 1}")
        return (event_s(curve, f"stage{n}") - begin) * _time_unit(unit)
    if word == "core_at":
        return core_f(curve, event_s(curve, args[0]))
    if word == "loss_at":
        return 100.0 * loss(curve, event_s(curve, args[0]))
    if word in {"slowest_rate", "slowest_core", "rise_again"}:
        return dict(zip(("slowest_rate", "slowest_core", "rise_again"), plateau(curve), strict=True))[word]
    if word == "core_change_after":
        at = event_s(curve, args[0])
        return core_f(curve, at + 60.0 * float(args[1].removesuffix("min"))) - core_f(curve, at)
    if word == "core_rise_after":
        at = event_s(curve, args[0])
        after = curve.channels["core_c"][curve.time_s >= at]
        return (
            float("nan") if not np.isfinite(after).any() else 1.8 * float(np.nanmax(after)) + 32.0 - core_f(curve, at)
        )
    if word == "balance":
        return curve.balance
    raise ValueError(f"unknown quantity '{quantity}'. Use one of those in the head of measure.py")


def _time_unit(unit: str) -> float:
    return IN_UNIT.get(unit, 1.0 / 3600.0)


def event_s(curve: Curve, event: str) -> float:
    """When an event was [s since put-on], nan if never. Raises ValueError for an unknown one."""
    if event in MARKS:
        return curve.marks_s[MARKS[event]]
    if found := re.fullmatch(r"stage(\d+)", event):
        n = int(found[1]) - 1
        return float(curve.ends_s[n]) if n < curve.ends_s.size else float("nan")
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)h", event):
        return 3600.0 * float(found[1])
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)F", event):
        return _first_at(curve.time_s, curve.channels["core_c"], (float(found[1]) - 32.0) / 1.8)
    raise ValueError(f"unknown event '{event}'. Write 165F, 3h, tender, colour, dark or stage1")


def _first_at(time_s: Floats, core_c: Floats, goal_c: float) -> float:
    over = np.flatnonzero(core_c >= goal_c)
    if over.size == 0:
        return float("nan")
    i = int(over[0])
    if i == 0:
        return float(time_s[0])
    share = (goal_c - core_c[i - 1]) / (core_c[i] - core_c[i - 1])
    return float(time_s[i - 1] + share * (time_s[i] - time_s[i - 1]))


def _at(curve: Curve, values: Floats, at_s: float) -> float:
    known = np.isfinite(values)
    if (
        not np.isfinite(at_s)
        or not known.any()
        or at_s > curve.time_s[known][-1] + 3.0 * (curve.time_s[1] - curve.time_s[0])
    ):
        return float("nan")
    return float(np.interp(at_s, curve.time_s[known], values[known]))


def core_f(curve: Curve, at_s: float) -> float:
    """Core at a time [degF], nan outside of the cook."""
    return 1.8 * _at(curve, curve.channels["core_c"], at_s) + 32.0


def loss(curve: Curve, at_s: float) -> float:
    """Water and rendered fat gone, as a share of the raw piece."""
    water = _at(curve, curve.channels["evaporated"], at_s) + _at(curve, curve.channels["dripped"], at_s)
    return water + curve.fat_share * _at(curve, curve.channels["gelatin_mean"], at_s)


def plateau(curve: Curve) -> tuple[float, float, float]:
    """Gain of the core in its slowest hour [degF/h], the core then [degF], and the fastest hour after it over that."""
    core = 1.8 * curve.channels["core_c"] + 32.0
    core = core[np.isfinite(core)]
    step = round(3600.0 / float(curve.time_s[1] - curve.time_s[0]))
    if core.size <= step:
        return float("nan"), float("nan"), float("nan")
    rate, begin, middle = core[step:] - core[:-step], core[:-step], core[step // 2 : step // 2 + core.size - step]
    heated = int(np.argmax(core)) - step  # what cools after the cook is no stall
    inside = (begin >= FROM_F) & (begin < BEGINS_BELOW_F) & (np.arange(rate.size) <= max(heated, 0))
    if not inside.any():
        return float("nan"), float("nan"), float("nan")
    at = int(np.flatnonzero(inside)[np.argmin(rate[inside])])
    after = (np.arange(rate.size) >= at) & (begin < LAST_F) & (np.arange(rate.size) <= max(heated, 0))
    slowest = max(float(rate[at]), 1e-3)
    return float(rate[at]), float(middle[at]), float(rate[after].max()) / slowest
