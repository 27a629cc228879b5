"""``reckon``: from a cook and its ledger to an outlook.

Pure: the same cook, ledger, moment, members and seed give the same outlook. Nothing holds state.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Cut, Pit
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Cook, ItemPlan, Ledger
from pitreckon.physics.vapour import pressure_isa
from pitreckon.reckon import pitair
from pitreckon.reckon.around import Around
from pitreckon.reckon.draws import ItemDraw, PitDraw, draw_item, draw_pit
from pitreckon.reckon.evidence import Evidence, held_at, level_of_colour, weigh
from pitreckon.reckon.outlook import ItemOutlook, Outlook, StageOutlook
from pitreckon.reckon.quantiles import spread_of
from pitreckon.reckon.stages import STANDING, STANDING_S, Stage, course_so_far, planned_stages
from pitreckon.section import material
from pitreckon.section.course import Course, Drive
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import Trace
from pitreckon.units import format_duration, format_temperature

Floats = NDArray[np.float64]

LONGEST_COOK_S = 40 * 3600.0
RECORD_S = 300.0
THICK_HALF_M = 0.025
"""Half thickness from which a piece's core answers so slowly that the pit's air every other minute is enough."""
HOT_HOLD_C = 60.0
"""Below this a piece that stands is past its best: USDA home advice is to hold hot food at 140 degF or above."""

Progress = Callable[[str], None]


@dataclass(frozen=True)
class ItemRun:
    """An item's ensemble and what happened to it; for those who build on ``reckon``."""

    item: ItemPlan
    cut: Cut
    section: Section
    draw: ItemDraw
    stages: tuple[Stage, ...]
    trace: Trace
    evidence: Evidence
    put_on_utc: datetime
    air_c: Floats


def reckon(
    cook: Cook,
    ledger: Ledger | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
    progress: Progress | None = None,
) -> Outlook:
    """The outlook of a cook at a moment.

    Parameters
    ----------
    cook: the plan
    ledger: what has happened; events after ``now`` are left out
    now: the moment; by default the ledger's last event, else the cook's start
    members: size of the ensemble
    seed: of all its draws
    progress: told the label of each item before it is reckoned

    Raises
    ------
    InputError: fewer than 8 members; a cut or a pit that the catalog does not have
    """
    return _outlook(cook, ledger, now, members, seed, progress)[0]


def reckon_runs(
    cook: Cook,
    ledger: Ledger | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
) -> tuple[Outlook, tuple[ItemRun, ...]]:
    """``reckon`` with the ensembles behind it."""
    return _outlook(cook, ledger, now, members, seed, None)


def _outlook(
    cook: Cook, ledger: Ledger | None, now: datetime | None, n: int, seed: int, progress: Progress | None
) -> tuple[Outlook, tuple[ItemRun, ...]]:
    if n < 8:
        raise InputError(f"an ensemble of {n} members is too small to have a spread", "Ask for 8 or more")
    whole = ledger or Ledger()
    moment = now or whole.last_utc or cook.start_utc
    known = whole.until(moment)
    ready = [_prepare(cook, item, known, moment, n, seed) for item in cook.items]
    if progress is not None:
        progress(", ".join(item.label for item in cook.items))
    traces = simulate_all([prepared.job for prepared in ready])
    runs = [_weigh(prepared, trace, known) for prepared, trace in zip(ready, traces, strict=True)]
    items = [_item_outlook(cook, run, known, moment) for run in runs]
    rejected = tuple(
        f"{entry.on}: {entry.rejected}" + (f" (line {entry.source_line})" if entry.source_line else "")
        for entry in known.rejected
    )
    outlook = Outlook(
        cook=cook.name,
        zone=cook.zone,
        now_utc=moment,
        serve_utc=cook.serve_utc,
        members=n,
        seed=seed,
        items=tuple(items),
        rejected=rejected,
    )
    return outlook, tuple(runs)


@dataclass(frozen=True)
class _Prepared:
    """An item with all that its ensemble needs to run."""

    item: ItemPlan
    cut: Cut
    draw: ItemDraw
    stages: tuple[Stage, ...]
    put_on: datetime
    air_c: Floats
    job: Job


