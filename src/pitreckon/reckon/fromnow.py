"""Members that go on from now, as one thing or another is done: all of a piece's options in one run.

Each member that was drawn is run once for an option, with as much weight as it was drawn times, and with the air that
it has ahead anyway: so two answers differ by what was done and by nothing else, and leaving it as it is is no run at
all, but what the members do already.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats, Ints
from pitreckon.cook import Cook
from pitreckon.ledger import Act, Ledger
from pitreckon.reckon import pitair
from pitreckon.reckon.around import Around
from pitreckon.reckon.draws import PitDraw, draw_pit, named
from pitreckon.reckon.evidence import Evidence
from pitreckon.reckon.felt import as_felt
from pitreckon.reckon.minutes import Air
from pitreckon.reckon.pace import pace_like
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import RECORD_S, Ensemble, Track, around_of, course_under
from pitreckon.reckon.quantiles import systematic_resample
from pitreckon.reckon.stages import last_on_pit
from pitreckon.reckon.update import ess
from pitreckon.section.course import COLUMN, Course, Until
from pitreckon.section.records import Packed
from pitreckon.section.simulate import Job
from pitreckon.section.snapshot import Snapshot
from pitreckon.section.trace import Trace

STANDS_S: Final = 600.0
"""What is ready is followed for so long whenever it is served: it may be found done a little after it was called so."""


@dataclass(frozen=True)
class Drawn:
    """Members of a piece, drawn by weight.

    old: the piece as it was reckoned; which: numbers of its members, each once; weights: how often each was drawn, of 1
    """

    old: Posterior
    which: Ints
    weights: Floats

    @classmethod
    def of(cls, old: Posterior, many: int) -> Drawn:
        """So many draws."""
        which, times = np.unique(systematic_resample(old.weights, many), return_counts=True)
        return cls(old, which, np.asarray(times / many))

    def as_it_is(self) -> Posterior:
        """What they do if nothing is done."""
        old = self.old.ensemble
        own = replace(old, z=self._z, draw=self._around.draw, air_c=self._air_c)
        return self._lived(own, replace(self.old.as_run, snapshot=None).take(self.which))

    def under(self, option: Course, track: Track, air_c: Air, trace: Trace) -> Posterior:
        """What they do on another course: of this track, in this air, as this trace has it."""
        own = Ensemble(track, self._z, self._around.draw, air_c, replace(self.old.ensemble.job, course=option))
        return self._lived(own, trace)

    def _lived(self, each: Ensemble, trace: Trace) -> Posterior:
        old, stages = self.old, each.track.stages
        alike = Evidence(self.weights, ess(self.weights), old.evidence.tempering_exponent, ess(self.weights), ())
        pace = None if old.pace is None else pace_like(old.pace.take(self.which), trace, stages)
        return Posterior(each, trace if pace is None else pace.applied(trace, stages), alike, old.others, pace)

    @property
    def on_pit_until_s(self) -> Floats:
        """When each comes off the pit if nothing is done [s since put-on]; nan: it never does."""
        ends: Floats = self.old.as_run.stage_end_s[last_on_pit(self.old.track.stages)]
        return ends[self.which]

    @cached_property
    def _z(self) -> Floats:
        return np.ascontiguousarray(self.old.ensemble.z[:, self.which])

    @cached_property
    def _air_c(self) -> Air:
        return self.old.ensemble.air_c.take(self.which)

    @cached_property
    def _pit(self) -> PitDraw:
        track = self.old.track
        levels, kind = track.levels, catalog.pits()[track.cook.pit(track.pit).kind]
        return draw_pit(kind, named(levels.mix @ self._z), levels)

    @cached_property
    def _around(self) -> Around:
        return around_of(self.old.track, self.old.ensemble.draw.take(self.which), self._pit)

    # --- options

    def planned(self, cook: Cook, ledger: Ledger, acts: Sequence[Act]) -> tuple[Track, Course, Air]:
        """The piece with a plan and acts of now: its track, its course, and the air that its members have then."""
        old, label = self.old.track, self.old.track.item.label
        own = (*old.acts, *(act for act in acts if act.on == label))
        item = cook.item(label)
        stages = as_felt(old.cut, course_under(old.cut, item, cook, own), old.observations.looks, old.zero)
        track = replace(old, cook=cook, item=item, stages=stages, acts=own, ledger=ledger)
        course, serve = self._around.course(stages, track.zero, track.now_s), cook.served_at(item)
        if serve is not None:
            course = _followed_to(course, serve.timestamp() - track.zero + RECORD_S, STANDS_S)
        return track, course, self._turned(track, acts)

    def _turned(self, track: Track, acts: Sequence[Act]) -> Air:
        """The air of the members where their pit is turned up or down now; it gets there as one gets back to its set
        temperature."""
        turn = next((act for act in acts if act.on == track.pit and act.act == "set pit"), None)
        if turn is None or turn.air_c is None:
            return self._air_c
        before = pitair.set_last(track.cook.pit(track.pit).set_c, self.old.track.ledger.acts(track.pit))
        after_s = np.maximum(np.arange(self._air_c.shape[0]) * pitair.KNOT_S - track.now_s, 0.0)
        return self._air_c.plus((turn.air_c - before) * -np.expm1(-after_s / pitair.RETURN_S))


@dataclass(frozen=True)
class AllOf:
    """All options of one piece as one job of the kernel, so that its lanes are full to the end.

    planned: of each option the track, its course and its air, as ``Drawn.planned`` gives them
    """

    drawn: Drawn
    planned: Sequence[tuple[Track, Course, Air]]

    @cached_property
    def _order(self) -> Ints:
        """Places of the members in the run: each thread begins with those that are likely to take longest."""
        done_s = np.nan_to_num(self.drawn.on_pit_until_s, nan=self.drawn.old.track.horizon_s)
        longest = np.concatenate([_over_by_s(course, track.now_s, done_s) for track, course, _ in self.planned])
        order, threads = np.argsort(-longest, kind="stable"), os.cpu_count() or 1
        return np.concatenate([order[i::threads] for i in range(threads)]).astype(np.int64)

    @property
    def job(self) -> Job:
        """Every member of every option, from where it stands now."""
        old, snapshot = self.drawn.old.ensemble.job, self.drawn.old.trace.snapshot
        member = np.tile(self.drawn.which, len(self.planned))[self._order]
        stages = max(course.table.shape[0] for _, course, _ in self.planned)
        tables = [_with_stages(course.table, stages) for _, course, _ in self.planned]
        air = np.concatenate([air.on_knots for _, _, air in self.planned], axis=1)
        return replace(
            old,
            members=old.members.take(member),
            drive=replace(old.drive, air_c=np.ascontiguousarray(air[:, self._order])),
            course=Course(np.ascontiguousarray(np.concatenate(tables, axis=2)[:, :, self._order])),
            horizon_s=max(track.horizon_s for track, _, _ in self.planned),
            mass=None if old.mass is None else old.mass[member],
            snapshot_s=None,
            start=None if snapshot is None else _without_future(snapshot, old).take(member),
        )

    def lived(self, trace: Trace) -> Iterator[Posterior]:
        """What became of each option's members. trace: of the job"""
        place = np.empty_like(self._order)
        place[self._order] = np.arange(place.size)
        many = self.drawn.which.size
        for i, (track, course, air_c) in enumerate(self.planned):
            own = trace.take(place[i * many : (i + 1) * many])
            own = replace(own, stage_end_s=own.stage_end_s[: course.table.shape[0]])
            yield self.drawn.under(course, track, air_c, own)


