"""How long a finished cook took, and what it tells of its pit, as lines that outlive it.

What was seen of a piece fits a model better than the model fits meat: a rack has a thick end and a thin one, a lid is
lifted without a word, a probe lies where it lies. Within a cook that does little harm, for the end of it is reckoned
from all of it together. But carried over to the next one, line by line, it told of meat that cooks quicker than it
does: on twins, lessons of all lines made what is foretold at put-on a fifth worse than none (docs/why.md). What can be
carried over is what the next cook asks: how long it took, over what was foretold for the pit as it was set and the
wrap when it came; how far the grate was over the gauge; and what a thermometer on the grate showed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.cook import Until
from pitreckon.ledger import Ledger, Reading
from pitreckon.reckon.draws import stream
from pitreckon.reckon.learned import GRATE, HOW_LONG, OFFSET, Tells
from pitreckon.reckon.levels import ROW, UNKNOWNS, Levels
from pitreckon.reckon.pace import line_through
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Ensemble, Track, ensemble
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.update import LinearObs
from pitreckon.section.simulate import simulate_all

Line = tuple[Tells, Floats, float, float]
"""What it tells, its slopes, what it came to and its error."""
BEFORE, AFTER = 160, 96
"""Members of the prior that the line is laid through, and of those that fit what was seen."""
FOLLOWED: Final = 2.4
"""So many times as long as it took are slow members followed."""
LEAST_DONE: Final = 0.9
"""Share of the members that must get there."""
TOLD: Final = 0.85
"""What was seen tells how long it took where it leaves less than this of a variance: what is told less apart from what
was foretold hangs on how right that was."""
TOLD_OF_PIT: Final = 0.9


@dataclass(frozen=True)
class Told:
    """Lines of a lesson.

    what: of each, what it tells; slope: per unit of each unknown's departure, (lines, unknowns); value, sd: what it
    came to and its error, (lines,)
    """

    what: tuple[Tells, ...]
    slope: Floats
    value: Floats
    sd: Floats


def told_of(done: Sequence[Posterior], lines: Sequence[LinearObs], threads: int | None = None) -> list[Told]:
    """What each track of a finished cook tells. lines: of each, what was seen as a linear operator"""
    took = _took(done, threads)
    return [
        _joined([each, *_of_offset(got, line), *_of_grate(got.track)])
        for got, line, each in zip(done, lines, took, strict=True)
    ]


def _joined(parts: Sequence[Line | None]) -> Told:
    kept = [part for part in parts if part is not None]
    return Told(
        tuple(what for what, *_ in kept),
        np.array([slope for _, slope, *_ in kept]).reshape(-1, len(UNKNOWNS)),
        np.array([value for *_, value, _ in kept]),
        np.array([sd for *_, sd in kept]),
    )


# --- how long it took


def _as_if_not_ended(track: Track) -> Track | None:
    """As it was cooked, but that nobody took it off before it was done: to the end of that stage and no further."""
    by_meat = [
        i
        for i, stage in enumerate(track.stages)
        if stage.plan.kind in PIT_KINDS and stage.plan.until.ends_by in {"tender", "core"}
    ]
    on_pit = [i for i, stage in enumerate(track.stages) if stage.plan.kind in {"open", "wrapped"}]
    if not on_pit:
        return None
    last = by_meat[-1] if by_meat else on_pit[-1]
    until = track.stages[last].plan.until
    if not by_meat:  # it was cooked by the clock: done is what the cut calls done
        texture = track.cut.texture
        until = Until("tender") if texture.done_by == "tender" else Until("core", texture.done_core_c.value)
    stage = track.stages[last]
    open_end = replace(stage, plan=replace(stage.plan, until=until), ended_utc=None, running=False)
    return replace(track, stages=(*track.stages[:last], open_end))


def _as_set(ledger: Ledger) -> Ledger:
    """Without what the pits' gauges showed: what is foretold of the next cook has only what they will be set to."""
    return Ledger.of([event for event in ledger.events if not isinstance(event, Reading)])


