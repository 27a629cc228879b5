"""Histories of the pieces of a cook: what its probes measured, and what the members say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.ledger import Ledger
from pitreckon.ledger.events import CHECKS, OFF_ACTS
from pitreckon.reckon.hands import THERMOMETER
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Track
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.summary import ItemRun, stage_ends
from pitreckon.safety.history.bounds import LONGEST_GAP_S
from pitreckon.safety.history.checks import allowed_by, as_learned
from pitreckon.safety.history.history import MEASURED, RECKONED, History, Phase, Series
from pitreckon.safety.history.middle import SOON_S, Heard, Middle, middle_of
from pitreckon.safety.history.probe import COLDEST_C, CONTACT_K, TOO_HOT_C
from pitreckon.section.laws import KILL_REF_C, KILL_Z_K
from pitreckon.section.trace import Trace

NINE_IN_TEN: Final = 1.645
"""Standard errors on each side that hold a normal number nine times in ten."""
FASTER, LEAST_FASTEST_K_PER_S = 1.5, 0.004
"""How much faster than in any member the middle may warm before a reading is no longer believed."""


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

    run: a track with its members, as ``ItemRun.tracks`` has them; of an item its main one
    ledger: what has happened, rejected entries included
    """
    of_track = run.main if isinstance(run, ItemRun) else run
    middle = None if of_track.track.stands_for > 1 else _middle(of_track, ledger)
    served_s, notes = _served(of_track.track, middle)
    reckoned = _reckoned(of_track, served_s, middle)
    if middle is None:
        return Histories(reckoned, None, notes)
    return Histories(reckoned, _measured(of_track.track, middle, served_s), (*middle.notes, *notes))


def _served(track: Track, middle: Middle | None) -> tuple[float, tuple[tuple[float, str], ...]]:
    """When it is eaten [s since put-on]: as the ledger says, else as planned; inf: nobody said.

    Where nobody wrote it, and a probe is still in it and falls after the planned hour, it has not been eaten yet.
    """
    for act in track.acts:
        if act.act == "served":
            return act.at_utc.timestamp() - track.zero, ()
    if track.cook.serve_utc is None:
        return np.inf, ()
    planned_s = track.cook.serve_utc.timestamp() - track.zero
    stands_s = _falls_after(middle, planned_s)
    if stands_s is None:
        return planned_s, ()
    words = "nobody wrote that it was served, and its readings go on falling after the planned hour: it stood till then"
    return stands_s[1], ((planned_s, words),)


def _falls_after(middle: Middle | None, planned_s: float) -> tuple[float, float] | None:
    """From when and until when it stood about after the planned hour [s]; None: no reading says so."""
    if middle is None or not np.isfinite(planned_s):
        return None
    late = (middle.series.marks == MEASURED) & (middle.series.at_s > planned_s)
    if not late.any():
        return None
    times, temps = middle.series.at_s[late], middle.series.temp_c[late, 0]
    if temps[-1] > temps.max() - CONTACT_K:
        return None
    return float(times[int(np.argmax(temps))]), float(times[-1])


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


def _reckoned(run: Posterior, served_s: float, middle: Middle | None) -> History:
    trace, track = run.trace, run.track
    before = run.weights if run.evidence.before is None else run.evidence.before
    good = (run.weights > 0.0) | (before > 0.0)
    if not good.any():
        good = np.ones_like(good)

    def of(weights: Floats) -> Floats:
        total = float(weights[good].sum())
        return weights[good] / total if total > 0.0 else np.full(int(good.sum()), 1.0 / good.sum())

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
        over=bool(served_s <= trace.time_s[-1]),
        weights=of(run.weights),
        zero_utc=track.put_on,
        before=of(before),
        blind_s=_blind(track, middle),
        start_seen=middle is not None and middle.start_seen,
        began_c=-np.inf if middle is None else middle.began_c,
        error_k=(learned_k := abs(_learned_off(track)[0])),  # the members went along with what was taken off
        learned_k=learned_k,
    )


def _blind(track: Track, middle: Middle | None) -> float:
    """From when on nothing was heard of a piece or its pit that had been heard of, while it was on the pit [s]."""
    streams = [*track.ledger.readings("pit air", track.pit), *track.ledger.readings("probe", track.item.label)]
    heard = [r.at_utc.timestamp() - track.zero for r in streams]
    if not any(0.0 <= at <= track.now_s for at in heard):
        return np.inf
    heard += [] if middle is None else [float(at) for at in middle.used_s]
    last_s = max(at for at in heard if at <= track.now_s) + LONGEST_GAP_S
    return last_s if last_s < min(_off_pit(track), track.now_s) else np.inf


def _off_pit(track: Track) -> float:
    """When it came off the pit by the ledger [s]; inf: it has not."""
    return min((a.at_utc.timestamp() - track.zero for a in track.acts if a.act in OFF_ACTS), default=np.inf)


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