def _over_by_s(course: Course, now_s: float, done_s: Floats) -> Floats:
    """About when each member's course will be over [s since put-on]; ``done_s``: when it comes off the pit as it is."""
    at = np.full(done_s.size, max(now_s, 0.0))
    for stage in course.table:
        until, value, forced, longest = (stage[COLUMN[name]] for name in ("until", "value", "forced_s", "longest_s"))
        by_meat = np.fmax(at, done_s)
        ends = np.select(
            [until == Until.MINUTES, until == Until.CLOCK, until == Until.NEVER],
            [at + value, np.fmax(at, value), at + longest],
            by_meat,
        )
        at = np.where(np.isfinite(forced), np.fmax(at, forced), ends)
    return np.asarray(at)


def _with_stages(table: Floats, stages: int) -> Floats:
    """A course's table with stages behind its last one that are over as they begin."""
    over = np.zeros((stages - table.shape[0], *table.shape[1:]))
    over[:, COLUMN["lid_recovery_s"]] = table[-1:, COLUMN["lid_recovery_s"]]
    return np.concatenate((table, over))


def _without_future(kept: Snapshot, job: Job) -> Snapshot:
    """What was kept with the records up to then, which alone a run that goes on takes over."""
    trace = kept.trace
    if not isinstance(trace.recorded, Packed):
        return kept
    rows = int(np.searchsorted(trace.time_s, kept.knot * job.drive.knot_s, side="right")) + 1
    past = Packed(rows, tuple(channel[:rows] for channel in trace.recorded.channels))
    return replace(kept, trace=replace(trace, time_s=trace.time_s[:rows], recorded=past))


def _followed_to(course: Course, serve_s: float, ready_for_s: float) -> Course:
    """A course that is over once the piece is served, and stands no less than so long after it was ready."""
    least, rest = course.table[-1].copy(), course.table[-1].copy()
    least[COLUMN["until"]], least[COLUMN["value"]] = Until.MINUTES, ready_for_s
    rest[COLUMN["until"]], rest[COLUMN["value"]] = Until.CLOCK, serve_s
    rest[COLUMN["longest_s"]] -= ready_for_s
    return Course(np.concatenate((course.table[:-1], [least, rest])), (*course.names, course.names[-1]))