def _prepare(cook: Cook, item: ItemPlan, ledger: Ledger, now: datetime, n: int, seed: int) -> _Prepared:
    cut = catalog.cut(item.cut)
    pressure = pressure_isa(cook.altitude_m)
    acts = [act for act in ledger.acts(item.label) if act.piece in {None, 1}]
    put_on_act = next((act for act in acts if act.what == "put on"), None)
    put_on = put_on_act.at_utc if put_on_act else item.put_on_utc
    if put_on_act is None and len(ledger) and put_on < now:
        put_on = now  # a ledger is kept and does not say that it went on
    zero = put_on.timestamp()
    now_s = now.timestamp() - zero
    section = material.section_of(cut, thickness_factor=_thickness_factor(cut, item))
    draw = draw_item(cut, item, pressure, n, seed)
    later = [act for act in acts if act.what not in {"put on", "moved"}]
    stages = course_so_far(planned_stages(cut, item, cook), later, live=put_on_act is not None)
    horizon_s = _horizon(cook, stages, zero)
    pit_label, pit, pit_draw, air = _pit_air(cook, item, ledger, acts, zero, horizon_s, n, seed)
    meat_kg = sum(i.mass_kg * i.pieces for i in cook.items if i.pit == pit_label)
    ratio = pitair.ambient_ratio(cook.weather_air_c, cook.weather_rh, pressure)
    set_c = cook.pit(pit_label).set_c
    vapour = pitair.pit_vapour(
        pit, catalog.fuels()[pit.fuel], pit_draw, set_c, cook.weather_air_c, ratio, meat_kg, pressure
    )
    around = Around(cook, item, cut, section, draw, pit_draw, set_c, vapour, pressure, ratio)
    tables = [around.stage(stage, zero, now_s) for stage in stages]
    tables.append(around.standing(stages))
    course = Course.of(n, tables, [stage.plan.kind for stage in stages] + [STANDING])
    readings = ledger.readings("pit air", pit_label)
    known_until = readings[-1].at_utc.timestamp() - zero if readings else 0.0
    mass = np.full(n, material.raw_mass_of(cut, section))
    every = pitair.THICK_KNOTS if _half_thickness(section) >= THICK_HALF_M else 1
    job = Job(
        section,
        draw.members,
        Drive(np.ascontiguousarray(air[::every]), every * pitair.KNOT_S, max(known_until, 0.0)),
        course,
        horizon_s=horizon_s,
        mass=mass,
        record_every=int(RECORD_S / (every * pitair.KNOT_S)),
    )
    return _Prepared(item, cut, draw, stages, put_on, air, job)


def _weigh(prepared: _Prepared, trace: Trace, ledger: Ledger) -> ItemRun:
    item, cut, draw = prepared.item, prepared.cut, prepared.draw
    zero = prepared.put_on.timestamp()
    looks = [(look.at_utc.timestamp() - zero, look) for look in ledger.looks(item.label)]
    probe = [(r.at_utc.timestamp() - zero, r) for r in ledger.readings("probe", item.label)]
    evidence = weigh(
        cut,
        draw.members,
        trace,
        [pair for pair in looks if pair[0] >= 0.0],
        [pair for pair in probe if pair[0] >= 0.0],
        mass_kg=item.mass_kg,
        bone_show=draw.bone_show,
        fat_render=draw.fat_render,
    )
    job = prepared.job
    return ItemRun(item, cut, job.section, draw, prepared.stages, trace, evidence, prepared.put_on, prepared.air_c)


def _half_thickness(section: Section) -> float:
    """Shortest way from the core to a face, in the section's own size [m]."""
    if not section.mirrored:
        return 0.5 * float(section.y_m[-1])
    return float(min(section.y_m[-1], section.x_m[-1]) if section.nx > 1 else section.y_m[-1])


def _thickness_factor(cut: Cut, item: ItemPlan) -> float:
    """Thickness over the cut's own at this mass; a measured one counts before a trim."""
    if item.thickness_m is None:
        return item.thickness_factor
    shape = cut.shape
    usual = getattr(shape, "thickness_m", None) or getattr(shape, "height_m", None)
    if usual is None:
        usual = shape.diameter_m  # type: ignore[union-attr]
    return float(item.thickness_m / (usual.value * cut.scale(item.mass_kg)))


