"""A twin reader's day: line by line, walk by walk, each walk opening the lid; then the plate that comes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.lessons.card.cooked import Cooked
from pitreckon.lessons.card.following import WITH_ALARM
from pitreckon.lessons.card.readers import Audience
from pitreckon.lessons.card.script import Line, Script
from pitreckon.lessons.diagnosis.run import onset_c
from pitreckon.physics.reaction import BROWNING_ACTIVATION, BROWNING_ONSET_S
from pitreckon.reckon.measures import level_of_colour
from pitreckon.section.browning import browning_dose
from pitreckon.section.trace import Trace
from validation.readers.deal import Reader
from validation.twins import truth
from validation.twins.fire import KNOT_S, Opening

Floats = NDArray[np.float64]
TENDS_S = 3600.0
"""How often a reader looks after a fire that fades."""
FEEDS_AT_K = 8.0
LONGEST_S = 30 * 3600.0


@dataclass
class Day:
    """How it went: ends of the lines [s since put-on], and every opening of the lid."""

    ends_s: list[float]
    openings: list[Opening]


def live(reader: Reader, script: Script, who: Audience) -> Cooked:
    """Follow the card to the table."""
    day = Day([], [])
    rng = reader.twin.stream("follow")
    for n, line in enumerate(script.lines):
        begin = day.ends_s[-1] if day.ends_s else 0.0
        end = _end_of(reader, script, day, n, line, begin, who, rng)
        day.ends_s.append(_on_knot(max(end, begin + KNOT_S)))
        if line.on_pit:
            day.openings.append(Opening(day.ends_s[-1], float(rng.uniform(30.0, 90.0))))
    trace = truth.follow(reader.twin, day.ends_s, day.openings, day.ends_s[-1])
    return _plate(reader, script, trace, day, rng)


def _end_of(
    reader: Reader, script: Script, day: Day, n: int, line: Line, begin: float, who: Audience, rng: np.random.Generator
) -> float:
    late_s = float(rng.uniform(0.0, who.late_s))
    sauced = line.plan.kind == "sauced"
    if line.look is None or line.by_clock or reader.clocked:
        kept_s = line.clock_s * float(np.exp(who.clock_sd * rng.standard_normal()))
        end = begin + kept_s + (late_s if line.on_pit and not sauced else 0.0)
        if line.on_pit:
            tend(reader, day, begin, end)
        return end
    first = begin if sauced else begin + line.from_s + late_s
    given_up = begin + max(who.patience * line.to_s, line.from_s + 1800.0)
    tend(reader, day, begin, given_up)
    every = who.glaze_gap_s if sauced else script.every_s * float(np.exp(who.look_gap_sd * rng.standard_normal()))
    if line.look.ends_by == "core" and reader.alarm:  # no walk before it rings
        trace = truth.follow(reader.twin, day.ends_s, day.openings, min(given_up, LONGEST_S))
        rung = max(_met_s(reader, line, trace, begin), first)
        return min(rung + float(rng.uniform(0.0, WITH_ALARM * every)), given_up)
    # The first of the even looks after it is met comes anywhere within one gap.
    walks = [first] if not sauced else []
    at = first + every * float(rng.uniform(0.0, 1.0))
    while at < given_up:
        walks.append(at)
        at += every
    looks = [Opening(_on_knot(at), float(rng.uniform(8.0, 30.0))) for at in walks]
    trace = truth.follow(reader.twin, day.ends_s, [*day.openings, *looks], min(given_up, LONGEST_S))
    met = _met_s(reader, line, trace, begin)
    due = next((look for look in looks if look.at_s >= met), None)
    end = given_up if due is None else due.at_s
    day.openings += [look for look in looks if look.at_s < end]
    return end


def tend(reader: Reader, day: Day, begin: float, end: float) -> None:
    """Feed a fire that fades, as long as this line lasts."""
    fire = reader.twin.fire
    fed = max([o.at_s for o in day.openings if o.fed], default=0.0)
    at = begin + TENDS_S
    while np.isfinite(fire.lasts_s) and at < min(end, LONGEST_S):
        if float(fire.fade_k(np.array(at - fed))) > FEEDS_AT_K:
            day.openings.append(Opening(_on_knot(at), 60.0, fed=True))
            fed = at
        at += TENDS_S


def _met_s(reader: Reader, line: Line, trace: Trace, begin: float) -> float:
    """When this reader sees or feels what the line waits for [s since put-on], inf: not in the run."""
    meat, look = reader.twin.meat, line.look
    assert look is not None
    if look.ends_by == "glaze":
        return truth.met_s(reader.twin, trace, line.plan, begin)
    if look.ends_by == "colour":
        level = level_of_colour(trace["colour"][:, 0], np.array([meat.value("dark_at")]))
        there = level >= look.level * reader.colour
    elif look.ends_by == "tender":
        there = trace["gelatin_core"][:, 0] / meat.value("tender_at") >= min(look.level * reader.feel, 1.2)
    else:
        goal = min((look.core_c or 0.0) - reader.tip_k, meat.value("boil_c") - 1.0)
        there = trace["core_c"][:, 0] >= goal
    late = np.flatnonzero((trace.time_s >= begin) & there)
    return float(trace.time_s[late[0]]) if late.size else float("inf")


def _plate(reader: Reader, script: Script, trace: Trace, day: Day, rng: np.random.Generator) -> Cooked:
    meat = reader.twin.meat
    good = np.isfinite(trace["core_c"][:, 0])
    last = int(np.flatnonzero(good)[-1])
    pits = [n for n, line in enumerate(script.lines) if line.on_pit]
    off_s = day.ends_s[pits[-1]]
    on_pit = (trace.time_s <= off_s)[:, None]
    glazed = np.zeros_like(on_pit)
    for n in pits:
        if script.lines[n].plan.kind == "sauced":
            begin = day.ends_s[n - 1] if n else 0.0
            glazed |= ((trace.time_s > begin) & (trace.time_s <= day.ends_s[n]))[:, None]
    dryness = np.clip(1.0 - trace["activity"], 0.0, 1.0)
    where, energy = rng.random(1), rng.uniform(*BROWNING_ACTIVATION, 1)
    onset_s = np.exp(rng.uniform(*np.log(BROWNING_ONSET_S), 1))

    def dose(kind: str, there: NDArray[np.bool_]) -> float:
        low, high = onset_c(kind)
        surface = np.where(there & on_pit, trace["surface_c"], np.nan)
        return float(browning_dose(surface, dryness, trace.time_s, low + where * (high - low), onset_s, energy)[0])

    ends = np.array(day.ends_s)

    def one(value: float) -> Floats:
        return np.array([value])

    return Cooked(
        level=level_of_colour(trace["colour"][last], np.array([meat.value("dark_at")])),
        tender=trace["gelatin_core"][last] / meat.value("tender_at"),
        loss=trace["evaporated"][last] + trace["dripped"][last],
        peak_c=one(float(np.nanmax(trace["core_c"][:, 0]))),
        dose=one(max(reader.twin.item.sugar * dose("rub", ~glazed), dose("glaze", glazed))),
        line_s=np.diff(ends, prepend=0.0)[:, None],
        off_s=one(off_s),
        total_s=one(float(ends[-1])),
    )


def _on_knot(at_s: float) -> float:
    return float(np.ceil(at_s / KNOT_S) * KNOT_S)
