"""``simulate``: a cut on a pit through a course, as labelled arrays of every member and every cell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from pitreckon import __version__
from pitreckon.catalog import Cut
from pitreckon.cook import PitPlan, StagePlan
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.extras import loading
from pitreckon.library import given
from pitreckon.library.labelled import labelled
from pitreckon.library.piecewise import clock, run_seen
from pitreckon.library.together import numbers, pieces_on_pits
from pitreckon.reckon.prepare import Track, thickness_factor
from pitreckon.reckon.readied import make_ready
from pitreckon.section.course import COLUMN, Course
from pitreckon.section.material import section_of
from pitreckon.section.simulate import Precision

if TYPE_CHECKING:
    from xarray import Dataset

FINER = (0.25, 8.0)
LONGEST_S = 5 * 86400.0


def simulate(
    cut: str | Cut,
    pit: str | PitPlan,
    course: Iterable[StagePlan | Mapping[str, Any]] | None = None,
    members: int = 64,
    seed: int = 1,
    *,
    set_c: float | None = None,
    meat: Mapping[str, float | None] | None = None,
    every_s: float = 600.0,
    at_s: Iterable[float] | None = None,
    until_s: float | None = None,
    stands_s: float = 0.0,
    air_c: float | Sequence[tuple[float, float]] | None = None,
    parameters: Mapping[str, ArrayLike] | None = None,
    surroundings: Mapping[str, ArrayLike] | None = None,
    finer: float = 1.0,
    precision: Precision = "single",
    threads: int | None = None,
    pieces: int = 1,
    put_on: datetime | str | None = None,
    serve: datetime | str | None = None,
) -> Dataset:
    """Simulate a piece of meat: every cell of every member at every time, as labelled arrays.

    cut: a name or a spelling of the catalog, or its record
    pit: a kind of the catalog by name, or a planned pit
    course: stages in order, as records or as tables of a cook file; None: the cut's usual course
    members: possible pieces on possible pits, 1 and more
    seed: of all draws; the same arguments give the same numbers
    set_c: what the pit is set to [degC]; None: as planned, or what is usual for the animal
    meat: of the piece and the day: mass_kg, start_c, thickness_m, sugar, altitude_m, weather_air_c, weather_rh
    every_s: time between two fields [s]
    at_s: times of the fields instead [s since put-on], in order; both are put on the nearest knot of the run
    until_s: where it ends at the latest [s since put-on]; None: with the last member's course
    stands_s: how long each piece is followed after its course, indoors under foil or in its last hold [s]
    air_c: air at the piece instead of the pit's own: a temperature [degC] or pairs (time [s], temperature)
    parameters: numbers of ``section.members.PARAMETERS`` in the place of what is drawn, one or one a member
    surroundings: numbers of ``section.course.FIELDS`` round the piece in every stage, one or one a member
    finer: cells in each direction, over the usual
    precision: of the compiled kernel, single or double; double is compiled by itself the first time
    threads: of the kernel; None: all cores
    pieces: so many lie on each possible pit, and heat and wet its air together; each is a member of its own
    put_on, serve: instants with their zone, or texts ("2026-10-10 05:00", or "05:00" alone), for a course that has
        stages until a clock time or until it is served; a text without an offset is meant in UTC

    Returns an ``xarray.Dataset`` with the dimensions time, member, cell, face, record, mark, stage and parameter; units
    and long names stand in the attributes. ``.to_netcdf(path)`` writes it, ``xarray.open_dataset(path)`` reads it back.

    Raises MissingExtraError: Xarray is not installed.
    Raises InputError: an argument is wrong; the message says which.
    """
    with loading("xarray", "a simulation as labelled arrays"):
        import xarray  # noqa: F401, PLC0415  first of all, so that nothing is run in vain
    if precision not in {"single", "double"}:
        raise InputError(f"the kernel has no {precision} precision", 'Ask for "single" or "double"')
    many, seed = given.ensemble_size(members), given.seed_of(seed)
    on_each = given.pieces_of(pieces, many)
    when = given.when_of(put_on, serve)
    kind = given.cut_of(cut)
    stages = given.course_of(course, when)
    track = given.track_of(kind, given.pit_of(pit, kind, set_c), stages, given.meat_of(meat or {}), seed, when, on_each)
    cells = given.number("finer", finer, *FINER)
    track = replace(track, section=section_of(kind, thickness_factor=thickness_factor(kind, track.item), finer=cells))

    asked = None if at_s is None else given.times(at_s)
    stands_s = given.number("stands_s", stands_s, 0.0, LONGEST_S)
    horizon_s = _horizon(track, until_s, asked)
    job = pieces_on_pits(track, many, on_each, horizon_s).job
    knot_s = job.drive.knot_s
    job = replace(
        job,
        members=given.with_own(job.members, parameters or {}),
        course=given.with_around(_followed(job.course, stands_s), surroundings or {}),
        drive=job.drive if air_c is None else given.drive_of(air_c, job.drive, horizon_s),
        horizon_s=np.ceil(horizon_s / knot_s) * knot_s,
    )
    if asked is None:
        times = clock(given.number("every_s", every_s, knot_s, LONGEST_S), job.horizon_s, knot_s)
    else:
        times = tuple(dict.fromkeys(round(at / knot_s) * knot_s for at in asked))
    make_ready()
    seen = run_seen(job, times, precision=precision, threads=threads, until_over=asked is None)
    return labelled(job, seen, numbers(many, on_each)).assign_attrs(_attributes(track, seed, precision))


def _horizon(track: Track, until_s: float | None, asked: tuple[float, ...] | None) -> float:
    """How far it is run [s]."""
    last_s = asked[-1] if asked else 0.0
    if until_s is None:
        return max(track.horizon_s, last_s)
    until_s = given.number("until_s", until_s, 60.0, LONGEST_S)
    if last_s > until_s:
        raise InputError(
            f"fields are asked for up to {last_s:g} s, and the run ends at {until_s:g} s", "Give a later until_s"
        )
    return until_s


def _followed(course: Course, stands_s: float) -> Course:
    """The course with as much of the time after it as is wanted; it comes with hours of it."""
    if stands_s <= 0.0:
        return Course(course.table[:-1].copy(), course.names[:-1])
    table = course.table.copy()
    table[-1, COLUMN["longest_s"]] = stands_s
    return Course(table, course.names)


def _attributes(track: Track, seed: int, precision: Precision) -> dict[str, Any]:
    """What it was, so that a file of it tells how it was made."""
    return {
        "Conventions": "CF-1.11",
        "title": f"{track.cut.name}, simulated",
        "source": f"pitreckon {__version__}",
        "cut": track.cut.key,
        "pit": track.cook.pits[0].kind,
        "seed": seed,
        "pieces": track.item.pieces,
        "precision": precision,
        "cook": cook_text(track.cook),
        "comment": "A model's forecast, no promise of safety: check the thickest part with a thermometer.",
    }