def _horizon(cook: Cook, stages: tuple[Stage, ...], zero: float) -> float:
    fixed = sum(s.plan.until.duration_s or 0.0 for s in stages)
    span = LONGEST_COOK_S + fixed
    ends = [s.plan.until.at_utc.timestamp() - zero for s in stages if s.plan.until.at_utc is not None]
    if cook.serve_utc is not None:
        ends.append(cook.serve_utc.timestamp() - zero)
    return float(np.ceil(max([span, *[e + STANDING_S for e in ends]]) / 600.0) * 600.0)


def _pit_air(
    cook: Cook,
    item: ItemPlan,
    ledger: Ledger,
    acts: list[Act],
    zero: float,
    horizon_s: float,
    n: int,
    seed: int,
) -> tuple[str, Pit, PitDraw, Floats]:
    """Air at the grate over the item's whole time, across a move to another pit; the pit it is on now."""
    moves = [(0.0, item.pit)] + [
        (act.at_utc.timestamp() - zero, act.detail) for act in acts if act.what == "moved" and act.detail
    ]
    knots = int(horizon_s / pitair.KNOT_S) + 1
    time_s: Floats = np.arange(knots, dtype=np.float64) * pitair.KNOT_S
    air = np.empty((knots, n))
    for i, (since, label) in enumerate(moves):
        plan = cook.pit(label)
        pit = catalog.pits()[plan.kind]
        draw = draw_pit(pit, label, n, seed)
        set_c = pitair.set_temperature(time_s, plan.set_c, ledger.acts(label), zero)
        until = moves[i + 1][0] if i + 1 < len(moves) else np.inf
        here = (time_s >= since) & (time_s < until) if i else time_s < until
        series = pitair.grate_air(pit, label, draw, set_c, ledger.readings("pit air", label), zero, seed)
        air[here] = series[here]
    return label, pit, draw, air


def until_words(stage: Stage, cook: Cook) -> str:
    """What ends a stage, as a cook says it."""
    until = stage.plan.until
    match until.what:
        case "core":
            return f"{format_temperature(until.core_c or 0.0)} at the core"
        case "minutes":
            return format_duration(until.duration_s or 0.0)
        case "clock":
            return until.at_utc.astimezone(cook.zone_info).strftime("%H:%M") if until.at_utc else ""
        case "colour":
            return "the colour is set" if until.level == 1.0 else "the colour is right"
        case "tender":
            return "the probe slides in" if until.level == 1.0 else "the probe feels right"
        case _:
            return "the glaze has set"


