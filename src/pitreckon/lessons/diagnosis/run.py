"""From what readers did to how their plates are: ensembles of the section model, read at serving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from math import log
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger import Ledger
from pitreckon.lessons.diagnosis.practice import GLAZE_S, Practice, Right, usual_set_c, wraps
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.physics.reaction import BITTER_DOSE, BROWNING_ACTIVATION, BROWNING_ONSET_S
from pitreckon.reckon.around import GLAZE_KG_M2, GLAZE_WATER, SUGAR_SPEED
from pitreckon.reckon.draws import prior, stream
from pitreckon.reckon.measures import at_each, level_of_colour
from pitreckon.reckon.prepare import Ensemble, Track, ensemble, thickness_factor, tracks_of
from pitreckon.section import material
from pitreckon.section.browning import browning_dose, browning_onsets
from pitreckon.section.course import COLUMN, Course, Drive
from pitreckon.section.course import Until as Kernel
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace

BITTER: Final = BITTER_DOSE
"""The dose from which a sugar is bitter."""


def sugar_dose(time_s: Floats, surface_c: Floats, activity: Floats, glazed: Bools, sugar: Floats, seed: int) -> Floats:
    """The worse of rub and glaze, ``BITTER`` from which on it is bitter [-]; shape (members,).

    surface_c, activity: (times, members), nan once it is off the pit; glazed: alike, with a glaze on
    sugar: in the rub, 0 none to 1 much
    """
    rng, n = stream(seed, "why sugar"), sugar.size
    where, energy = rng.random(n), rng.uniform(*BROWNING_ACTIVATION, n)
    minutes = np.exp(rng.uniform(log(BROWNING_ONSET_S[0]), log(BROWNING_ONSET_S[1]), n))
    dryness = np.clip(1.0 - activity, 0.0, 1.0)

    def dose(kind: str, there: Bools) -> Floats:
        low, high = onset_c(kind)
        on = np.where(there, surface_c, np.nan)
        return browning_dose(on, dryness, time_s, low + where * (high - low), minutes, energy)

    return np.maximum(sugar * dose("rub", ~glazed), dose("glaze", glazed))


def onset_c(kind: str) -> tuple[float, float]:
    """Of the sugars of a rub, glucose to sucrose; of those of a glaze, fructose to glucose [degC]."""
    of = browning_onsets()
    if kind == "rub":
        return of["glucose"][0], of["sucrose"][1]
    return of["fructose"][0], of["glucose"][0]


THEN: Final = datetime(2026, 1, 1, 12, tzinfo=UTC)
"""Nothing depends on it: the model counts seconds since put-on."""
PIT: Final = "kettle"
"""Where the kind of pit is not told; its air is then drawn wider."""
OPEN, WRAPPED, LAST_OPEN, SAUCED, REST, STANDING = range(6)
FINER: Final = 0.5
"""A coarse section does: what readers do differs by far more than its cells make of it (a test holds that)."""
TABLE_S: Final = 60.0
HOT_S: Final = 1200.0


@dataclass(frozen=True, slots=True)
class Plates:
    """How the plate of each member is, shape (members,).

    level: colour, 1 as it should be, 1.3 too dark; tender: gelatin at the core over what lets a probe slide in
    loss: water lost over the raw weight [-]; peak_c: the hottest that the core was; read_c: of the core at the end
    damp: water activity of the face in its last while on the pit; liquid: put into the wrap, of the raw weight
    shut: share of the time on the pit that it was wrapped; dose: of its sugar, ``BITTER`` from which on it is bitter
    colour_s, done_s: when its colour was set, when it was done [s], nan: never
    off_s: when it came off; wrapped_s: when it was wrapped, nan: it was not
    """

    level: Floats
    tender: Floats
    loss: Floats
    peak_c: Floats
    read_c: Floats
    damp: Floats
    shut: Floats
    liquid: Floats
    salt_g_per_kg: Floats
    smoke: Floats
    dose: Floats
    colour_s: Floats
    done_s: Floats
    off_s: Floats
    wrapped_s: Floats

    @property
    def right(self) -> Right:
        """Of pieces done as they should be: when that was."""
        never = np.nanmax(self.off_s) * 2.0

        def known(times: Floats) -> Floats:
            return np.where(np.isnan(times), never, times)

        return Right(known(self.colour_s), known(self.done_s), self.read_c)


@dataclass(frozen=True)
class Built:
    """The piece and the pit of a report, before what was done to it. seed: of the draws; n: members."""

    report: Report
    cut: Cut
    track: Track
    z: Floats

    @classmethod
    def of(cls, report: Report, n: int, seed: int) -> Built:
        """For one report. Raises KeyError: a cut or a pit that the catalog does not have."""
        cut = catalog.cut(report.cut)
        wrap = wraps(cut, report) or "foil"
        stages = (
            StagePlan("open", Until("colour")),
            StagePlan("wrapped", Until("tender"), wrap=wrap),
            StagePlan("open", Until("minutes", 60.0)),
            StagePlan("sauced", Until("glaze")),
            StagePlan("rest", Until("minutes", 60.0)),
        )
        item = ItemPlan(
            label="piece",
            cut=report.cut,
            pieces=1,
            mass_kg=report.mass_kg or cut.shape.mass_kg.value,
            pit="pit",
            put_on_utc=THEN,
            start_c=report.start_c,
            thickness_m=report.thickness_m,
            stages=stages,
        )
        set_c = usual_set_c(cut) if report.set_c is None else report.set_c
        cook = Cook(
            name="report",
            zone="UTC",
            serve_utc=None,
            altitude_m=report.altitude_m,
            weather_air_c=report.weather_c,
            weather_rh=report.weather_rh,
            pits=(PitPlan("pit", report.pit or PIT, set_c),),
            items=(item,),
        )
        (track,) = tracks_of(cook, item, Ledger(), THEN, seed)
        factor = thickness_factor(cut, item)
        track = replace(track, section=material.section_of(cut, thickness_factor=factor, finer=FINER))
        return cls(report, cut, track, prior("piece", "pit", n, seed))

    def ensemble(self, practice: Practice, z: Floats) -> Ensemble:
        """Members ready to run."""
        made = ensemble(self.track, z, self.track.horizon_s)
        job = made.job
        table = job.course.table.copy()
        _course(table, practice, self.cut)
        air = job.drive.air_c + practice.set_k + practice.air_k
        members = job.members.changed(scale=job.members["scale"] * practice.scale)
        return replace(
            made,
            job=replace(
                job,
                members=members,
                drive=Drive(np.ascontiguousarray(air), job.drive.knot_s, 0.0),
                course=Course(table, job.course.names),
            ),
        )


def _course(table: Floats, practice: Practice, cut: Cut) -> None:
    """Put what each member's reader did into the stages."""

    def put(stage: int, field: str, value: Floats | float) -> None:
        table[stage, COLUMN[field]] = value

    wrapped = practice.wrapped > 0.5
    glaze_s = np.where(np.isnan(practice.sauced_s), GLAZE_S, practice.sauced_s)
    by_core = cut.texture.done_by == "core"
    boil = 97.0
    core_c = (
        np.where(np.isnan(practice.core_c), cut.texture.done_core_c.value + practice.end_core_k, practice.core_c)
        - practice.probe_k
    )
    feel = (
        np.full(practice.scale.size, float(Kernel.CORE))
        if by_core
        else np.where(np.isnan(practice.core_c), float(Kernel.TENDER), float(Kernel.CORE))
    )
    feel_value = np.where(feel == Kernel.CORE, np.minimum(core_c, boil), np.clip(practice.end_level, 0.05, 1.22))
    before_s = np.maximum(practice.end_s - glaze_s - practice.last_open_s, 60.0)
    end = np.where(np.isnan(practice.end_s), feel, float(Kernel.CLOCK))
    end_value = np.where(np.isnan(practice.end_s), feel_value, before_s)
    open_by = np.where(np.isnan(practice.open_s), float(Kernel.COLOUR), float(Kernel.CLOCK))
    open_value = np.where(np.isnan(practice.open_s), practice.open_level, practice.open_s)
    put(OPEN, "until", np.where(wrapped, open_by, end))
    put(OPEN, "value", np.where(wrapped, open_value, end_value))
    # Who takes it off by the clock does so, its colour set or not.
    put(OPEN, "longest_s", np.where(np.isnan(practice.end_s), table[OPEN, COLUMN["longest_s"]], before_s))
    put(WRAPPED, "until", np.where(wrapped, end, float(Kernel.MINUTES)))
    put(WRAPPED, "value", np.where(wrapped, end_value, 0.0))
    put(WRAPPED, "liquid", np.where(wrapped, practice.liquid, 0.0))
    put(LAST_OPEN, "until", float(Kernel.MINUTES))
    put(LAST_OPEN, "value", practice.last_open_s)
    glazed = ~(practice.sauced_s == 0.0)
    put(SAUCED, "until", np.where(np.isnan(practice.sauced_s), float(Kernel.GLAZE), float(Kernel.MINUTES)))
    put(SAUCED, "value", np.where(np.isnan(practice.sauced_s), 0.0, practice.sauced_s))
    put(SAUCED, "glaze_water", np.where(glazed, GLAZE_KG_M2 * GLAZE_WATER, 0.0))
    put(SAUCED, "glaze_solid", np.where(glazed, GLAZE_KG_M2 * (1.0 - GLAZE_WATER), 0.0))
    put(REST, "until", float(Kernel.MINUTES))
    put(REST, "value", np.maximum(practice.rest_s, 60.0))
    put(STANDING, "longest_s", TABLE_S)
    for stage in (OPEN, WRAPPED, LAST_OPEN):
        put(stage, "sugar", SUGAR_SPEED * (practice.sugar - 0.5))
        table[stage, COLUMN["wall_offset_k"]] += practice.wall_k
    table[SAUCED, COLUMN["wall_offset_k"]] += practice.wall_k