def _measured(track: Track, middle: Middle, served_s: float) -> History:
    now_s = track.now_s
    phases = _phases(track, _ends_known(track)[:, None], served_s)
    phases = tuple(phase.until(now_s) for phase in phases if phase.begin_s[0] <= now_s)
    planned_s = np.inf if track.cook.serve_utc is None else track.cook.serve_utc.timestamp() - track.zero
    stood = _falls_after(middle, planned_s)
    if stood is not None and not any(phase.kind in {"hold", "out"} for phase in phases):
        begin_s = max(stood[0], max((float(p.begin_s[0]) for p in phases), default=0.0))
        phases = (*[Phase(p.kind, p.begin_s, np.minimum(p.end_s, begin_s)) for p in phases], Phase.of("out", *stood))
    return History(
        *(MEASURED, middle.series, None, None, phases, 0.0, max(min(now_s, served_s), 0.0)),
        over=bool(served_s <= now_s),
        error_k=middle.error_k,
        learned_k=middle.learned_k,
        zero_utc=track.put_on,
        start_seen=middle.start_seen,
        warms_k_per_s=middle.warms_k_per_s,
    )


def _middle(run: Posterior, ledger: Ledger) -> Middle | None:
    """What the instruments in and at this piece say."""
    track = run.track
    zero, label = track.zero, track.item.label
    mine: set[int | None] = {track.piece} if track.piece is not None and track.item.pieces > 1 else {None, 1}
    lowest: dict[float, tuple[float, bool]] = {}
    for reading in ledger.all_readings:  # of several at one instant the lowest
        at_s = reading.at_utc.timestamp() - zero
        if reading.channel != "probe" or reading.on != label or reading.piece not in mine or at_s < 0.0:
            continue
        value, bad = float(reading.value_c), reading.rejected is not None
        was = lowest.get(at_s)
        if was is None or (was[1] and not bad) or (was[1] == bad and value < was[0]):
            lowest[at_s] = (value, bad)
    spots = tuple(
        (look.at_utc.timestamp() - zero, look.value)
        for look in ledger.looks(label)
        if look.kind == "spot temperature" and look.piece in mine and COLDEST_C <= look.value <= TOO_HOT_C
    )
    times = sorted(lowest)
    checks = [look for look in ledger.looks() if look.kind in CHECKS]
    altitude_m = track.cook.altitude_m
    heard = Heard(
        np.array(times, dtype=np.float64),
        np.array([lowest[t][0] for t in times], dtype=np.float64),
        [lowest[t][1] for t in times],
        spots,
        _air(track),
        _off_pit(track),
        track.item.start_c if track.item.start_said else None,
        track.item.start_c,
        allowed_by(
            [k.value for k in checks if k.kind == "probe check" and k.on == label and k.piece in mine], altitude_m
        ),
        as_learned(
            allowed_by([k.value for k in checks if k.kind == "spot check"], altitude_m, "thermometer in hand"),
            *_learned_off(track, mine),
        ),
    )
    return middle_of(heard, fastest(run.trace, run.weights), fastest(run.trace, run.weights, SOON_S))


def _learned_off(track: Track, pieces: set[int | None] | None = None) -> tuple[float, float]:
    """By how much the house has learned that a thermometer is off that was put into this piece, and give or take [K].

    Of several that which is furthest off; pieces: of which spot temperatures are looked at, None: of all
    """
    hands = track.observations.hands
    known = [
        hands[look.by, THERMOMETER]
        for look in track.ledger.looks(track.item.label)
        if look.kind == THERMOMETER and (pieces is None or look.piece in pieces) and (look.by, THERMOMETER) in hands
    ]
    return max(((abs(each.mean), each.mean, NINE_IN_TEN * each.sd) for each in known), default=(0.0, 0.0, 0.0))[1:]


def _air(track: Track) -> tuple[Floats, Floats]:
    """The pit's air by its readings, and where there are none what the pit is set to: times [s], [degC]."""
    air = [(r.at_utc.timestamp() - track.zero, r.value_c) for r in track.ledger.readings("pit air", track.pit)]
    if air:
        return np.array([t for t, _ in air]), np.array([v for _, v in air])
    set_c = track.cook.pit(track.pit).set_c
    sets = [(a.at_utc.timestamp() - track.zero, a.air_c) for a in track.ledger.acts(track.pit) if a.act == "set pit"]
    times, temps = [0.0], [set_c]
    for at_s, air_c in sorted(pair for pair in sets if pair[1] is not None):
        times += [at_s, at_s + 1e-3]
        temps += [temps[-1], float(air_c or set_c)]
    return np.array(times), np.array(temps)


def fastest(trace: Trace, weights: Floats, until_s: float = np.inf) -> float:
    """How fast the middle of this piece can warm [K/s]: as fast as in any member, and half as fast again.

    until_s: looks no further than that
    """
    rows = max(int(np.searchsorted(trace.time_s, until_s, side="right")), 2)
    core, times = trace["core_c"][:rows, weights > 0.0], trace.time_s[:rows]
    if core.shape[0] < 2 or not core.size:
        return LEAST_FASTEST_K_PER_S
    slopes = np.abs(np.diff(core, axis=0)) / np.diff(times)[:, None]
    known = slopes[np.isfinite(slopes)]
    return max(FASTER * float(known.max(initial=0.0)), LEAST_FASTEST_K_PER_S)


def _ends_known(track: Track) -> Floats:
    """End of each stage that the ledger shows to be over [s since put-on]; nan: it does not."""
    return np.array(
        [np.nan if stage.ended_utc is None else _since(track, stage.ended_utc) for stage in track.stages], dtype=float
    )


def _since(track: Track, at_utc: datetime) -> float:
    return at_utc.timestamp() - track.zero
