"""Readers cook what a card says: each group as an ensemble of the section model, read when it is served."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.ledger import Ledger
from pitreckon.lessons.card.following import Step, as_followed, as_it_should, steps_of
from pitreckon.lessons.card.readers import Audience, Group, Readers
from pitreckon.lessons.card.script import Script
from pitreckon.lessons.diagnosis.run import sugar_dose
from pitreckon.lessons.marks import Marks
from pitreckon.reckon.measures import at_each, level_of_colour
from pitreckon.reckon.prepare import Ensemble, Track, ensemble, thickness_factor, tracks_of
from pitreckon.section import material
from pitreckon.section.course import COLUMN, Course, Drive
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace

THEN: Final = datetime(2026, 1, 1, 12, tzinfo=UTC)
"""Nothing depends on it: the model counts seconds since put-on."""
FINER: Final = 0.5
"""A coarse section does: readers differ by far more than its cells make of it (a test holds that)."""
NOT_KEPT: Final = "not done in time"


@dataclass(frozen=True, slots=True)
class Piece:
    """What a card is about: the cut, a piece's weight [kg], its temperature when it goes on [degC], the rub's sugar.

    thickness_m: measured [m]; thickness_factor: over the usual; glaze_kg, liquid_kg: of a piece are in the lines' plans
    """

    cut: Cut
    mass_kg: float
    start_c: float
    sugar: float
    thickness_m: float | None = None
    thickness_factor: float = 1.0

    @classmethod
    def of(cls, cut: Cut, item: ItemPlan) -> Piece:
        """Of an item of a cook."""
        return cls(cut, item.mass_kg, item.start_c, item.sugar, item.thickness_m, item.thickness_factor)


@dataclass(frozen=True, slots=True)
class Case:
    """What is otherwise for all readers.

    set_k: the pit [K]; thicker: factor on the thickness; altitude_m: of all; None: each his own
    """

    set_k: float = 0.0
    thicker: float = 1.0
    altitude_m: float | None = None


@dataclass(frozen=True)
class Cooked:
    """What the readers got, shape (readers,) each; the first five as ``lessons.marks.Served`` has them.

    line_s: how long each line took [s], shape (lines, readers), nan: it never ended; total_s: from put-on to the table
    off_s: when it came off the pit [s]
    """

    level: Floats
    tender: Floats
    loss: Floats
    peak_c: Floats
    dose: Floats
    line_s: Floats
    off_s: Floats
    total_s: Floats

    @classmethod
    def joined(cls, parts: Sequence[Cooked]) -> Cooked:
        """Of several groups."""
        names = ("level", "tender", "loss", "peak_c", "dose", "line_s", "off_s", "total_s")
        return cls(*(np.concatenate([getattr(part, name) for part in parts], axis=-1) for name in names))

    def faults(self, marks: Marks) -> dict[str, Bools]:
        """Which readers' plates are wrong, and how; what never got done is that alone."""
        never = ~np.isfinite(self.total_s)
        found = {word: which & ~never for word, which in marks.faults(self).items()}
        return {**found, NOT_KEPT: never}

    def right(self, marks: Marks) -> Bools:
        """Whose plate is right."""
        wrong = np.zeros(self.level.size, dtype=bool)
        for which in self.faults(marks).values():
            wrong |= which
        return np.asarray(~wrong)


def cook_all(
    piece: Piece,
    script: Script,
    readers: Readers,
    *,
    ideal: bool = False,
    ideal_lines: Collection[int] = (),
    case: Case | None = None,
    threads: int | None = None,
) -> Cooked:
    """All readers cook.

    ideal: everybody looks all the time and is never wrong, and waits as long as it takes; ideal_lines: the same of
    these lines alone, from 0; case: what is otherwise
    """
    case = case or Case()
    script = script.all_looked() if ideal else script
    steps = steps_of(script)
    right = range(len(script.lines)) if ideal else ideal_lines
    made = [_group(piece, script, steps, group, readers.who, case, right) for group in readers.groups]
    traces = simulate_all([each.job for each in made], threads=threads)
    parts = [
        _cooked(each, trace, script, steps, piece, group.seed)
        for each, trace, group in zip(made, traces, readers.groups, strict=True)
    ]
    return Cooked.joined(parts)


