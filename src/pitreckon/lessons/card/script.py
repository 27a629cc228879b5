"""What a card tells its readers to do: its lines, each ended by a look or by the clock, and how hot the pit is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Final

from pitreckon.catalog import Cut
from pitreckon.cook import StagePlan, Until
from pitreckon.lessons.card.finished import FinishedItem, StageRecord
from pitreckon.reckon.stages import PIT_KINDS

FINE_S, COARSE_S, LONG_S = 300.0, 900.0, 5400.0
"""Times are written in five minutes, in a quarter of an hour from so long on."""
EVERY_S: Final = 1200.0
"""From one look to the next (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a card.

    plan: what is done; look: what ends it where one looks; None: nothing but the clock does, as a rest
    by_clock: the card goes by the clock; stage: how it went for the cook
    from_s, to_s: eight readers in ten are there between these [s]; middle_s: half of them by then
    """

    plan: StagePlan
    look: Until | None
    by_clock: bool
    stage: StageRecord
    from_s: float = 0.0
    middle_s: float = 0.0
    to_s: float = 0.0

    @property
    def on_pit(self) -> bool:
        """Is it done on the pit?"""
        return self.plan.kind in PIT_KINDS

    @property
    def clock_s(self) -> float:
        """What a reader who goes by the clock keeps [s]: the line's time, or the middle of its range."""
        return self.middle_s or self.stage.took_s


@dataclass(frozen=True, slots=True)
class Script:
    """All that a card has its readers do.

    set_c: the pit [degC], by its readout, or at the grate beside the meat where ``at_grate``
    every_s: from one look to the next, once it may be there [s]
    places: the thermometer goes into two or three places
    """

    lines: tuple[Line, ...]
    set_c: float
    every_s: float = EVERY_S
    at_grate: bool = False
    places: bool = False

    def with_line(self, n: int, line: Line) -> Script:
        """With another line at its place."""
        return replace(self, lines=(*self.lines[:n], line, *self.lines[n + 1 :]))

    def all_looked(self) -> Script:
        """As it should be: every line that can be ended by a look is."""
        return replace(self, lines=tuple(replace(line, by_clock=line.look is None) for line in self.lines))


def script_of(done: FinishedItem) -> Script:
    """The card as the cook did it. What the cook ended by a look is, what he ended by the clock goes by the clock."""
    lines = []
    for n, went in enumerate(done.stages):
        look = _look(done.cut, done.stages, n)
        plan = went.plan
        if went.plan.kind in PIT_KINDS and look is not None:
            plan = replace(plan, until=look)
        lines.append(Line(plan, look, by_clock=look is None or went.clocked, stage=went))
    return Script(tuple(lines), round_set_c(done.set_c))


def _look(cut: Cut, whole: Sequence[StageRecord], n: int) -> Until | None:
    """What a line waits for where one looks: what the cook saw, else what such a stage usually waits for."""
    went = whole[n]
    if went.plan.kind not in PIT_KINDS:
        return None
    if not went.clocked:
        return _safe(cut, went.plan.until, last=went.plan.until.ends_by == "core" and not _later(whole, n))
    if went.plan.kind == "sauced":
        return Until("glaze")
    later = _later(whole, n)
    if "wrapped" in later:
        return Until("colour")
    if went.plan.kind == "open" and not later and any(each.plan.kind == "wrapped" for each in whole[:n]):
        return None  # a last while in the open to firm up what was wrapped: nothing is waited for
    if cut.texture.done_by == "core":
        return Until("core", cut.texture.done_core_c.value)
    return Until("tender")


def _later(whole: Sequence[StageRecord], n: int) -> list[str]:
    """Kinds of the stages on the pit that follow."""
    return [each.plan.kind for each in whole[n + 1 :] if each.plan.kind in PIT_KINDS]


def _safe(cut: Cut, until: Until, *, last: bool) -> Until:
    """A core temperature that nothing hotter follows is never below the least that is official for the cut."""
    least = cut.texture.least_core_c.value
    return Until("core", max(until.core_c or 0.0, least)) if last else until


def round_set_c(set_c: float) -> float:
    """To whole five degrees Fahrenheit: nobody sets a pit closer."""
    return (5.0 * floor((set_c * 1.8 + 32.0) / 5.0 + 0.5) - 32.0) / 1.8


def with_times(script: Script, quantiles: Sequence[tuple[float, float, float]]) -> Script:
    """With what readers take for each line [s]: tenth, middle, nine tenths; written roundly, to the outside."""
    lines = []
    for line, (low, middle, high) in zip(script.lines, quantiles, strict=True):
        if line.by_clock or line.look is None:
            took = rounded_s(line.stage.took_s, floor, half=True)
            lines.append(replace(line, from_s=took, middle_s=took, to_s=took))
            continue
        first, last = rounded_s(low, floor), rounded_s(high, ceil)
        lines.append(replace(line, from_s=first, middle_s=rounded_s(middle, floor, half=True), to_s=last))
    return replace(script, lines=tuple(lines))


def rounded_s(span_s: float, way: Callable[[float], int], *, half: bool = False) -> float:
    """A time as a card has it [s]. way: ``floor`` or ``ceil``; half: to the nearest."""
    step = COARSE_S if span_s >= LONG_S else FINE_S
    return float(step * way(span_s / step + (0.5 if half else 0.0)))
