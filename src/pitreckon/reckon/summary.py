"""What an item's members say: marks, windows and the present, as an ``ItemOutlook``."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan
from pitreckon.ledger import Ledger
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.reckon import pitair
from pitreckon.reckon.around import BELOW_BOIL_K, LONGEST_STAGE_S
from pitreckon.reckon.draws import ItemDraw
from pitreckon.reckon.evidence import Evidence
from pitreckon.reckon.measures import at_each, held_at, level_of_colour
from pitreckon.reckon.minutes import Air
from pitreckon.reckon.outlook import ItemOutlook, StageOutlook
from pitreckon.reckon.pieces import first_and_last
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.quantiles import quantiles_of
from pitreckon.reckon.seen import MEANT, seen_too_dark
from pitreckon.reckon.stages import PIT_KINDS, Stage
from pitreckon.section.shapes import Section
from pitreckon.section.trace import Trace
from pitreckon.text.said import clock_time, instant, said, temperature
from pitreckon.units import format_duration, format_temperature, instant_after

HOT_HOLD_C = 60.0
"""Below this a piece that stands is past its best: USDA home advice is to hold hot food at 140 degF or above."""

ROUNDED_K = 0.05
"""Official minima are whole degrees Fahrenheit, those of the catalog tenths of a degree Celsius: 145 degF is not short
of 62.8 degC."""


MAY_NOT_REACH = "its core may not reach {least}, the official minimum, before it is called ready"
NOT_REACHED = "its core may not have reached {least}, the official minimum, before it is called ready"


@dataclass(frozen=True)
class ItemRun:
    """An item's ensemble and what happened to it; for those who build on ``reckon``.

    It is that of the pieces which nothing sets apart; where every piece is, of the one that is ready last.
    ``tracks`` has all of them.
    """

    item: ItemPlan
    cut: Cut
    section: Section
    draw: ItemDraw
    stages: tuple[Stage, ...]
    trace: Trace
    evidence: Evidence
    put_on_utc: datetime
    air_c: Air
    tracks: tuple[Posterior, ...]

    @classmethod
    def of(cls, tracks: tuple[Posterior, ...]) -> ItemRun:
        """From the tracks of one item."""
        main = next((t for t in tracks if t.track.piece is None), None) or max(tracks, key=_ready_median)
        track, each = main.track, main.ensemble
        return cls(
            *(track.item, track.cut, track.section, each.draw, track.stages),
            *(main.trace, main.evidence, track.put_on, each.air_c, tracks),
        )

    @property
    def main(self) -> Posterior:
        """The track that it is of."""
        return next(got for got in self.tracks if got.trace is self.trace)

    @property
    def done_s(self) -> Floats:
        """When each member is tender, or its core is done where that is what counts [s since put-on]; nan: never.

        What was felt to be tender is so, in members too that cannot explain it.
        """
        done = self.trace.mark("core_done" if self.cut.texture.done_by == "core" else "tender")
        felt = any(stage.there for stage in self.stages)
        return np.asarray(np.fmin(done, self.main.track.now_s)) if felt else done

    @property
    def ends_s(self) -> Floats:
        """End of each stage in every member [s since put-on], (stages, members); nan: not reached."""
        return stage_ends(self.trace, self.stages, self.put_on_utc)

    @property
    def ready_s(self) -> Floats:
        """When each member can be served [s since put-on]; nan: never."""
        return np.asarray(self.ends_s[ready_stage(self.stages)])


def stage_ends(trace: Trace, stages: tuple[Stage, ...], put_on: datetime) -> Floats:
    """End of each stage [s since put-on]: the kernel ends a stage on a knot; where the ledger says, it knows better."""
    ends = trace.stage_end_s.copy()
    for i, stage in enumerate(stages):
        if stage.ended_utc is not None:
            ends[i] = stage.ended_utc.timestamp() - put_on.timestamp()
    return ends


def _ready(track: Posterior) -> Floats:
    stages = track.track.stages
    return np.asarray(stage_ends(track.trace, stages, track.track.put_on)[ready_stage(stages)])


def _ready_median(track: Posterior) -> float:
    return track.track.zero + quantiles_of(_ready(track), track.weights).p50


def until_words(stage: Stage, cook: Cook) -> str:
    """What ends a stage, as a cook says it."""
    until = stage.plan.until
    match until.ends_by:
        case "core":
            return said("{core} at the core", core=temperature(until.core_c or 0.0))
        case "minutes":
            return format_duration(until.duration_s or 0.0)
        case "clock":
            if until.at_utc is None:
                return ""
            return instant(until.at_utc, until.at_utc.astimezone(cook.zone_info).strftime("%H:%M"))
        case "colour":
            return said("the colour is set" if until.level == 1.0 else "the colour is right")
        case "tender":
            return said("the probe slides in" if until.level == 1.0 else "the probe feels right")
        case _:
            return said("the glaze has set")


def item_outlook(cook: Cook, run: ItemRun, ledger: Ledger, now: datetime) -> ItemOutlook:
    trace, weights = run.trace, run.evidence.weights
    now_s = max(now.timestamp() - run.put_on_utc.timestamp(), 0.0)
    ends = run.ends_s
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
            begins_s=quantiles_of(begins[i], weights),
            ends_s=quantiles_of(ends[i], weights),
            done=stage.ended_utc is not None,
            now=float(np.sum(weights[stage_now == i])),
        )
        for i, stage in enumerate(run.stages)
    )
    ready = run.ready_s
    past = past_best(run, ready)
    first_ready, last_ready = _first_and_last_ready(run)
    values = {
        "colour_set": trace.mark("colour_set"),
        "tender": run.done_s,
        "glaze_set": trace.mark("glaze_set"),
        "ready": ready,
        "past_best": past,
    }
    over = all(stage.ended_utc is not None for stage in run.stages)
    over_s = np.max(ends[: len(run.stages)], axis=0) if over else np.inf
    for name in ("colour_set", "tender", "glaze_set"):  # what is served gets no further, whatever its member would
        values[name] = np.where(values[name] <= over_s, values[name], np.nan)
    safe = float(np.sum(weights[core_got_to_least(run)]))
    on_time = ready_by = at_best = None
    spoils_by = ""
    serve = cook.served_at(run.item)
    if serve is not None:
        serve_s = serve.timestamp() - run.put_on_utc.timestamp()
        spoilt = float(np.sum(weights[(ready <= serve_s) & (past < serve_s)]))
        ready_by = share_by(last_ready, serve_s)
        on_time = max(ready_by - spoilt, 0.0)
        at_best = 1.0 - spoilt
        spoils_by = _spoils_by(run, ready, (ready <= serve_s) & (past < serve_s))
        if spoilt < MEANT and seen_too_dark(run.item.label, run.item.pieces, ledger, run.put_on_utc, now):
            on_time, at_best, spoils_by = min(on_time, (1.0 - MEANT) * ready_by), 1.0 - MEANT, "too dark"
    served = [act.at_utc for act in ledger.acts(run.item.label) if act.act == "served"]
    put_on_logged = any(act.act == "put on" for act in ledger.acts(run.item.label))

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
        marks={name: quantiles_of(v, weights) for name, v in values.items()},
        first_ready=quantiles_of(first_ready.values, first_ready.weights),
        last_ready=quantiles_of(last_ready.values, last_ready.weights),
        core_c=quantiles_of(now_spread("core_c"), weights),
        loss_fraction=quantiles_of(loss, weights),
        colour=quantiles_of(level_of_colour(now_spread("colour"), run.draw.members["dark_at"]), weights),
        gelatin=quantiles_of(now_spread("gelatin_core"), weights),
        pit_c=quantiles_of(run.air_c[min(int(now_s // pitair.KNOT_S), run.air_c.shape[0] - 1)], weights),
        grate_k=quantiles_of(run.draw.grate_k + run.draw.spot_k, weights),
        on_time=on_time,
        least_core=safe,
        ess=run.evidence.ess,
        tempering_exponent=run.evidence.tempering_exponent,
        failed=len(trace.failed),
        notes=_notes(cook, run, safe, ready, now),
        ready_by=ready_by,
        at_best=at_best,
        spoils_by=spoils_by,
        serve_utc=serve,
        served_utc=served[-1] if served else None,
    )


@dataclass(frozen=True)
class Draws:
    """Weighted values of something."""

    values: Floats
    weights: Floats


def share_by(draws: Draws, limit: float) -> float:
    """Share of the draws at or below a limit."""
    return float(np.sum(draws.weights[draws.values <= limit]))


def _first_and_last_ready(run: ItemRun) -> tuple[Draws, Draws]:
    """When the first and the last piece are ready [s since the item's put-on]."""
    if run.item.pieces == 1:
        ready = Draws(run.ready_s, run.evidence.weights)
        return ready, ready
    zero = run.put_on_utc.timestamp()
    first, last = first_and_last(run.tracks, [t.track.zero + _ready(t) - zero for t in run.tracks])
    alike = np.full(first.size, 1.0 / first.size)
    return Draws(first, alike), Draws(last, alike)


def last_ready(run: ItemRun) -> Draws:
    """When the last piece is ready [s since the item's put-on]; nan or inf: never."""
    return _first_and_last_ready(run)[1]


def core_got_to_least(run: ItemRun) -> Bools:
    """Was every member's core at the official minimum at some time before it is ready; one that never is, at any time.

    What a record before that moment shows counts, the core as it came off, and the temperature that ended a stage of
    its own accord: a sausage that goes straight from the pit to the table gets there between two records.
    """
    trace = run.trace
    ready = np.where(np.isnan(run.ready_s), np.inf, run.ready_s)
    core = trace.written("core_c")
    core = np.where(np.isfinite(core), core, -np.inf)
    hottest = np.max(np.where(trace.time_s[: core.shape[0], None] <= ready[None, :] + 1.0, core, -np.inf), axis=0)
    begin = np.zeros(ready.size)
    for stage, end in zip(run.stages, run.ends_s, strict=False):
        came = np.isfinite(end) & (end <= ready)
        reached = at_each(trace, "core_c", np.where(came, end, 0.0))
        until_c = stage.plan.until.core_c
        if until_c is not None and stage.ended_utc is None:
            by_itself = end - begin < LONGEST_STAGE_S.get(stage.plan.kind, np.inf) - 60.0
            reached = np.where(by_itself, np.fmax(reached, until_c), reached)
        hottest = np.where(came, np.fmax(hottest, reached), hottest)
        begin = np.where(np.isfinite(end), end, begin)
    return np.asarray(hottest >= run.cut.texture.least_core_c.value - ROUNDED_K)


def _notes(cook: Cook, run: ItemRun, safe: float, ready: Floats, now: datetime) -> tuple[str, ...]:
    """What the cook should know besides the marks, in plain sentences."""
    notes = []
    least_c = run.cut.texture.least_core_c.value
    least = temperature(least_c, f"{format_temperature(least_c)} ({format_temperature(least_c, 'C')})")
    if safe < 0.98:
        came_off = run.stages[ready_stage(run.stages)].ended_utc is not None
        message = NOT_REACHED if came_off else MAY_NOT_REACH
        notes.append(said(message, least=least))
    if run.evidence.ess == 0.0 and run.trace.failed:
        notes.append(said("the model failed for every member; nothing can be said"))
    elif any(track.evidence.tempering_exponent < 1.0 for track in run.tracks):
        notes.append(said("looks and probe disagree with each other or with the pit; the forecast is kept wide"))
    for track in run.tracks:
        notes += odd_words(cook, track, now)
    if run.trace.failed:
        notes.append(said("{n} members of the ensemble failed and were left out", n=len(run.trace.failed)))
    dark = run.trace.mark("too_dark")
    early = float(np.sum(run.evidence.weights[dark < np.where(np.isnan(ready), np.inf, ready)]))
    if early > 0.5:
        notes.append(said("likely too dark before it is ready: wrap sooner or run the pit cooler"))
    return (*notes, *_beyond_words(cook, run))


def _beyond_words(cook: Cook, run: ItemRun) -> Iterator[str]:
    """Core temperatures to come that wet meat cannot have here, or that the pit cannot give."""
    boil_c = boiling_point(pressure_isa(cook.altitude_m))
    track = run.tracks[0].track
    set_c = pitair.set_last(cook.pit(track.pit).set_c, track.ledger.acts(track.pit))
    for stage in run.stages:
        until_c = stage.plan.until.core_c
        if until_c is None or stage.ended_utc is not None:
            continue
        wanted, reachable_c = temperature(until_c), boil_c - BELOW_BOIL_K
        if until_c > reachable_c:
            yield said(
                "its core cannot come to {wanted} here: water boils at {boil}, and wet meat gets no hotter; "
                "{reachable} is taken in its place, so go by the probe's feel",
                wanted=wanted,
                boil=temperature(boil_c),
                reachable=temperature(reachable_c),
            )
        elif stage.plan.kind in PIT_KINDS and until_c >= set_c:
            yield said(
                "its core cannot come to {wanted} in a pit at {set}: run it hotter",
                wanted=wanted,
                set=temperature(set_c),
            )


def ready_stage(stages: tuple[Stage, ...]) -> int:
    """The last stage before a hold: at its end the item can be served."""
    last = len(stages) - 1
    while last > 0 and stages[last].plan.kind == "hold":
        last -= 1
    return last


def past_best(run: ItemRun, ready: Floats) -> Floats:
    """First time at or after ready when a piece is too soft or too dark, or has cooled below hot holding."""
    trace = run.trace
    core = trace.written("core_c")
    after = trace.time_s[: core.shape[0], None] >= ready[None, :]
    cooled = after & (core < HOT_HOLD_C) & np.isfinite(core)
    first = np.where(cooled.any(axis=0), trace.time_s[np.argmax(cooled, axis=0)], np.nan)
    out = first
    for name in ("too_soft", "too_dark"):
        mark = trace.mark(name)
        out = np.fmin(out, np.where(np.isnan(mark), np.nan, np.maximum(mark, ready)))
    return np.asarray(np.where(np.isnan(ready), np.nan, out))


def _spoils_by(run: ItemRun, ready: Floats, spoilt: Bools) -> str:
    """What makes most of the members that are past their best by serving so; "" where there are none."""
    if not spoilt.any():
        return ""
    marks = {"too soft": run.trace.mark("too_soft"), "too dark": run.trace.mark("too_dark")}
    first = np.stack([np.where(np.isnan(at), np.inf, np.maximum(at, ready)) for at in marks.values()])
    cold = np.where(np.isnan(past_best(run, ready)), np.inf, past_best(run, ready))
    ways = {**dict(zip(marks, first, strict=True)), "gone cold": np.where((first > cold).all(axis=0), cold, np.inf)}
    soonest = np.min(np.stack(list(ways.values())), axis=0)
    weights = run.evidence.weights
    shares = {name: float(weights[spoilt & (at <= soonest)].sum()) for name, at in ways.items()}
    return max(shares, key=lambda name: shares[name])


MOST_ODD = 3
"""Things that do not fit that are named; after these the cook knows."""


def odd_words(cook: Cook, got: Posterior, now: datetime) -> list[str]:
    """What of a track's evidence does not fit, and what became of its probe."""
    track = got.track

    def at(seconds: float) -> str:
        when = instant_after(track.put_on, seconds)
        return clock_time(when, cook.zone_info, now)

    def whose(what: str) -> str:
        return said(what) if track.piece is None else said("{what} of piece {n}", what=said(what), n=track.piece)

    seen: dict[str, str] = {}
    for what, when in got.evidence.outliers:
        if what == "the probe":
            seen.setdefault(what, said("{what} does not fit the rest from {at} on", what=whose(what), at=at(when)))
        else:
            thing = said("{what} at {at}", what=said(what), at=at(when))
            if track.piece is not None:
                thing = said("{what} of piece {n}", what=thing, n=track.piece)
            seen.setdefault(f"{what} {at(when)}", said("{what} does not fit the rest: look again", what=thing))
    probe = [
        said("{what} {happened} (from {at})", what=whose("the probe"), happened=said(note), at=at(when))
        for when, note in track.observations.probe.notes
    ]
    return [*list(seen.values())[:MOST_ODD], *probe[-2:]]
