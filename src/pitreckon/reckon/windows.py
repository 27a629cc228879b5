"""Windows: from when the cook can wrap, sauce or pull an item, and from when it is too late for it.

A window opens for a member when what ends the stage is met. When it closes was not simulated, because the run
goes on with the next stage: it is drawn on at the rates just before the stage's end.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import StagePlan
from pitreckon.reckon.met import OPEN_WITHIN_S, met_s
from pitreckon.reckon.outlook import Window
from pitreckon.reckon.quantiles import quantiles_of
from pitreckon.reckon.stages import PIT_KINDS, Stage
from pitreckon.reckon.summary import HOT_HOLD_C, ItemRun, ready_stage, stage_ends
from pitreckon.section.trace import Trace
from pitreckon.text.said import said

OVER_K = 6.0
"""A cut that is done by its core has dried this far past it [K]: common practice, no source."""
GLAZE_BURNS_S = 600.0
"""How long a glaze that has set can stay on before it burns [s]: common practice, no source."""
FARTHEST_S = 12 * 3600.0
"""A rate is not drawn on for longer than this; what closes later does not close [s]."""
LASTING = frozenset({"minutes", "glaze"})
"""What ends a stage after a time of its own, whenever it began."""


@dataclass(frozen=True)
class ComingAct:
    """An act that is to come, for every member.

    act: put on, wrap, unwrap, sauce, put back, take off or hold; wrap: what it is wrapped in then
    until: what the cook waits for, in words after "when"; until_core_c: the core temperature that it is [degC], if
        it is one
    opens_s, closes_s: since put-on [s], shape (members,); nan where it does not come to that
    closes_by: what makes it too late, in words; "" when nothing does
    serve_by_s: the last time that leaves the rest of the course its time before serving; inf without one
    carries: what is late before it makes it later by as much
    stage: number of the stage that it ends; None: it is put on
    """

    act: str
    wrap: str | None
    until: str
    until_core_c: float | None
    opens_s: Floats
    closes_s: Floats
    closes_by: str
    serve_by_s: Floats
    carries: bool = False
    stage: int | None = None


class StageWords(Protocol):
    """What ends a stage, in words."""

    @property
    def until(self) -> str: ...
    @property
    def until_core_c(self) -> float | None: ...


class Planned(Protocol):
    """Of an item's outlook what its acts need; a planner has it without the outlook."""

    @property
    def put_on_planned(self) -> bool: ...
    @property
    def stages(self) -> Sequence[StageWords]: ...


def coming_acts(run: ItemRun, outlook: Planned, now: datetime, serve: datetime | None) -> tuple[ComingAct, ...]:
    """Every act of an item's course from now to the end of its last rest, in order.

    An act is taken as done when the ledger says so; where no ledger is kept of the item, and for what is done to
    meat that rests, when most of the members have done it. Only the first act to come is reckoned from what has
    really happened; those after it as if each act were done the moment it can be.
    """
    zero = run.put_on_utc.timestamp()
    now_s = now.timestamp() - zero
    stages, weights = run.stages, run.evidence.weights
    ends = stage_ends(run.trace, stages, run.put_on_utc)
    last = ready_stage(stages)
    serve_s = np.inf if serve is None else serve.timestamp() - zero
    left = np.where(np.isfinite(ends[last]), ends[last], -np.inf)  # who never gets ready is not waited for
    acts = []
    if outlook.put_on_planned and now_s <= OPEN_WITHIN_S:
        never = np.full(weights.size, np.nan)
        acts.append(ComingAct("put on", None, "", None, np.zeros(weights.size), never, "", serve_s - left))
    for i, stage in enumerate(stages):
        after = stages[i + 1] if i + 1 < len(stages) else None
        act = act_between(stage.plan, None if after is None else after.plan)
        if act is None or stage.ended_utc is not None:
            continue
        opens = _met(run, i, ends, now_s) if stage.running else ends[i]
        if not stage.running and quantiles_of(opens, weights).p50 <= now_s:
            continue
        closes, by = _closes(run, stage, ends[i], weights)
        wrap = after.wrap if act == "wrap" and after is not None else None
        words = outlook.stages[i]
        until = words.until
        if stage.plan.until.ends_by == "minutes":
            hour = stage.plan.until.duration_s == 3600.0
            until = said("the hour is over") if hour else said("the {span} are over", span=words.until)
        elif stage.plan.until.ends_by == "clock":
            until = said("it is {at}", at=words.until)
        acts.append(
            ComingAct(
                *(act, wrap, until, words.until_core_c, opens, np.maximum(closes, opens), by),
                serve_by_s=serve_s - left + np.where(np.isfinite(ends[i]), ends[i], 0.0),
                carries=stage.plan.until.ends_by in LASTING,
                stage=i,
            )
        )
    return tuple(acts)


