"""What looks and probe readings say: a weight for every member, never a false certainty.

Each look has an honest error (cooks differ by about a step), a probe left in the meat may sit anywhere from
the core outwards, and when all of it together would leave too few members standing, it is tempered and the
outlook says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.catalog import Cut, Rack
from pitreckon.ledger import Look, Reading
from pitreckon.section.members import Members
from pitreckon.section.trace import Trace

Floats = NDArray[np.float64]

STEP = 0.22
"""One standard error of a look on an ordinal scale: about a step (common practice, no source)."""
BONE_SD_M = 0.003
SPOT_SD_K = 3.0
WEIGHT_SD = 0.03
PROBE_SD_K = 4.0
PROBE_EVERY_S = 1800.0
"""Model errors last: readings of a probe count as independent half an hour apart (common practice, no source)."""
PROBE_PLACES = (("core_c", 0.6), ("place1_c", 0.3), ("place2_c", 0.1))
LEAST_EFFECTIVE = 0.1
"""Share of the members that must still count after all evidence; below it the evidence is tempered."""
TOO_DARK_LEVEL = 1.3


def level_of_colour(colour: Floats, dark_at: Floats) -> Floats:
    """The step of the colour scale that a model colour looks like: 0 raw, 1 set, 1.3 too dark.

    The eye goes with the square root up to the set colour and with the logarithm past it (from memory).
    """
    below = np.sqrt(np.clip(colour, 0.0, 1.0))
    past = (TOO_DARK_LEVEL - 1.0) * np.log(np.maximum(colour, 1.0)) / np.log(np.maximum(dark_at, 1.01))
    return np.asarray(below + past)


def colour_of_level(level: float, dark_at: float) -> float:
    """The inverse of ``level_of_colour`` for one cut."""
    if level <= 1.0:
        return level * level
    return float(dark_at ** ((level - 1.0) / (TOO_DARK_LEVEL - 1.0)))


def bone_showing(cut: Cut, loss: Floats, bone_show: Floats) -> Floats:
    """Bare bone at one end [m]: the meat shortens with the water it loses; 0 where there is no rack."""
    if not isinstance(cut.shape, Rack):
        return 0.0 * loss
    return np.asarray(0.5 * cut.shape.width_m.value * bone_show * loss)


def fat_lost(cut: Cut, gelatin_mean: Floats, fat_render: Floats) -> Floats:
    """Rendered fat as a share of the raw piece; it runs off as the collagen lets go."""
    share = cut.composition.fat.value * (1.0 - cut.composition.bone_fraction.value)
    return np.asarray(share * fat_render * gelatin_mean)


@dataclass(frozen=True)
class Evidence:
    """Weights of the members and what they rest on.

    weights: sum to 1, shape (members,)
    effective: how many members still count
    tempered: the share of the evidence's force that was used; 1 all of it
    """

    weights: Floats
    effective: float
    tempered: float


def weigh(
    cut: Cut,
    members: Members,
    trace: Trace,
    looks: Sequence[tuple[float, Look]],
    probe: Sequence[tuple[float, Reading]],
    *,
    mass_kg: float,
    bone_show: Floats,
    fat_render: Floats,
) -> Evidence:
    """Weights of the members given looks and probe readings at seconds since put-on.

    Members that failed, or that have run out of their course before a look on it, count for nothing there.
    """
    n = members.size
    log_w = np.zeros(n)
    for at_s, look in looks:
        log_w += _look(cut, members, trace, at_s, look, mass_kg, bone_show, fat_render)
    log_w += _probe(trace, probe)
    bad = ~np.isfinite(log_w)
    for member in trace.failed:
        bad[member] = True
    log_w = np.where(bad, -1e6, log_w)
    full = _normal(log_w)
    if bad.all():
        return Evidence(np.full(n, 1.0 / n), 0.0, 0.0)
    least = max(2.0, LEAST_EFFECTIVE * n)
    if _effective(full) >= least:
        return Evidence(full, _effective(full), 1.0)
    low, high = 0.0, 1.0
    alive = np.where(bad, -1e6, 0.0)
    for _ in range(40):
        mid = 0.5 * (low + high)
        if _effective(_normal(mid * np.where(bad, 0.0, log_w) + alive)) >= least:
            low = mid
        else:
            high = mid
    weights = _normal(low * np.where(bad, 0.0, log_w) + alive)
    return Evidence(weights, _effective(weights), low)


def _normal(log_w: Floats) -> Floats:
    w = np.exp(log_w - log_w.max())
    return np.asarray(w / w.sum())


def _effective(w: Floats) -> float:
    return float(1.0 / np.sum(w * w))


def _misfit(miss: Floats, sd: float) -> Floats:
    """Log likelihood with heavy tails (Student, 4 degrees): one odd look cannot rule a member out."""
    return np.asarray(-2.5 * np.log1p((miss / sd) ** 2 / 4.0))


def held_at(trace: Trace, channel: str, at_s: float) -> Floats:
    """A channel at a time [s since put-on]; a member whose course is over keeps its last value."""
    values = trace.at(channel, at_s)
    if np.isfinite(values).all():
        return values
    series = trace[channel]
    row = int(np.clip(np.searchsorted(trace.time_s, at_s), 0, trace.time_s.size - 1))
    past = series[: row + 1]
    last = past.shape[0] - 1 - np.argmax(np.isfinite(past[::-1]), axis=0)
    return np.asarray(np.where(np.isfinite(values), values, past[last, np.arange(past.shape[1])]))


def _look(
    cut: Cut,
    members: Members,
    trace: Trace,
    at_s: float,
    look: Look,
    mass_kg: float,
    bone_show: Floats,
    fat_render: Floats,
) -> Floats:
    match look.what:
        case "colour":
            seen = level_of_colour(held_at(trace, "colour", at_s), members["dark_at"])
            return _misfit(seen - look.value, STEP)
        case "probe feel" | "bend":
            felt = np.minimum(held_at(trace, "gelatin_core", at_s) / members["tender_at"], 1.3)
            return _misfit(felt - look.value, STEP)
        case "spot temperature":
            return _misfit(held_at(trace, "core_c", at_s) - look.value, SPOT_SD_K)
        case "bone showing":
            loss = held_at(trace, "evaporated", at_s) + held_at(trace, "dripped", at_s)
            return _misfit(bone_showing(cut, loss, bone_show) - look.value, BONE_SD_M)
        case "weight":
            loss = held_at(trace, "evaporated", at_s) + held_at(trace, "dripped", at_s)
            loss = loss + fat_lost(cut, held_at(trace, "gelatin_mean", at_s), fat_render)
            return _misfit(1.0 - loss - look.value / mass_kg, WEIGHT_SD)
        case _:
            return np.zeros(members.size)


def _probe(trace: Trace, probe: Sequence[tuple[float, Reading]]) -> Floats:
    """The place is unknown: each member's likelihood is the mean over the places, each for the whole record."""
    n = trace.values.shape[2]
    if not probe:
        return np.zeros(n)
    chosen: list[tuple[float, Reading]] = []
    for at_s, reading in reversed(probe):
        if not chosen or chosen[-1][0] - at_s >= PROBE_EVERY_S:
            chosen.append((at_s, reading))
    total = np.full(n, -np.inf)
    for channel, share in PROBE_PLACES:
        log_l = np.full(n, np.log(share))
        for at_s, reading in chosen:
            log_l = log_l + _misfit(held_at(trace, channel, at_s) - reading.value_c, PROBE_SD_K)
        total = np.logaddexp(total, log_l)
    return total