def run_all(built: Built, practices: Sequence[tuple[Practice, Floats]], threads: int | None = None) -> list[Plates]:
    """Plates of several ensembles, run side by side. all_ways: what was done, and the members' unknowns."""
    made = [built.ensemble(practice, z) for practice, z in practices]
    traces = simulate_all([each.job for each in made], threads=threads)
    return [_plates(each, trace, practice) for each, trace, (practice, _) in zip(made, traces, practices, strict=True)]


def _plates(made: Ensemble, trace: Trace, practice: Practice) -> Plates:
    ends = trace.stage_end_s
    last = np.nanmax(np.where(np.isnan(trace["core_c"]), -np.inf, trace.time_s[:, None]), axis=0)
    off_s = np.where(np.isnan(ends[SAUCED]), last, ends[SAUCED])
    served_s = np.where(np.isnan(ends[REST]), last, ends[REST])
    members = made.draw.members
    stage = np.round(trace["stage"])
    time_s = trace.time_s
    on_pit = time_s[:, None] <= off_s
    surface_c = np.where(on_pit, trace["surface_c"], np.nan)
    late = on_pit & (time_s[:, None] >= off_s - HOT_S)
    open_s = np.where(np.isnan(ends[OPEN]), off_s, ends[OPEN])
    wrapped_s = np.where(np.isnan(ends[WRAPPED]) | (practice.wrapped < 0.5), 0.0, ends[WRAPPED] - open_s)
    tender = trace.mark("core_done") if made.track.cut.texture.done_by == "core" else trace.mark("tender")
    return Plates(
        level=level_of_colour(at_each(trace, "colour", served_s), members["dark_at"]),
        tender=at_each(trace, "gelatin_core", served_s) / members["tender_at"],
        loss=at_each(trace, "evaporated", served_s) + at_each(trace, "dripped", served_s),
        peak_c=np.nanmax(np.where(np.isnan(trace["core_c"]), -np.inf, trace["core_c"]), axis=0),
        read_c=at_each(trace, "core_c", off_s) + practice.probe_k,
        damp=_mean_where(trace["activity"], late),
        shut=np.clip(wrapped_s / np.maximum(off_s, 1.0), 0.0, 1.0),
        liquid=practice.liquid,
        salt_g_per_kg=practice.salt_g_per_kg,
        smoke=practice.smoke,
        dose=sugar_dose(time_s, surface_c, trace["activity"], stage == SAUCED, practice.sugar, made.track.seed),
        colour_s=trace.mark("colour_set"),
        done_s=tender,
        off_s=off_s,
        wrapped_s=np.where(wrapped_s > 0.0, open_s, np.nan),
    )


def _mean_where(values: Floats, which: Bools) -> Floats:
    counted = np.where(which & np.isfinite(values), values, 0.0).sum(axis=0)
    many = (which & np.isfinite(values)).sum(axis=0)
    return np.asarray(counted / np.maximum(many, 1))
