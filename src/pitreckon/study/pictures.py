"""Pictures of a study: for each thing that was kept, its spread over the values of each setting that was varied."""

from __future__ import annotations

import io
from collections.abc import Sequence
from math import isfinite
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Final

from pitreckon.reckon.quantiles import Quantiles
from pitreckon.sheets.pictures.canvas import INK, PAPER, SMOKE, WIDTH, bare, figure
from pitreckon.study.outcomes import OUTCOMES, Outcome
from pitreckon.study.summary import ALL, EACH_OF_THEM, Group, group_told, part_of, spread_is_whole
from pitreckon.units import POUND_KG, Scale, format_percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

A_VALUE: Final = 26.0
"""Height of a value [px]."""
BETWEEN: Final = 46.0
"""Of the head and the axis of a part [px]."""
HEAD, A_LINE, FOOT = 48.0, 12.0, 40.0
LEFT, RIGHT = 0.34, 0.96
LETTER, TICK = 7.0, 14.0
"""Of what stands beside a line [px]."""
WIDE, LONGEST = 70, 24
"""Letters in a line of the head, and beside a line: longer ones are broken, and of longer settings no part is made."""


def picture_of(name: str, groups: Sequence[Group], degrees: Scale, study: str) -> bytes:
    """An outcome as an SVG file: a part for each setting that is varied, a line for each of its values.

    A line goes from 5 to 95 % of the pieces, its dot stands at half of them; of a yes or a no, the dot is the share.
    Where not all got there, the share that did stands beside, and the line ends broken. study: its name

    Raises MissingExtraError: Matplotlib is not installed
    """
    outcome = OUTCOMES[name]
    parts: dict[str, list[Group]] = {}
    for group in groups:
        parts.setdefault(part_of(group), []).append(group)
    if len(parts) > 1:
        del parts[ALL]
    if max(len(group_told(group, degrees)) for group in parts.get(EACH_OF_THEM, ()) or groups[:1]) > LONGEST:
        del parts[EACH_OF_THEM]
    words = _words(outcome, study)
    rows = [A_VALUE * len(own) for own in parts.values()]
    head, mean = HEAD + A_LINE * len(words), sum(rows) / len(rows)
    tall = sum(rows) + BETWEEN * (len(rows) - 1) + head + FOOT
    made, axes = figure(tall, len(rows), height_ratios=rows, hspace=BETWEEN / mean)  # type: ignore[arg-type]
    longest = max(len(line) for own in parts.values() for group in own for line in _beside(group, degrees))
    left = max(LEFT, (LETTER * longest + TICK) / WIDTH)
    made.subplots_adjust(left=left, right=RIGHT, top=1.0 - head / tall, bottom=FOOT / tall)
    limits = _limits(outcome, [group for own in parts.values() for group in own], degrees)
    for part, (setting, own) in zip(axes[:, 0], parts.items(), strict=True):
        _part(part, setting, own, outcome, degrees, limits)
    axes[-1, 0].set_xlabel(_axis(outcome, degrees), color=INK)
    made.text(0.02, 1.0 - 6.0 / tall, outcome.name.replace("_", " "), color=INK, fontsize=13, va="top")
    for n, line in enumerate(words):
        made.text(0.02, 1.0 - (24.0 + A_LINE * n) / tall, line, color=INK, fontsize=9, va="top")
    return _svg(made, name)


def _words(outcome: Outcome, study: str) -> list[str]:
    """What a picture shows, in lines: it may be looked at away from its folder."""
    told = "Line: 5 to 95 % of the pieces; dot: half of them."
    if outcome.kind == "yes":
        told = "Dot: the share of the pieces."
    said = (f"{study}: {outcome.means}", told, "Simulated, and no promise.")
    return [line for each in said for line in wrap(each, WIDE)]


def _beside(group: Group, degrees: Scale) -> list[str]:
    """What stands beside its line, in lines."""
    return wrap(group_told(group, degrees), LONGEST)


