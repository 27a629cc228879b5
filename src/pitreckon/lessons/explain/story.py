"""The story of a finished cook: curves with their bands, what was done and seen, inside the piece, what if."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Cook
from pitreckon.ledger import Act, Ledger
from pitreckon.lessons.card.finished import FinishedItem, finished_item
from pitreckon.lessons.explain.members import Fitting, fitting
from pitreckon.lessons.explain.moments import Inside, Slow, ends_of, insides, moments_of, slow_of
from pitreckon.lessons.explain.otherwise import Otherwise, otherwise
from pitreckon.lessons.lasttime.run import Run, run_of
from pitreckon.lessons.lasttime.spread import Spread
from pitreckon.reckon.measures import held_at, level_of_colour
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace

LEVELS: Final = (0.05, 0.5, 0.95)
SAMPLES: Final = 180
"""Points of a curve."""


@dataclass(frozen=True, slots=True)
class Band:
    """A course of a number over time: 5, 50 and 95 % of the members, (points,) each."""

    low: Floats
    mid: Floats
    high: Floats

    def at(self, n: int) -> Spread:
        """At a point."""
        return Spread(float(self.low[n]), float(self.mid[n]), float(self.high[n]))


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stage: its kind and wrap, from and until [s since put-on]."""

    kind: str
    wrap: str | None
    from_s: float
    until_s: float


@dataclass(frozen=True)
class Story:
    """All of it.

    run: how it was recorded; acts: what was done to it and its pit
    piece: whose members these are, None: of all pieces; end_s: eaten, or over
    time_s: of the curves [s since put-on]; air_c, core_c, surface_c [degC]; lost: water, share of the raw weight;
        damp: water activity of the surface [-]; colour: level; turned: share of the core's collagen [-]
    evaporated, dripped: of the loss, at the end, middle; size: of the middle member over its section [-]
    """

    run: Run
    acts: tuple[Act, ...]
    piece: int | None
    section: Section
    size: float
    stretches: tuple[Stretch, ...]
    off_s: float
    end_s: float
    time_s: Floats
    air_c: Band
    core_c: Band
    surface_c: Band
    lost: Band
    damp: Band
    colour: Band
    turned: Band
    evaporated: float
    dripped: float
    slow: Slow | None
    insides: tuple[Inside, ...]
    otherwise: tuple[Otherwise, ...]

    @property
    def done(self) -> FinishedItem:
        """The finished item."""
        return self.run.finished

    def row(self, at_s: float) -> int:
        """The point of the curves nearest to a time."""
        return int(np.argmin(np.abs(self.time_s - at_s)))


def story_of(
    cook: Cook,
    ledger: Ledger,
    item: str | None,
    *,
    seed: int = 1,
    tell: Callable[[str], None] = lambda _: None,
    threads: int | None = None,
) -> Story:
    """The story of an item that is off the pit. item: its label; None: the only one that is. tell: how far it is

    Raises InputError: there is no such item, or it is not off the pit
    """
    done = finished_item(cook, ledger, item)
    run = run_of(cook, ledger, done.item.label)
    tell("finding the simulated pieces that fit what was seen")
    fitted = fitting(cook, ledger, done, seed, threads)
    (trace,) = simulate_all([fitted.job(fitted.track.horizon_s)], threads=threads)
    stretches = _stretches(fitted, trace)
    off_s = max((s.until_s for s in stretches if s.kind in PIT_KINDS), default=run.off_s)
    end_s = max((s.until_s for s in stretches if s.kind in {*PIT_KINDS, "rest"}), default=off_s)
    end_s = max(end_s, off_s)
    tell("looking into the piece at five moments")
    moments = moments_of(fitted, trace, end_s)
    inside = insides(fitted, moments, threads)
    tell("cooking it again, with one thing otherwise each")
    ways = otherwise(cook, ledger, done, fitted, threads)
    time_s = np.linspace(0.0, end_s, SAMPLES)
    slow = slow_of(fitted, trace, moments[-2].at_s)

    def band(channel: str) -> Band:
        return _band([held_at(trace, channel, float(at)) for at in time_s])

    dark = fitted.of("dark_at")
    colour = _band([level_of_colour(held_at(trace, "colour", float(at)), dark) for at in time_s])
    lost = _band([held_at(trace, "evaporated", float(at)) + held_at(trace, "dripped", float(at)) for at in time_s])
    return Story(
        run=run,
        acts=(*fitted.track.acts, *ledger.acts(done.item.pit)),
        piece=fitted.track.piece,
        section=fitted.track.section,
        size=float(np.median(fitted.of("scale"))),
        stretches=stretches,
        off_s=off_s,
        end_s=end_s,
        time_s=time_s,
        air_c=band("air_c"),
        core_c=band("core_c"),
        surface_c=band("surface_c"),
        lost=lost,
        damp=band("activity"),
        colour=colour,
        turned=band("gelatin_core"),
        evaporated=float(np.nanmedian(held_at(trace, "evaporated", end_s))),
        dripped=float(np.nanmedian(held_at(trace, "dripped", end_s))),
        slow=slow,
        insides=inside,
        otherwise=ways,
    )


def _stretches(fitted: Fitting, trace: Trace) -> tuple[Stretch, ...]:
    out, begin_s = [], 0.0
    for (kind, wrap), end_s in ends_of(fitted, trace):
        if end_s - begin_s >= 60.0:
            out.append(Stretch(kind, wrap, begin_s, end_s))
            begin_s = end_s
    return tuple(out)


def _band(values: list[Floats]) -> Band:
    low, mid, high = np.nanquantile(np.stack(values), LEVELS, axis=1)
    return Band(low, mid, high)
