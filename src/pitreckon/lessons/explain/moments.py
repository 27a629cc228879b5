"""Five moments of a cook, and how the piece looks inside at each: temperature and collagen of every cell.

The kernel records only a few places; it keeps whole members at one moment a run. So the members are run once a moment.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.lessons.explain.members import Fitting
from pitreckon.reckon.cells import cells_of
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace
from pitreckon.text.said import said

NEAR_S: Final = 900.0
"""Moments nearer to each other than this are one [s]."""
STALL_FROM_C: Final = 50.0
"""A core that is slow below this has only just gone on [degC]."""


STILL: Final = 0.4
"""A core that rises less than this share of its mean rise stands still to the eye."""
FALLS_K: Final = -0.5
"""One that falls was cooled by what somebody did [K]."""


@dataclass(frozen=True, slots=True)
class Slow:
    """Where the core rose least: the middle of the stretch [s since put-on], its length [s], the rise [K]."""

    at_s: float
    lasts_s: float
    rise_k: float


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of a cook [s since put-on]. name: in words, as the heading of its picture"""

    name: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Inside:
    """The piece at a moment: the middle member in every cell.

    temp_c: [degC], turned: share of the collagen that has become gelatin [-], shape (cells,) each
    """

    moment: Moment
    temp_c: Floats
    turned: Floats


def moments_of(fitted: Fitting, trace: Trace, end_s: float) -> tuple[Moment, ...]:
    """Put-on, before the wrap or in the stall, in the wrap, tender, after the rest; in order of time.

    end_s: when it was eaten, or its course was over [s since put-on]
    """
    ends = ends_of(fitted, trace)
    off_s = max((end for (kind, _), end in ends if kind in PIT_KINDS), default=end_s)
    core = fitted.track.cut.texture.done_by == "core"
    done = trace.mark("core_done" if core else "tender")
    done_s = float(np.median(np.where(np.isnan(done), np.inf, done)))
    tender = Moment(said("done at the core") if core else said("tender"), done_s)
    if done_s > off_s:
        tender = Moment(said("taken off"), off_s)
    found = [
        Moment(said("as it goes on"), 0.0),
        *_between(ends, slow_of(fitted, trace, tender.at_s), tender.at_s),
        tender,
    ]
    found.append(Moment(said("after the rest"), end_s))
    kept: list[Moment] = []
    for each in sorted(found, key=lambda each: each.at_s):
        if not kept or each.at_s - kept[-1].at_s >= 60.0:
            kept.append(each)
    return tuple(kept)


def ends_of(fitted: Fitting, trace: Trace) -> list[tuple[tuple[str, str | None], float]]:
    """Kind and wrap of each stage, and when it ended [s since put-on]: by the ledger, else in the middle member."""
    out = []
    for stage, ends in zip(fitted.track.stages, trace.stage_end_s, strict=False):
        at_s = float(np.nanmedian(ends)) if np.isfinite(ends).any() else np.nan
        if stage.ended_utc is not None:
            at_s = stage.ended_utc.timestamp() - fitted.track.zero
        if np.isfinite(at_s):
            out.append(((stage.plan.kind, stage.wrap), at_s))
    return out


def _between(ends: Sequence[tuple[tuple[str, str | None], float]], slow: Slow | None, tender_s: float) -> list[Moment]:
    """Two moments between put-on and tender."""
    begin_s = 0.0
    for (kind, _), end in ends:
        if kind == "wrapped" and end - begin_s > 2.0 * NEAR_S:
            inside = Moment(said("at the end of the wrap"), end)
            if abs(end - tender_s) < 2.0 * NEAR_S or end > tender_s:
                inside = Moment(said("in the wrap, half way"), 0.5 * (begin_s + min(end, max(tender_s, begin_s))))
            before = Moment(said("just before the wrap"), begin_s)
            return [before, inside] if begin_s > 0.0 else [inside]
        begin_s = end
    if slow is None or not NEAR_S < slow.at_s < tender_s - NEAR_S:
        return [
            Moment(said("a third of the way"), tender_s / 3.0),
            Moment(said("two thirds of the way"), tender_s / 1.5),
        ]
    return [Moment(said("in the stall"), slow.at_s), Moment(said("after the stall"), 0.5 * (slow.at_s + tender_s))]


def slow_of(fitted: Fitting, trace: Trace, done_s: float) -> Slow | None:
    """Where the core of meat that is cooked tender stood nearly still: bare, if it did there; else anywhere.

    It is looked for over an eighth of the way to done. None: nowhere, or the cut is done at a core that it
    gets to before it could stall.
    """
    if fitted.track.cut.texture.done_by == "core":
        return None
    core = np.nanmedian(trace["core_c"][trace.time_s <= done_s], axis=1)
    span = max(round(done_s / 8.0 / float(trace.time_s[1] - trace.time_s[0])), 1)
    most_k = STILL * float(core[-1] - core[0]) / 8.0
    bare_s = next((at_s for (kind, _), at_s in ends_of(fitted, trace) if kind == "open"), done_s)
    for until_s in (min(bare_s, done_s), done_s):
        rows = [r for r in range(core.size - span) if trace.time_s[r + span] <= until_s and core[r] >= STALL_FROM_C]
        if not rows:
            continue
        row = min(rows, key=lambda r: float(core[r + span] - core[r]))
        rise_k = float(core[row + span] - core[row])
        if FALLS_K <= rise_k <= most_k:
            length = float(trace.time_s[row + span] - trace.time_s[row])
            return Slow(float(trace.time_s[row]) + 0.5 * length, length, rise_k)
    return None


def insides(fitted: Fitting, moments: Sequence[Moment], threads: int | None = None) -> tuple[Inside, ...]:
    """The piece at each of the moments."""
    knot_s = fitted.made.job.drive.knot_s
    jobs = []
    for each in moments:
        at_s = round(each.at_s / knot_s) * knot_s
        jobs.append(fitted.job(at_s + knot_s, at_s))
    out, members = [], fitted.made.job.members.take(fitted.chosen)
    for each, trace in zip(moments, simulate_all(jobs, threads=threads), strict=True):
        assert trace.snapshot is not None  # it was asked for
        cells = cells_of(trace.snapshot, fitted.track.section, members)
        inside = [np.median(values[:, cells.alive], axis=1) for values in (cells.temp_c, cells.turned)]
        out.append(Inside(each, *inside))
    return tuple(out)
