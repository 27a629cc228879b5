"""Pictures of a study: for each thing that was kept, its spread over the values of each setting that was varied."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from pitreckon.reckon.quantiles import Quantiles
from pitreckon.sheets.pictures.canvas import INK, PAPER, SMOKE, bare, figure
from pitreckon.study.outcomes import OUTCOMES, Outcome
from pitreckon.study.summary import Group, group_told
from pitreckon.units import POUND_KG, Scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT: Final = 150.0
"""Of the part of a setting, and of a value in it [px]."""
A_VALUE: Final = 26.0
LEFT, RIGHT = 0.34, 0.96


def picture_of(name: str, groups: Sequence[Group], degrees: Scale) -> bytes:
    """An outcome as an SVG file: a part for each setting that is varied, a line for each of its values.

    A line goes from 5 to 95 % of the pieces, its dot stands at half of them; of a yes or a no, the dot is the share.

    Raises MissingExtraError: Matplotlib is not installed
    """
    outcome = OUTCOMES[name]
    parts: dict[str, list[Group]] = {}
    for group in groups:
        parts.setdefault("" if group.setting is None else group.setting.name, []).append(group)
    if len(parts) > 1:
        del parts[""]
    rows = [A_VALUE * len(own) for own in parts.values()]
    made, axes = figure(sum(rows) + 46.0 * len(rows) + 34.0, len(rows), height_ratios=rows, hspace=0.9)  # type: ignore[arg-type]
    made.subplots_adjust(left=LEFT, right=RIGHT, top=1.0 - 34.0 / made.get_figheight() / 72.0, bottom=0.12)
    limits = _limits(outcome, [group for own in parts.values() for group in own], degrees)
    for part, (setting, own) in zip(axes[:, 0], parts.items(), strict=True):
        _part(part, setting, own, outcome, degrees, limits)
    axes[-1, 0].set_xlabel(_axis(outcome, degrees), color=INK)
    made.suptitle(outcome.name.replace("_", " "), color=INK, fontsize=13, x=0.02, ha="left")
    return _svg(made, name)


def _part(axes: Axes, setting: str, own: Sequence[Group], outcome: Outcome, degrees: Scale, limits: Any) -> None:
    bare(axes)
    for row, group in enumerate(own):
        spread = group.spreads[outcome.name]
        low, middle, high = (_shown(outcome, value, degrees) for value in _ends(outcome, spread))
        if low < high:
            axes.plot([low, high], [row, row], color=SMOKE, linewidth=2.0, solid_capstyle="butt")
        axes.plot([middle], [row], marker="o", color=INK, markersize=6)
    axes.set_yticks(range(len(own)), [group_told(group, degrees) for group in own])
    axes.set_ylim(len(own) - 0.5, -0.5)
    axes.set_xlim(*limits)
    axes.set_title(setting.replace("_", " "), loc="left", color=INK, fontsize=12)
    axes.grid(axis="x", color=SMOKE, alpha=0.25, linewidth=0.6)


def _ends(outcome: Outcome, spread: Quantiles) -> tuple[float, float, float]:
    if outcome.kind == "yes":
        return spread.reached, spread.reached, spread.reached
    return spread.p05, spread.p50, spread.p95


def _limits(outcome: Outcome, groups: Sequence[Group], degrees: Scale) -> tuple[float, float]:
    """Of the axis that all parts share, so that they can be compared."""
    if outcome.kind == "yes":
        return -2.0, 102.0
    every = [_shown(outcome, value, degrees) for g in groups for value in _ends(outcome, g.spreads[outcome.name])]
    finite = [value for value in every if abs(value) < float("inf")] or [0.0, 1.0]
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
