"""How the times of a card move with the pit, the thickness, the wrap and the altitude, over its readers' pits."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.cook import StagePlan, Until
from pitreckon.lessons.card.cooked import Case, Cooked, Piece, cook_all
from pitreckon.lessons.card.readers import Readers
from pitreckon.lessons.card.script import Line, Script
from pitreckon.units import PIT_STEP_K

THINNER, THICKER = 0.8, 1.2
HIGH_M: Final = (1000.0, 2000.0)


@dataclass(frozen=True, slots=True)
class Moved:
    """One row: what is otherwise, and what it does.

    group: pit | thickness | wrap | altitude; "" for the card itself; key: which; value: [K], factor, wrap or [m]
    line_s: the middle time of each line on the pit [s]; total_s: tenth, middle and nine tenths of the whole on it [s]
    """

    group: str
    value: float | str
    line_s: tuple[float, ...]
    total_s: tuple[float, float, float]


def move_table(piece: Piece, script: Script, readers: Readers, threads: int | None = None) -> tuple[Moved, ...]:
    """The card as it is, then one thing changed at a time, each with the same readers, who look all the time."""
    rows = []
    for group, value, changed, case in _cases(script, piece.cut):
        cooked = cook_all(piece, changed, readers, ideal=True, case=case, threads=threads)
        rows.append(_row(group, value, changed, cooked))
    return tuple(rows)


def _cases(script: Script, cut: Cut) -> Iterator[tuple[str, float | str, Script, Case]]:
    yield "", 0.0, script, Case()
    for step in (-PIT_STEP_K, PIT_STEP_K):
        yield "pit", step, script, Case(set_k=step)
    for factor in (THINNER, THICKER):
        yield "thickness", factor, script, Case(thicker=factor)
    for wrap, changed in _wraps(script, cut):
        yield "wrap", wrap, changed, Case()
    for metres in HIGH_M:
        yield "altitude", metres, script, Case(altitude_m=metres)


def _wraps(script: Script, cut: Cut) -> Iterator[tuple[str, Script]]:
    """The card with another wrap, and with none; where it has none, with foil from the usual colour on.

    Nobody wraps what is done before it is tender, a bird, a fish or a link: such a card has no row for it.
    """
    wrapped = [n for n, line in enumerate(script.lines) if line.plan.kind == "wrapped"]
    if wrapped:
        n = wrapped[0]
        line = script.lines[n]
        for key in ("paper", "foil"):
            if key != line.plan.wrap and key in catalog.wraps():
                liquid = line.plan.liquid_kg if key == "foil" else 0.0
                yield key, script.with_line(n, replace(line, plan=replace(line.plan, wrap=key, liquid_kg=liquid)))
        bare = StagePlan("open", line.plan.until)
        yield "none", script.with_line(n, replace(line, plan=bare))
        return
    first = script.lines[0]
    by_core = cut.texture.done_by == "core"
    if by_core or first.look is None or first.look.ends_by not in {"tender", "core"}:
        return
    until = Until("colour")
    opened = Line(StagePlan("open", until), until, by_clock=False, stage=first.stage)
    rest = replace(first, plan=StagePlan("wrapped", first.look, wrap="foil"))
    yield "foil", replace(script, lines=(opened, rest, *script.lines[1:]))


def _row(group: str, value: float | str, script: Script, cooked: Cooked) -> Moved:
    on_pit = [n for n, line in enumerate(script.lines) if line.on_pit]
    lines = tuple(_quantiles(cooked.line_s[n])[1] for n in on_pit)
    low, middle, high = _quantiles(cooked.off_s)
    return Moved(group, value, lines, (low, middle, high))


def _quantiles(times: Floats) -> tuple[float, float, float]:
    """Tenth, middle, nine tenths; who never gets there takes longer than everybody."""
    never = np.isnan(times)
    known = np.where(never, np.inf, times)
    low, middle, high = (float(each) for each in np.quantile(known, (0.1, 0.5, 0.9), method="inverted_cdf"))
    return low, middle, high