def window_of(coming: ComingAct, weights: Floats, now_s: float) -> Window:
    """The window of an act with its spread; ``now_s`` is since put-on [s]."""
    return Window(
        act=coming.act,
        wrap=coming.wrap,
        until=coming.until,
        until_core_c=coming.until_core_c,
        opens_s=quantiles_of(coming.opens_s, weights),
        closes_s=quantiles_of(coming.closes_s, weights),
        closes_by=coming.closes_by,
        open_now=float(np.sum(weights[coming.opens_s <= now_s + OPEN_WITHIN_S])),
        too_late_now=float(np.sum(weights[coming.closes_s <= now_s])),
    )


def act_between(here: StagePlan, after: StagePlan | None) -> str | None:
    """What the cook does to get from one stage to the next; None: nothing, or only serve it."""
    on, kind = here.kind in PIT_KINDS, None if after is None else after.kind
    if kind == "wrapped":
        return "wrap"
    if kind == "sauced":
        return "sauce"
    if kind == "open":
        return {"open": None, "sauced": None, "wrapped": "unwrap"}.get(here.kind, "put back")
    if on:
        return "take off"
    return "hold" if here.kind == "rest" and kind == "hold" else None


def _met(run: ItemRun, index: int, ends: Floats, now_s: float) -> Floats:
    begin = ends[index - 1] if index else np.zeros_like(ends[index])
    zero = run.put_on_utc.timestamp()
    return met_s(run.trace, run.draw.members, run.stages[index].plan.until, (begin, ends[index]), now_s, zero)


def _closes(run: ItemRun, stage: Stage, end: Floats, weights: Floats) -> tuple[Floats, str]:
    """When it is too late to leave a stage that ended at ``end`` [s since put-on], and what makes it so.

    In the smoke the colour goes on straight at its rate; on the pit the collagen that is left at the core goes
    on by its share each second, for cuts that are done by temperature the core goes on straight. A glaze burns
    after a fixed span. At rest the core cools straight. All at the rates of the last record before the end,
    which in a stage shorter than a record (5 min) are in part those of the stage before it.
    """
    trace, members, kind = run.trace, run.draw.members, stage.plan.kind
    ways: dict[str, Floats] = {}
    if kind == "open":
        straight = _when(_before(trace, "colour", end), members["dark_at"], end)
        dark = trace.mark("too_dark")
        ways["too dark"] = np.where(dark <= end, dark, straight)
    if kind in PIT_KINDS and run.cut.texture.done_by == "core":
        over = np.maximum(members["core_done_c"], stage.plan.until.core_c or 0.0) + OVER_K
        ways["dried out"] = _when(_before(trace, "core_c", end), over, end)
    elif kind in PIT_KINDS:
        left = _before(trace, "gelatin_core", end)
        gone = Before(left.at_s, left.span_s, _gone(left.now), _gone(left.earlier))
        ways["too soft"] = _when(gone, _gone(members["soft_at"]), end)
    if kind == "sauced":
        ways["the glaze burns"] = end + GLAZE_BURNS_S
    if kind == "rest":
        warm = _before(trace, "core_c", end)
        ways["gone cold"] = _when(Before(warm.at_s, warm.span_s, -warm.now, -warm.earlier), -HOT_HOLD_C, end)
    if not ways:
        return np.full(end.size, np.nan), ""
    stack = np.array([np.where(np.isnan(at), np.inf, at) for at in ways.values()])
    first = stack.min(axis=0)
    share = [float(np.sum(weights[(at == first) & np.isfinite(first)])) for at in stack]
    by = list(ways)[int(np.argmax(share))] if max(share) > 0.0 else ""
    return np.where(np.isfinite(first), first, np.nan), by


@dataclass(frozen=True)
class Before:
    """A channel at each member's last record before a time, and at the one before that.

    at_s: the last record [s since put-on]; span_s: between the two [s]; now, earlier: the channel then; all (members,)
    """

    at_s: Floats
    span_s: Floats
    now: Floats
    earlier: Floats


def _before(trace: Trace, channel: str, end: Floats) -> Before:
    time_s, series, column = trace.time_s, trace[channel], np.arange(end.size)
    row = np.searchsorted(time_s, np.where(np.isfinite(end), end, time_s[-1]), side="right") - 1
    row = np.clip(row, 1, time_s.size - 1)
    return Before(time_s[row], time_s[row] - time_s[row - 1], series[row, column], series[row - 1, column])


def _gone(gelatin: Floats) -> Floats:
    """The running sum of the rate at which collagen went: straight in time when the rate stands still."""
    return np.asarray(-np.log(np.maximum(1.0 - gelatin, 1e-9)))


def _when(channel: Before, goal: Floats | float, end: Floats) -> Floats:
    """When a rising channel gets to a goal, drawn on straight from ``end`` [s since put-on], shape (members,).

    That time where it is there already; nan where it never gets there, or too far off.
    """
    rate = (channel.now - channel.earlier) / channel.span_s
    short = goal - (channel.now + rate * (end - channel.at_s))
    wait = np.where(short <= 0.0, 0.0, short / np.maximum(rate, 1e-15))
    return np.asarray(np.where(np.isfinite(end) & (wait <= FARTHEST_S), end + wait, np.nan))