def _part(
    axes: Axes, setting: str, own: Sequence[Group], outcome: Outcome, degrees: Scale, limits: tuple[float, float] | None
) -> None:
    bare(axes)
    for row, group in enumerate(own):
        _line(axes, row, group.spreads[outcome.name], outcome, degrees, limits)
    axes.set_yticks(range(len(own)), ["\n".join(_beside(group, degrees)) for group in own])
    axes.set_ylim(len(own) - 0.5, -0.5)
    axes.set_title("" if setting == ALL else setting.replace("_", " "), loc="left", color=INK, fontsize=12)
    if limits is None:
        axes.set_xticks([])
        return
    axes.set_xlim(*limits)
    axes.grid(axis="x", color=SMOKE, alpha=0.25, linewidth=0.6)


def _line(
    axes: Axes, row: int, spread: Quantiles, outcome: Outcome, degrees: Scale, limits: tuple[float, float] | None
) -> None:
    """The spread of a value's pieces, as far as they got."""
    low, middle, high = (_shown(outcome, value, degrees) for value in _ends(outcome, spread))
    known = [value for value in (low, middle, high) if isfinite(value)]
    if known and known[0] < known[-1]:
        axes.plot([known[0], known[-1]], [row, row], color=SMOKE, linewidth=2.0, solid_capstyle="butt")
    if known and limits is not None and len(known) < 3:
        axes.plot([known[-1], limits[1]], [row, row], color=SMOKE, linewidth=2.0, linestyle=":")
    if isfinite(middle):
        axes.plot([middle], [row], marker="o", color=INK, markersize=6)
    if outcome.kind != "yes" and not spread_is_whole(spread):
        few = "none got there" if spread.reached == 0.0 else f"{format_percent(spread.reached)} got there"
        place = axes.get_yaxis_transform()
        axes.text(0.99, row - 0.12, few, transform=place, ha="right", va="bottom", color=INK, fontsize=8)


def _ends(outcome: Outcome, spread: Quantiles) -> tuple[float, float, float]:
    if outcome.kind == "yes":
        return spread.reached, spread.reached, spread.reached
    return spread.p05, spread.p50, spread.p95


def _limits(outcome: Outcome, groups: Sequence[Group], degrees: Scale) -> tuple[float, float] | None:
    """Of the axis that all parts share, so that they can be compared; None: no piece of any got there."""
    if outcome.kind == "yes":
        return -2.0, 102.0
    every = [_shown(outcome, value, degrees) for g in groups for value in _ends(outcome, g.spreads[outcome.name])]
    finite = [value for value in every if isfinite(value)]
    if not finite:
        return None
    margin = 0.05 * (max(finite) - min(finite)) or 0.5
    return min(finite) - margin, max(finite) + margin


def _shown(outcome: Outcome, value: float, degrees: Scale) -> float:
    """In the unit of the axis."""
    match outcome.kind:
        case "time":
            return value / 3600.0
        case "temperature":
            return value * 1.8 + 32.0 if degrees == "F" else value
        case "weight":
            return value / POUND_KG if degrees == "F" else value
        case "share" | "yes":
            return 100.0 * value
        case _:
            return value


def _axis(outcome: Outcome, degrees: Scale) -> str:
    units = {
        "time": "hours since it was put on",
        "temperature": f"°{degrees}",
        "weight": "lb" if degrees == "F" else "kg",
        "share": "% of the raw weight",
        "yes": "% of the pieces",
        "level": "level",
    }
    return units[outcome.kind]


def _svg(made: Any, name: str) -> bytes:
    """A file that is the same whenever it is drawn."""
    import matplotlib as mpl  # noqa: PLC0415  it is there: the figure is

    out = io.BytesIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": f"study {name}"}):
        made.savefig(out, format="svg", facecolor=PAPER, metadata={"Date": None})
    return out.getvalue()
