"""What would have happened otherwise: minutes sooner or later, with their spread, one bar a change."""

from __future__ import annotations

from math import isnan
from typing import Final

from pitreckon.lessons.explain.story import Story
from pitreckon.sheets.pictures.canvas import FONT, INK, PAPER, SMOKE, bare, figure, svg_of
from pitreckon.sheets.pictures.curves import CurveWords

ROW: Final = 52.0


def otherwise(story: Story, names: list[str], words: CurveWords, said: str) -> str:
    """A bar a change: the thick mark is the likeliest, the bar nine in ten. names: of the changes"""
    found = [(name, each.minutes) for name, each in zip(names, story.otherwise, strict=True)]
    found = [(name, each) for name, each in found if not isnan(each.mid)]
    if not found:
        return ""
    height = ROW * len(found) + 62.0
    made, grid = figure(height, left=0.05, right=0.95, top=1.0 - 8.0 / height, bottom=46.0 / height)
    axes = grid[0, 0]
    bare(axes)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])
    most = max(abs(value) for _, each in found for value in (each.low, each.high))
    unit, by = (60.0, "h") if most > 150.0 else (1.0, "min")
    axes.axvline(0.0, color=INK, linewidth=1.0)
    for n, (name, each) in enumerate(found):
        y = float(len(found) - n) - 0.6
        axes.plot(
            [each.low / unit, each.high / unit], [y, y], color=SMOKE, linewidth=7, alpha=0.5, solid_capstyle="butt"
        )
        axes.plot([each.mid / unit], [y], marker="D", ms=7, mfc=INK, mec=INK)
        axes.text(
            -1.05 * most / unit,
            y + 0.28,
            name,
            fontsize=FONT,
            color=INK,
            va="bottom",
            ha="left",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.5},
        )
    axes.set_xlim(-1.08 * most / unit, 1.08 * most / unit)
    ticks = [tick for tick in axes.get_xticks() if abs(tick) <= 1.08 * most / unit]
    axes.set_xticks(ticks, [f"{abs(tick):g}" for tick in ticks])
    axes.set_ylim(0.0, float(len(found)) + 0.35)
    axes.set_xlabel(f"← {words.say('sooner')}    {words.say(by)}    {words.say('later')} →", fontsize=FONT, color=INK)
    return svg_of(made, "otherwise", said)
