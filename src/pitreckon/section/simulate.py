"""One call from a section, its members, the pit and a course to what happens: ``simulate``; many: ``simulate_all``."""

# mypy: disable-error-code="no-untyped-call"

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from threading import Lock
from typing import Literal

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.section.constants import constant
from pitreckon.section.course import Course, Drive
from pitreckon.section.members import Members
from pitreckon.section.records import Packed, room
from pitreckon.section.shapes import Section
from pitreckon.section.snapshot import DONE, EXTRAS, Snapshot, room_for
from pitreckon.section.tally import LANES
from pitreckon.section.trace import CHANNEL, CHANNELS, MARKS, Trace

Engine = Callable[..., None]
"""A kernel: the signature of the compiled one's ``run``."""
Precision = Literal["single", "double"]

NO_SNAPSHOT = -1


def raw_mass(section: Section, members: Members) -> Floats:
    """Mass of the nominal section before the cook, bone included [kg], in the section's own measure."""
    meat = float(np.sum(section.volume * (1.0 - section.bone)))
    bone = float(np.sum(section.volume * section.bone))
    wet: Floats = members["dry_density"] * (1.0 + members["water"])
    return meat * wet + bone * constant("bone_density_kg_m3")


@dataclass(frozen=True)
class Job:
    """One ensemble to run: the arguments of ``simulate``."""

    section: Section
    members: Members
    drive: Drive
    course: Course
    horizon_s: float
    mass: Floats | None = None
    record_every: int = 5
    substeps: int = 1
    snapshot_s: float | None = None
    start: Snapshot | None = None


def simulate(
    section: Section,
    members: Members,
    drive: Drive,
    course: Course,
    *,
    horizon_s: float,
    mass: Floats | None = None,
    record_every: int = 5,
    substeps: int = 1,
    snapshot_s: float | None = None,
    start: Snapshot | None = None,
    engine: Engine | None = None,
    precision: Precision = "single",
    threads: int | None = None,
) -> Trace:
    """Run every member of the ensemble through the course.

    section: the piece as cells
    members: N parameter sets
    drive: pit air at the grate, (knots, N) [degC]
    course: stages, (stages, fields, N)
    horizon_s: stop here at the latest [s since put-on]
    mass: raw mass of each member's nominal section [kg], bone and fat included; shape (N,)
    record_every: knots between two records
    substeps: steps a knot at least (more is finer in time)
    snapshot_s: also keep the members as they stand at the knot nearest to this time [s since put-on]
    start: go on from members that were kept; air and course before then are not looked at, records before
        then are those of the earlier run
    engine: a kernel to run instead of the compiled one, always in double (the tests have a twin to read)
    precision: of the compiled kernel
    threads: worker threads of the compiled kernel; all cores by default

    A member that fails alone is named in ``Trace.failed``; the others are unharmed. A member's numbers are the same to
    the bit whoever runs beside it, in whatever order, on however many threads.

    Raises ValueError: ``start`` is of another section, ensemble size, knot or precision than this run, or of a stage
        that the course does not have; ``snapshot_s`` is past the horizon
    """
    job = Job(section, members, drive, course, horizon_s, mass, record_every, substeps, snapshot_s, start)
    return simulate_all([job], engine=engine, precision=precision, threads=threads)[0]


def simulate_all(
    jobs: Iterable[Job],
    *,
    engine: Engine | None = None,
    precision: Precision = "single",
    threads: int | None = None,
) -> list[Trace]:
    """Several ensembles at once, of any sections; the threads share all of them. See ``simulate``.

    jobs: where they are made one by one, the first are run while the next are made
    """
    single = engine is None and precision == "single"
    if engine is not None:
        runs = [_Run.of(job, single) for job in jobs]
        for run in runs:
            run.work(engine, 0, run.job.members.size)
        return [run.trace() for run in runs]
    from pitreckon.section.compiled import kernel as compiled  # noqa: PLC0415  (only where it is asked for)

    workers = max(1, threads or os.cpu_count() or 1)
    runs, pieces = [], []
    pool = ThreadPoolExecutor(workers)
    try:
        for job in jobs:
            runs.append(run := _Run.of(job, single))
            shares = _shares(job.members.size, workers)
            run.left[0] = len(shares)
            if workers == 1:
                run.share(compiled.run, *shares[0])
            else:
                pieces += [pool.submit(run.share, compiled.run, first, last) for first, last in shares]
        for piece in pieces:
            piece.result()
    finally:  # who is interrupted here does not wait for pieces that nobody wants any more
        pool.shutdown(wait=False, cancel_futures=True)
    return [run.trace() for run in runs]


