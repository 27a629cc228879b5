"""A run in pieces, from one kept ensemble to the next, so that every cell is seen at every time that was asked for.

The kernel records a few places on a regular clock and keeps whole members at one moment of a run. A run that goes on
from there is the same to the bit as one without a stop (``tests/library`` holds it), so stopping costs time and nothing
else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.errors import InputError
from pitreckon.reckon.cells import Cells, cells_of
from pitreckon.section.simulate import Job, Precision, simulate
from pitreckon.section.trace import Trace
from pitreckon.work.lean import memory_bytes

COPIES: Final = 2
"""Of the fields: as they come, and put together."""


@dataclass(frozen=True)
class Seen:
    """What a run in pieces left: the times [s since put-on], the members at each of them, and the records of it all."""

    time_s: tuple[float, ...]
    cells: tuple[Cells, ...]
    trace: Trace


def run_seen(
    job: Job,
    at_s: Iterable[float],
    *,
    precision: Precision = "single",
    threads: int | None = None,
    until_over: bool = True,
) -> Seen:
    """Run a job with a stop at each time; it ends at the job's horizon, or when the last member's course is over.

    at_s: in order, each on a knot of the drive [s since put-on]; until_over: leave those out at which no member cooks

    Raises InputError: they would not fit into memory
    """
    start, times = job.start, list[float]()
    seen: list[Cells] = []
    most = memory_bytes() // 2
    for time_s in at_s:
        piece = _run(replace(job, horizon_s=time_s, snapshot_s=time_s, start=start), precision, threads)
        start = piece.snapshot
        assert start is not None  # it was asked for
        cells = cells_of(start, job.section, job.members)
        if (len(seen) + 1) * COPIES * _bytes(cells) > most:
            raise InputError(
                f"the fields of {job.members.size} members take over half of the machine's memory from time "
                f"{len(seen) + 1} on",
                "Ask for fewer members, or fewer times (every_s, at_s)",
            )
        times.append(time_s)
        seen.append(cells)
        if until_over and not cells.alive.any():
            break
    trace = _run(replace(job, start=start), precision, threads)
    return Seen(tuple(times), tuple(seen), trace)


def _bytes(cells: Cells) -> int:
    return sum(array.nbytes for array in vars(cells).values())


def clock(every_s: float, until_s: float, knot_s: float) -> tuple[float, ...]:
    """Times from put-on to a last one, each on a knot [s]."""
    step = max(round(every_s / knot_s), 1)
    return tuple(np.arange(0, round(until_s / knot_s) + 1, step) * knot_s)


def _run(job: Job, precision: Precision, threads: int | None) -> Trace:
    return simulate(
        job.section, job.members, job.drive, job.course,
        horizon_s=job.horizon_s, mass=job.mass, record_every=job.record_every, substeps=job.substeps,
        snapshot_s=job.snapshot_s, start=job.start, precision=precision, threads=threads,
    )  # fmt: skip
