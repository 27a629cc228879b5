"""One call from a section, its members, the pit and a course to what happens: ``simulate``."""

# mypy: disable-error-code="no-untyped-call"

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pitreckon.section import chebyshev
from pitreckon.section.constants import constant
from pitreckon.section.course import Course, Drive
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from pitreckon.section.trace import CHANNELS, MARKS, Trace

Floats = NDArray[np.float64]
Engine = Literal["compiled", "readable"]


@cache
def _scheme() -> tuple[Floats, Floats]:
    return chebyshev.table()


def raw_mass(section: Section, members: Members) -> Floats:
    """Mass of the nominal section before the cook, bone included [kg], in the section's own measure."""
    meat = float(np.sum(section.volume * (1.0 - section.bone)))
    bone = float(np.sum(section.volume * section.bone))
    wet: Floats = members["dry_density"] * (1.0 + members["water"])
    return meat * wet + bone * constant("bone_density_kg_m3")


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
    engine: Engine = "compiled",
    threads: int | None = None,
) -> Trace:
    """Run every member of the ensemble through the course.

    Parameters
    ----------
    section: the piece as cells
    members: N parameter sets
    drive: pit air at the grate, (knots, N) [degC]
    course: stages, (stages, fields, N)
    horizon_s: stop here at the latest [s since put-on]
    mass: raw mass of each member's nominal section [kg], bone and fat included; shape (N,)
    record_every: knots between two records
    substeps: steps a knot (more is finer in time)
    engine: the compiled kernel or the readable one
    threads: worker threads of the compiled kernel; all cores by default

    Returns
    -------
    Trace of N members. A member that fails alone is named in ``Trace.failed``; the others are unharmed.
    """
    n = members.size
    weight = raw_mass(section, members) if mass is None else mass
    steps = round(horizon_s / drive.knot_s)
    records = steps // record_every + 1
    coef, extent = _scheme()
    shapes = {
        "out": (records, len(CHANNELS)),
        "marks": (len(MARKS),),
        "ends": (course.table.shape[0],),
        "balance": (2,),
        "failed": (),
    }
    geometry = (
        section.nx,
        section.ny,
        section.gx,
        section.gy,
        section.volume,
        section.bone,
        section.outer_cell,
        section.outer_area,
        section.outer_group,
        section.core,
        section.places,
    )
    settings = (drive.knot_s, drive.known_until_s, float(horizon_s), record_every, substeps, coef, extent)
    if engine == "readable":
        from pitreckon.section import readable  # noqa: PLC0415  (each engine only where it is asked for)

        results: dict[str, Floats] = {k: np.full((*s, n), np.nan) for k, s in shapes.items()}
        readable.run(*geometry, members.values, course.table, drive.air_c, *settings, weight, **results)
    else:
        from pitreckon.section import compiled  # noqa: PLC0415

        blocks = -(-n // compiled.LANES)
        packed = {k: np.full((blocks, *s, compiled.LANES), np.nan) for k, s in shapes.items()}
        p, table, air, lanes_mass = map(compiled.lanes_first, (members.values, course.table, drive.air_c, weight))
        workers = max(1, min(threads or os.cpu_count() or 1, blocks))
        cuts = np.linspace(0, blocks, workers * (4 if blocks >= 8 * workers else 1) + 1).astype(int)

        def work(first: int, last: int) -> None:
            compiled.run_blocks(first, last, *geometry, p, table, air, *settings, lanes_mass, **packed)

        if workers == 1:
            work(0, blocks)
        else:
            with ThreadPoolExecutor(workers) as pool:
                list(pool.map(work, cuts[:-1].tolist(), cuts[1:].tolist()))
        results = {k: compiled.members_last(a, n) for k, a in packed.items()}
    failed = {
        int(i): f"numbers went out of bounds {results['failed'][i] / 60:.0f} min after put-on"
        for i in np.flatnonzero(~np.isnan(results["failed"]))
    }
    time_s = np.arange(records, dtype=np.float64) * (record_every * drive.knot_s)
    return Trace(time_s, results["out"], results["marks"], results["ends"], results["balance"], failed)