def _item_outlook(cook: Cook, run: ItemRun, ledger: Ledger, now: datetime) -> ItemOutlook:
    trace, weights = run.trace, run.evidence.weights
    now_s = max(now.timestamp() - run.put_on_utc.timestamp(), 0.0)
    ends = trace.stage_end_s.copy()
    for i, stage in enumerate(run.stages):
        if stage.ended_utc is not None:  # the kernel ends a stage on a knot; the ledger knows better
            ends[i] = stage.ended_utc.timestamp() - run.put_on_utc.timestamp()
    begins = np.vstack((np.zeros((1, ends.shape[1])), ends[:-1]))
    stage_now = np.sum(ends <= now_s + 1.0, axis=0)
    running = [i for i, stage in enumerate(run.stages) if stage.running]
    if running:  # what the ledger shows as going on is going on, due or not
        stage_now = np.minimum(stage_now, running[0])
    stages = tuple(
        StageOutlook(
            kind=stage.plan.kind,
            until=until_words(stage, cook),
            until_core_c=stage.plan.until.core_c,
            wrap=stage.wrap,
            begins_s=spread_of(begins[i], weights),
            ends_s=spread_of(ends[i], weights),
            done=stage.ended_utc is not None,
            now=float(np.sum(weights[stage_now == i])),
        )
        for i, stage in enumerate(run.stages)
    )
    ready = ends[_ready_stage(run.stages)]
    past = _past_best(run, ready)
    tender = trace.mark("core_done" if run.cut.texture.done_by == "core" else "tender")
    values = {
        "colour_set": trace.mark("colour_set"),
        "tender": tender,
        "glaze_set": trace.mark("glaze_set"),
        "ready": ready,
        "past_best": past,
    }
    least_c = run.cut.texture.least_core_c.value
    before_ready = trace.time_s[:, None] <= np.where(np.isnan(ready), np.inf, ready)[None, :] + 1.0
    hottest = np.nanmax(np.where(before_ready, trace["core_c"], -np.inf), axis=0)
    safe = float(np.sum(weights[hottest >= least_c]))
    on_time = None
    if cook.serve_utc is not None:
        serve_s = cook.serve_utc.timestamp() - run.put_on_utc.timestamp()
        good = (ready <= serve_s) & (np.isnan(past) | (past >= serve_s))
        on_time = float(np.sum(weights[good]))
    put_on_logged = any(act.what == "put on" for act in ledger.acts(run.item.label))

    def now_spread(channel: str) -> Floats:
        return held_at(trace, channel, now_s)

    loss = now_spread("evaporated") + now_spread("dripped")
    return ItemOutlook(
        label=run.item.label,
        cut=run.cut.key,
        cut_name=run.cut.name,
        pieces=run.item.pieces,
        put_on_utc=run.put_on_utc,
        put_on_planned=not put_on_logged,
        stages=stages,
        marks={name: spread_of(v, weights) for name, v in values.items()},
        core_c=spread_of(now_spread("core_c"), weights),
        loss_fraction=spread_of(loss, weights),
        colour=spread_of(level_of_colour(now_spread("colour"), run.draw.members["dark_at"]), weights),
        gelatin=spread_of(now_spread("gelatin_core"), weights),
        pit_c=spread_of(run.air_c[min(int(now_s // pitair.KNOT_S), run.air_c.shape[0] - 1)], weights),
        on_time=on_time,
        least_core=safe,
        effective=run.evidence.effective,
        tempered=run.evidence.tempered,
        failed=len(trace.failed),
        notes=_notes(run, safe, ready),
    )


def _notes(run: ItemRun, safe: float, ready: Floats) -> tuple[str, ...]:
    """What the cook should know besides the marks, in plain sentences."""
    notes = []
    least_c = run.cut.texture.least_core_c.value
    least = f"{format_temperature(least_c)} ({format_temperature(least_c, 'C')})"
    if safe < 0.98:
        notes.append(f"its core may not reach {least}, the official minimum, before it is called ready")
    if run.evidence.effective == 0.0 and run.trace.failed:
        notes.append("the model failed for every member; nothing can be said")
    elif run.evidence.tempered < 1.0:
        notes.append("looks and probe disagree with each other or with the pit; the forecast is kept wide")
    if run.trace.failed:
        notes.append(f"{len(run.trace.failed)} members of the ensemble failed and were left out")
    dark = run.trace.mark("too_dark")
    early = float(np.sum(run.evidence.weights[dark < np.where(np.isnan(ready), np.inf, ready)]))
    if early > 0.5:
        notes.append("likely too dark before it is ready: wrap sooner or run the pit cooler")
    return tuple(notes)


def _ready_stage(stages: tuple[Stage, ...]) -> int:
    """The last stage before a hold: at its end the item can be served."""
    last = len(stages) - 1
    while last > 0 and stages[last].plan.kind == "hold":
        last -= 1
    return last


def _past_best(run: ItemRun, ready: Floats) -> Floats:
    """First time at or after ready when a piece is too soft or too dark, or has cooled below hot holding."""
    trace = run.trace
    after = trace.time_s[:, None] >= ready[None, :]
    cooled = after & (trace["core_c"] < HOT_HOLD_C) & np.isfinite(trace["core_c"])
    first = np.where(cooled.any(axis=0), trace.time_s[np.argmax(cooled, axis=0)], np.nan)
    out = first
    for name in ("too_soft", "too_dark"):
        mark = trace.mark(name)
        out = np.fmin(out, np.where(np.isnan(mark), np.nan, np.maximum(mark, ready)))
    return np.asarray(np.where(np.isnan(ready), np.nan, out))


__all__ = ["ItemRun", "reckon", "reckon_runs", "until_words"]