def _took(done: Sequence[Posterior], threads: int | None) -> list[Line | None]:
    free = [_as_if_not_ended(got.track) for got in done]
    asked = [i for i, track in enumerate(free) if track is not None]
    runs: list[Ensemble] = []
    for i in asked:
        track, got = free[i], done[i]
        assert track is not None
        horizon_s = min(track.horizon_s, FOLLOWED * max(got.track.observations.last_s, 3600.0))
        horizon_s = float(np.ceil(horizon_s / 600.0) * 600.0)
        foretold = replace(track, ledger=_as_set(track.ledger))
        runs += [ensemble(foretold, track.prior(BEFORE), horizon_s), ensemble(track, _some(got), horizon_s)]
    traces = simulate_all([each.job for each in runs], threads=threads)
    out: list[Line | None] = [None] * len(done)
    for k, i in enumerate(asked):
        last = len(runs[2 * k].track.stages) - 1
        before, after = (trace.stage_end_s[last] for trace in traces[2 * k : 2 * k + 2])
        out[i] = _line(runs[2 * k].z, before, after, done[i].track.levels)
    return out


def _some(got: Posterior) -> Floats:
    """Members that fit what was seen, each as often as it counts."""
    rng = stream(got.track.seed, f"how long {got.track.label}")
    at = (np.arange(AFTER) + rng.random()) / AFTER
    return np.asarray(got.ensemble.z[:, np.searchsorted(np.cumsum(got.weights), at).clip(max=got.weights.size - 1)])


def _line(z: Floats, before_s: Floats, after_s: Floats, levels: Levels) -> Line | None:
    """The logarithm of the time on all that is not known, and what it came to."""
    was, now = np.isfinite(before_s) & (before_s > 0.0), np.isfinite(after_s) & (after_s > 0.0)
    if min(was.mean(), now.mean()) < LEAST_DONE:
        return None
    near = np.full(int(was.sum()), 1.0 / was.sum())
    logs, seen = np.log(before_s[was]), np.log(after_s[now])
    slope, left = line_through(z[:, was], logs, near)
    middle = float(logs.mean() - slope @ (z[:, was] @ near))
    kept = _without_prior(float(seen.mean()) - middle, float(seen.var()), float(logs.var()), TOLD)
    if kept is None:
        return None
    value, variance = kept
    return HOW_LONG, _by_unit(slope, levels), value, float(np.sqrt(variance + left))


def _without_prior(mean: float, variance: float, before: float, least: float) -> tuple[float, float] | None:
    """What was seen alone says of a number of which the prior says 0 and a variance ``before``, and both say these.

    None: it leaves more of that than ``least``.
    """
    if variance > least * before:
        return None
    variance = max(variance, 1e-3 * before)
    alone = 1.0 / (1.0 / variance - 1.0 / before)
    return mean * alone / variance, alone


def _by_unit(slope: Floats, levels: Levels) -> Floats:
    """Of independent standard numbers, by the unknowns' departures."""
    return np.asarray(np.linalg.solve(levels.mix.T, slope) / levels.sd)


# --- the pit


def _of_offset(got: Posterior, line: LinearObs) -> list[Line]:
    """How far the grate is over the gauge, by what was seen of the meat."""
    rows = slice(0, line.innovation.size - len(got.track.observations.grate))
    slope = line.slope[rows]
    if not slope.shape[0]:
        return []
    own = LinearObs(slope, line.innovation[rows], line.covariance[rows, rows]).robust()
    weighed = np.linalg.solve(own.covariance, np.column_stack((slope, own.innovation)))
    covariance = np.linalg.inv(np.eye(slope.shape[1]) + slope.T @ weighed[:, :-1])
    levels = got.track.levels
    of_offset = levels.to_units[ROW["offset"]]
    mean = float(of_offset @ covariance @ (slope.T @ weighed[:, -1]))
    kept = _without_prior(mean, float(of_offset @ covariance @ of_offset), float(of_offset @ of_offset), TOLD_OF_PIT)
    return [] if kept is None else [(OFFSET, _offset(), kept[0], float(np.sqrt(kept[1])))]


def _of_grate(track: Track) -> list[Line]:
    """What thermometers on the grate showed over the gauge, all together."""
    checks = track.observations.grate
    if not checks:
        return []
    weight = np.array([check.error_k**-2 for check in checks])
    over_k = float(np.array([check.over_k for check in checks]) @ weight / weight.sum())
    usual = catalog.pit(track.cook.pit(track.pit).kind).air.offset_k.value
    return [(GRATE, _offset(), over_k - usual, float(weight.sum() ** -0.5))]


def _offset() -> Floats:
    return np.asarray(np.eye(len(UNKNOWNS))[ROW["offset"]])