def _shares(members: int, workers: int) -> list[tuple[int, int]]:
    """Cuts of an ensemble for the threads, none smaller than the kernel's lanes where there are enough members."""
    many = max(1, min(members // LANES, workers))
    return list(pairwise(round(members * i / many) for i in range(many + 1)))


@dataclass(frozen=True)
class _Run:
    """A job with the arrays that its members write to; left: shares of its members that are still to be run."""

    job: Job
    single: bool
    mass: Floats
    steps: int
    snapshot_at: int
    snapshot: Floats
    results: dict[str, Floats]
    recorded: int
    left: list[int]
    lock: Lock
    packed: list[Packed]

    @classmethod
    def of(cls, job: Job, single: bool) -> _Run:
        n, knot_s = job.members.size, job.drive.knot_s
        steps = round(job.horizon_s / knot_s)
        shapes = {
            "marks": (len(MARKS),),
            "ends": (job.course.table.shape[0],),
            "balance": (2,),
            "failed": (),
        }
        results: dict[str, Floats] = {k: np.full((*s, n), np.nan) for k, s in shapes.items()}
        results["out"] = room((steps // job.record_every + 1, len(CHANNELS), n))
        recorded = 0 if job.start is None else _go_on_from(job, job.start, single, results)
        results["effort"] = np.zeros((2, n))
        mass = raw_mass(job.section, job.members) if job.mass is None else job.mass
        snapshot_at = NO_SNAPSHOT if job.snapshot_s is None else round(job.snapshot_s / knot_s)
        if snapshot_at > steps:
            raise ValueError(f"members cannot be kept at {job.snapshot_s:g} s: the run ends at {steps * knot_s:g} s")
        snapshot = room_for(job.section, n if snapshot_at != NO_SNAPSHOT else 0)
        return cls(job, single, mass, steps, snapshot_at, snapshot, results, recorded, [0], Lock(), [])

    def work(self, engine: Engine, first: int, last: int) -> None:
        """Run some of the members; every record of a member has its stage, so what is blank is told by that."""
        job = self.job
        self.results["out"][self.recorded :, CHANNEL["stage"], first:last] = np.nan
        engine(
            first,
            last,
            section=job.section,
            values=job.members.values,
            table=job.course.table,
            air=job.drive.air_c,
            raw_mass=self.mass,
            knot_s=job.drive.knot_s,
            known_s=job.drive.known_until_s,
            steps=self.steps,
            record_every=job.record_every,
            substeps=job.substeps,
            snapshot_at=self.snapshot_at,
            snapshot=self.snapshot,
            start=job.start.columns if job.start is not None else np.zeros((0, 0)),
            first_knot=job.start.knot if job.start is not None else 0,
            results=self.results,
            single=self.single,
        )

    def share(self, engine: Engine, first: int, last: int) -> None:
        """``work``; whoever comes to the end of the last share puts the records away, while others run."""
        self.work(engine, first, last)
        with self.lock:
            self.left[0] -= 1
            if self.left[0]:
                return
        if self.single:
            out = self.results.pop("out")
            self.packed.append(Packed.of(out, np.isnan(out[:, CHANNEL["stage"]])))

    def _recorded(self) -> Floats | Packed:
        """All records; no number where nothing was recorded."""
        if self.packed:
            return self.packed[0]
        out = self.results["out"]
        nothing = np.isnan(out[:, CHANNEL["stage"]])
        for channel in range(out.shape[1]):
            out[:, channel][nothing] = np.nan
        return out

    def trace(self) -> Trace:
        """What came of it."""
        got = self.results
        records = self.steps // self.job.record_every + 1
        time_s = np.arange(records, dtype=np.float64) * (self.job.record_every * self.job.drive.knot_s)
        trace = Trace(time_s, self._recorded(), got["marks"], got["ends"], got["balance"], got["failed"], got["effort"])
        if self.snapshot_at == NO_SNAPSHOT:
            return trace
        return replace(trace, snapshot=Snapshot(self.snapshot_at, self.snapshot, trace, self.single))


def _go_on_from(job: Job, start: Snapshot, single: bool, results: dict[str, Floats]) -> int:
    """Put what was recorded before ``start`` into the results; how many records that are."""
    knot_s, earlier = job.drive.knot_s, start.trace
    n = job.members.size
    like = room_for(job.section, n)
    if start.columns.shape != like.shape or start.single != single:
        raise ValueError(
            f"kept members have shape {start.columns.shape} in {'single' if start.single else 'double'} precision; "
            f"this run needs {like.shape} in {'single' if single else 'double'}"
        )
    every = job.record_every * knot_s
    if earlier.time_s.size > 1 and abs(float(earlier.time_s[1]) - every) > 1e-6 * every:
        raise ValueError("a run that goes on has to record as often as the one it goes on from")
    stage = int(start.columns[-EXTRAS].max(initial=0.0))
    if stage >= job.course.table.shape[0]:
        raise ValueError(f"a member was kept in stage {stage + 1}; this course has only {job.course.table.shape[0]}")
    then_s = start.knot * knot_s
    before = int(np.searchsorted(earlier.time_s, then_s - 0.5 * knot_s))
    count = min(before, int(results["out"].shape[0]))
    earlier.copy_to(results["out"][:count])
    results["marks"][:] = np.where(earlier.marks_s <= then_s, earlier.marks_s, np.nan)
    ends = np.where(earlier.stage_end_s < then_s, earlier.stage_end_s, np.nan)
    rows = min(ends.shape[0], results["ends"].shape[0])
    results["ends"][:rows] = ends[:rows]
    done = start.columns[-EXTRAS] == DONE
    results["balance"][:, done] = earlier.balance[:, done]
    results["failed"][done] = earlier.failed_s[done]
    return count