def _group(
    piece: Piece,
    script: Script,
    steps: Sequence[Step],
    group: Group,
    who: Audience,
    case: Case,
    ideal_lines: Collection[int],
) -> Ensemble:
    track = _track(piece, script, steps, group, case)
    made = ensemble(track, _unknowns(track, script, group, who), track.horizon_s)
    job, habits = made.job, group.habits
    table = job.course.table.copy()
    boil_c = made.draw.members["boil_c"]
    for s, step in enumerate(steps):
        line = script.lines[step.line]
        followed = as_it_should(step, line, piece.cut, boil_c) if step.line in ideal_lines else None
        fields = followed or as_followed(step, line, script, habits, who, piece.cut, boil_c)
        for name, value in fields.items():
            table[s, COLUMN[name]] = value
    usual = piece.cut.scale(piece.mass_kg)
    scale = np.array([piece.cut.scale(piece.mass_kg * float(m)) for m in habits.mass]) / usual
    members = job.members.changed(
        scale=job.members["scale"] * scale, start_c=job.members["start_c"] + who.tempered_k * habits.tempered
    )
    pit = catalog.pits()[group.pit]
    alone = pit.fan or not catalog.fuels()[pit.fuel].burns
    held_k = (who.held_fan_k if alone else who.held_hand_k) * habits.held
    if script.at_grate:
        held_k = 0.0 * held_k  # who measures there holds it there
    drive = Drive(np.ascontiguousarray(job.drive.air_c + held_k), job.drive.knot_s, 0.0)
    course = Course(table, job.course.names)
    return replace(made, job=replace(job, members=members, drive=drive, course=course))


def _unknowns(track: Track, script: Script, group: Group, who: Audience) -> Floats:
    """The group's unknowns; who measures the air at the grate knows what a readout does not tell."""
    if not script.at_grate:
        return group.z
    levels = track.levels
    wanted_k = who.grate_sd_k * group.habits.grate - catalog.pits()[group.pit].air.offset_k.value
    return levels.at(group.z, offset=wanted_k / levels["offset"], spot=0.0)


def _track(piece: Piece, script: Script, steps: Sequence[Step], group: Group, case: Case) -> Track:
    item = ItemPlan(
        label="piece",
        cut=piece.cut.key,
        pieces=1,
        mass_kg=piece.mass_kg,
        pit="pit",
        put_on_utc=THEN,
        start_c=piece.start_c,
        thickness_m=piece.thickness_m,
        thickness_factor=piece.thickness_factor,
        sugar=piece.sugar,
        stages=tuple(step.plan for step in steps),
    )
    cook = Cook(
        name="readers",
        zone="UTC",
        serve_utc=None,
        altitude_m=group.altitude_m if case.altitude_m is None else case.altitude_m,
        weather_air_c=None,
        weather_rh=None,
        pits=(PitPlan("pit", group.pit, script.set_c + case.set_k + group.set_k),),
        items=(item,),
    )
    (track,) = tracks_of(cook, item, Ledger(), THEN, group.seed)
    factor = case.thicker * group.thicker * thickness_factor(piece.cut, item)
    return replace(track, section=material.section_of(piece.cut, thickness_factor=factor, finer=FINER))


def _cooked(made: Ensemble, trace: Trace, script: Script, steps: Sequence[Step], piece: Piece, seed: int) -> Cooked:
    ends = trace.stage_end_s
    last_of = [max(s for s, step in enumerate(steps) if step.line == n) for n in range(len(script.lines))]
    line_end = ends[last_of]
    line_s = np.diff(line_end, axis=0, prepend=0.0)
    pit_lines = [n for n, line in enumerate(script.lines) if line.on_pit]
    last = np.nanmax(np.where(np.isnan(trace["core_c"]), -np.inf, trace.time_s[:, None]), axis=0)
    off_s = line_end[pit_lines[-1]]
    served = np.where(np.isnan(line_end[-1]), last, line_end[-1])
    on_pit = trace.time_s[:, None] <= np.where(np.isnan(off_s), last, off_s)
    stage = np.nan_to_num(np.round(trace["stage"]), nan=-1.0)
    sauced = [s for s, step in enumerate(steps) if script.lines[step.line].plan.kind == "sauced"]
    surface = np.where(on_pit, trace["surface_c"], np.nan)
    n = made.z.shape[1]
    dose = sugar_dose(trace.time_s, surface, trace["activity"], np.isin(stage, sauced), np.full(n, piece.sugar), seed)
    members = made.draw.members
    return Cooked(
        level=level_of_colour(at_each(trace, "colour", served), members["dark_at"]),
        tender=at_each(trace, "gelatin_core", served) / members["tender_at"],
        loss=at_each(trace, "evaporated", served) + at_each(trace, "dripped", served),
        peak_c=np.nanmax(np.where(np.isnan(trace["core_c"]), -np.inf, trace["core_c"]), axis=0),
        dose=dose,
        line_s=line_s,
        off_s=off_s,
        total_s=line_end[-1],
    )
