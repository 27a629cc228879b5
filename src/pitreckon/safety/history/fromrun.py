"""Histories of the pieces of a cook: what its probes measured, and what the members say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from pitreckon.ledger import Ledger, Reading
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Track
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.summary import ItemRun, stage_ends
from pitreckon.safety.history.history import MEASURED, RECKONED, REJECTED, History, Phase, Series
from pitreckon.safety.history.probe import COLDEST_C, CONTACT_K, TOO_HOT_C, sift_probe
from pitreckon.section.laws import KILL_REF_C, KILL_Z_K
from pitreckon.section.trace import Trace

Floats = NDArray[np.float64]

PROBE_ERROR_K = 1.0
"""What a cook's thermometer may be off by, counted against the piece as FSIS-GD-2021-14, p. 20 asks: common practice,
no source."""
FASTER, LEAST_FASTEST_K_PER_S = 1.5, 0.004
"""How much faster than in any member the middle may warm before a reading is no longer believed."""
TOLD = RECKONED
"""A start temperature that stands in the plan is no reading."""


@dataclass(frozen=True)
class Histories:
    """Of one piece: reckoned, measured (None: nobody did), and what was found out about the readings."""

    reckoned: History
    measured: History | None
    notes: tuple[tuple[float, str], ...]

    @property
    def all(self) -> tuple[History, ...]:
        """Those that there are."""
        return (self.reckoned,) if self.measured is None else (self.measured, self.reckoned)

    def until(self, at_s: float) -> Histories:
        """As they stood at a time [s]."""
        measured = None if self.measured is None else self.measured.until(at_s)
        return Histories(self.reckoned.until(at_s), measured, self.notes)


def history_of(run: ItemRun | Posterior, ledger: Ledger) -> Histories:
    """The histories of a piece, from put-on to as far as its members were followed; seconds are since put-on.

    Parameters
    ----------
    run: a track with its members, as ``ItemRun.tracks`` has them; of an item its main one
    ledger: what has happened, rejected entries included
    """
    of_track = run.main if isinstance(run, ItemRun) else run
    served_s = _served(of_track.track)
    reckoned = _reckoned(of_track, served_s)
    measured, notes = _measured(of_track, ledger, served_s)
    return Histories(reckoned, measured, notes)


def _served(track: Track) -> float:
    """When it is eaten [s since put-on]: as the ledger says, else as planned; inf: nobody said."""
    for act in track.acts:
        if act.act == "served":
            return act.at_utc.timestamp() - track.zero
    serve = track.cook.serve_utc
    return np.inf if serve is None else serve.timestamp() - track.zero


def coldest_of(trace: Trace) -> Floats:
    """The coldest cell of the meat [degC], (records, members): as far below the core as its lethality lags.

    The trace has the least-heated cell's lethality and not its temperature. Where that cell has had less than the core,
    it was colder by z times the logarithm of the ratio; where not, the core is the coldest there is.
    """
    core = trace["core_c"]
    rate = 10.0 ** ((np.where(np.isfinite(core), core, -40.0) - KILL_REF_C) / KILL_Z_K)
    step = 0.5 * (rate[1:] + rate[:-1]) * np.diff(trace.time_s)[:, None]
    total = np.vstack((np.zeros((1, core.shape[1])), np.cumsum(step, axis=0)))
    with np.errstate(divide="ignore", invalid="ignore"):
        lag = KILL_Z_K * (np.log10(total) - trace["kill_log10"])
    return np.asarray(core - np.where(np.isfinite(lag) & (trace["kill_log10"] > -6.0), np.maximum(lag, 0.0), 0.0))


def _reckoned(run: Posterior, served_s: float) -> History:
    trace, track = run.trace, run.track
    good = run.weights > 0.0
    if not good.any():
        good = np.ones_like(good)
    weights = run.weights[good] if run.weights[good].sum() > 0.0 else np.full(int(good.sum()), 1.0 / good.sum())

    def series(values: Floats) -> Series:
        return Series.reckoned(trace.time_s, values if good.all() else values[:, good])

    ends = stage_ends(trace, track.stages, track.put_on)[:, good]
    return History(
        RECKONED,
        series(coldest_of(trace)),
        series(trace["place2_c"]),
        series(trace["surface_c"]),
        _phases(track, ends, served_s),
        0.0,
        float(min(trace.time_s[-1], served_s)),
        over=np.isfinite(served_s),
        weights=weights / weights.sum(),
        zero_utc=track.put_on,
    )


def _phases(track: Track, ends: Floats, served_s: float) -> tuple[Phase, ...]:
    """On the pit, resting, held, and standing about until it is eaten; ``ends`` [stage, member], nan: not reached."""
    ends = np.where(np.isnan(ends), np.inf, ends)[: len(track.stages)]  # without the standing about at the end
    begins = np.vstack((np.zeros((1, ends.shape[1])), ends[:-1]))
    phases: list[Phase] = []
    for stage, begin, end in zip(track.stages, begins, ends, strict=True):
        kind = "cook" if stage.plan.kind in PIT_KINDS else stage.plan.kind
        if not np.isfinite(begin).any():
            break
        last = np.minimum(end, served_s)
        if phases and kind == "cook" and phases[-1].kind == "cook":
            phases[-1] = Phase("cook", phases[-1].begin_s, last)
        else:
            phases.append(Phase(kind, np.minimum(begin, served_s), last))
    if np.isfinite(ends[-1]).any() and (ends[-1] < served_s).any():
        phases.append(Phase("out", np.minimum(ends[-1], served_s), np.full(ends.shape[1], served_s)))
    return tuple(phases)


def _measured(run: Posterior, ledger: Ledger, served_s: float) -> tuple[History | None, tuple[tuple[float, str], ...]]:
    track = run.track
    zero, label = track.zero, track.item.label
    if track.stands_for > 1:  # one tip cannot speak for several pieces
        return None, ()
    mine = {track.piece} if track.piece is not None and track.item.pieces > 1 else {None, 1}
    readings = [
        (r.at_utc.timestamp() - zero, r)
        for r in ledger.all_readings
        if r.channel == "probe" and r.on == label and r.piece in mine
    ]
    readings = [pair for pair in readings if pair[0] >= 0.0]
    looks = [
        (k.at_utc.timestamp() - zero, k.value)
        for k in ledger.looks(label)
        if k.kind == "spot temperature" and k.piece in mine and COLDEST_C <= k.value <= TOO_HOT_C
    ]
    if not readings and not looks:
        return None, ()
    notes: tuple[tuple[float, str], ...] = ()
    points: dict[float, tuple[float, str, bool]] = {0.0: (track.item.start_c, TOLD, False)}
    if readings:
        points, notes = _probed(run, readings, points)
    probe = [(at, value) for at, (value, mark, _) in points.items() if mark == MEASURED]
    for at_s, value_c in looks:
        near = [value for at, value in probe if abs(at - at_s) <= 600.0]
        higher = bool(near) and value_c > max(near) + CONTACT_K  # the lowest of several counts
        if at_s >= 0.0 and not higher:
            points[at_s] = (min([value_c, *[v for a, v in probe if a == at_s]]), MEASURED, False)
    times = sorted(points)
    core = Series.of(
        times,
        [points[t][0] for t in times],
        [points[t][1] for t in times],
        [points[t][2] for t in times],
    )
    now_s = track.now_s
    phases = _phases(track, _ends_known(track)[:, None], served_s)
    phases = tuple(phase.until(now_s) for phase in phases if phase.begin_s[0] <= now_s)
    over = served_s <= now_s
    end_s = max(min(now_s, served_s), 0.0)
    history = History(
        *(MEASURED, core, None, None, phases, 0.0, end_s),
        over=over,
        error_k=PROBE_ERROR_K,
        zero_utc=track.put_on,
    )
    return history, notes


def _probed(
    run: Posterior, readings: list[tuple[float, Reading]], points: dict[float, tuple[float, str, bool]]
) -> tuple[dict[float, tuple[float, str, bool]], tuple[tuple[float, str], ...]]:
    """The probe's readings with their marks; of several at one instant the lowest."""
    track = run.track
    lowest: dict[float, tuple[float, bool]] = {}
    for at_s, reading in readings:
        value = float(reading.value_c)
        bad = reading.rejected is not None
        was = lowest.get(at_s)
        if was is None or (was[1] and not bad) or (was[1] == bad and value < was[0]):
            lowest[at_s] = (value, bad)
    times = sorted(lowest)
    air = [(r.at_utc.timestamp() - track.zero, r.value_c) for r in track.ledger.readings("pit air", track.pit)]
    sifted = sift_probe(
        times,
        [lowest[t][0] for t in times],
        fastest_k_per_s=fastest(run.trace, run.weights),
        air=([t for t, _ in air], [v for _, v in air]) if air else None,
        rejected=[lowest[t][1] for t in times],
    )
    out = dict(points)
    for i, t in enumerate(times):
        out[t] = (float(sifted.series.temp_c[i, 0]), str(sifted.series.marks[i]), False)
        if t == 0.0 and sifted.series.marks[i] in {REJECTED, "missing"}:
            out[t] = points[0.0]
    return out, sifted.notes


def fastest(trace: Trace, weights: Floats) -> float:
    """How fast the middle of this piece can warm [K/s]: as fast as in any member, and half as fast again."""
    core = trace["core_c"][:, weights > 0.0]
    if core.shape[0] < 2 or not core.size:
        return LEAST_FASTEST_K_PER_S
    slopes = np.abs(np.diff(core, axis=0)) / np.diff(trace.time_s)[:, None]
    known = slopes[np.isfinite(slopes)]
    return max(FASTER * float(known.max(initial=0.0)), LEAST_FASTEST_K_PER_S)


def _ends_known(track: Track) -> Floats:
    """End of each stage that the ledger shows to be over [s since put-on]; nan: it does not."""
    return np.array(
        [np.nan if stage.ended_utc is None else _since(track, stage.ended_utc) for stage in track.stages], dtype=float
    )


def _since(track: Track, at_utc: datetime) -> float:
    return at_utc.timestamp() - track.zero
