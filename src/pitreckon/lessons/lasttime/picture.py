"""Two cooks of a cut on one clock: stages, pit and core, and what was looked at. SVG, made here.

This time is drawn in full lines with round marks, last time in broken ones with square marks: no meaning by colour.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from math import ceil, floor
from typing import Final

from pitreckon.lessons.lasttime.run import Points, Run
from pitreckon.units import Scale, format_temperature

WIDTH, TALL = 360.0, 318.0
LEFT, RIGHT = 44.0, 10.0
THIS_Y, LAST_Y = 34.0, 76.0
TOP, BOTTOM = 96.0, 288.0
"""Of the temperatures."""
PER_LETTER: Final = 6.8
HOUR_S: Final = 3600.0
MOST_HOURS: Final = 8
"""More marks than this on the clock would run into each other."""
STEPS: Final[dict[Scale, float]] = {"F": 50.0, "C": 25.0}
"""Between two levels that are drawn, by the reader's degrees."""
STYLE: Final = (
    ".against text{font:13px sans-serif}.against .this,.against .rule,.against .last{stroke:#000;fill:none}"
    ".against .this{stroke-width:2.4}.against .last{stroke-width:1.8;stroke-dasharray:5 4}"
    ".against .pit{stroke-width:1}.against .rule{stroke-width:.5;stroke-opacity:.5}"
    ".against .mark{fill:#fff;stroke:#000;stroke-width:1.8;stroke-dasharray:none}"
)
"""For a file of its own; a page has a style sheet."""


@dataclass(frozen=True, slots=True)
class Words:
    """What stands in the picture. said: all of it, for who does not see it; stage: of a kind and a wrap"""

    this: str
    last: str
    said: str
    stage: Callable[[str, str | None], str]
    scale: Scale


def picture(this: Run, last: Run, words: Words, *, alone: bool = False) -> str:
    """The picture. alone: as a file of its own, with its style in it"""
    end_s = max(this.end_s, last.end_s, HOUR_S)
    every = [c for run in (this, last) for _, c in (*run.core, *run.pit, *_spots(run))] or [20.0, 100.0]
    low, high = min(every), max(every)
    levels = _levels(low, high, words.scale)
    low, high = levels[0], levels[-1]

    def x(since_s: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * since_s / end_s

    def y(temp_c: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (temp_c - low) / max(high - low, 1.0)

    size = f' width="{WIDTH * 2:g}" height="{TALL * 2:g}" xmlns="http://www.w3.org/2000/svg"' if alone else ""
    parts = [
        f'<svg class="against" viewBox="0 0 {WIDTH:g} {TALL:g}"{size} role="img" aria-label="{escape(words.said)}">'
    ]
    parts += [f"<style>{STYLE}</style>"] if alone else []
    for c in levels:
        parts.append(f'<path class="rule" d="M{LEFT:g} {y(c):.1f}H{WIDTH - RIGHT:g}"/>')
        parts.append(f'<text x="0" y="{y(c) + 4.5:.1f}">{format_temperature(c, words.scale)}</text>')
    step = 1 if end_s / HOUR_S <= MOST_HOURS else 2 if end_s / HOUR_S <= 2 * MOST_HOURS else 4
    for hour in range(0, int(end_s / HOUR_S) + 1, step):
        at = x(hour * HOUR_S)
        parts.append(f'<path class="rule" d="M{at:.1f} {TOP:g}V{BOTTOM:g}"/>')
        parts.append(f'<text x="{at - 4.0:.1f}" y="{BOTTOM + 18.0:g}">{hour}{" h" if hour == 0 else ""}</text>')
    for run, css, name, at_y in ((last, "last", words.last, LAST_Y), (this, "this", words.this, THIS_Y)):
        parts += _rail(run, css, name, at_y, x, words)
        parts += [_line(run.pit, f"{css} pit", x, y), _line(run.core, css, x, y)]
        parts += [_mark(css, x(at_s), y(temp_c)) for at_s, temp_c in _spots(run)]
    return "".join([*parts, "</svg>"])


def _levels(low_c: float, high_c: float, scale: Scale) -> list[float]:
    """Round temperatures in the reader's degrees [degC], from below the lowest to above the highest."""
    times, zero = (1.8, 32.0) if scale == "F" else (1.0, 0.0)
    step = STEPS[scale]
    first, last = floor((low_c * times + zero) / step), ceil((high_c * times + zero) / step)
    return [(n * step - zero) / times for n in range(first, max(last, first + 1) + 1)]


def _spots(run: Run) -> list[tuple[float, float]]:
    return [(at_s, look.value) for at_s, look in run.looks if look.kind == "spot temperature"]


def _rail(run: Run, css: str, name: str, at_y: float, x: Callable[[float], float], words: Words) -> list[str]:
    """The stages of a run on a line, with what each is where there is room for the word, and every look."""
    parts = [f'<text class="name" x="0" y="{at_y - 14.0:.1f}">{escape(name)}</text>']
    end_s = run.stretches[-1].until_s if run.stretches else run.off_s
    parts.append(f'<path class="{css}" d="M{x(0.0):.1f} {at_y:g}H{x(end_s):.1f}"/>')
    ends = [0.0, *(each.until_s for each in run.stretches)]
    ticks = "".join(f"M{x(end):.1f} {at_y - 5.0:.1f}v10" for end in ends)
    parts.append(f'<path class="this" d="{ticks}"/>')
    free = LEFT + PER_LETTER * max(len(name) - 5, 0)
    for each in run.stretches:
        word = words.stage(each.record.plan.kind, each.record.plan.wrap)
        middle, wide = (x(each.from_s) + x(each.until_s)) / 2.0, PER_LETTER * len(word)
        begin = max(middle - wide / 2.0, free)
        if begin + wide <= x(each.until_s) + wide / 3.0:
            parts.append(f'<text x="{begin:.1f}" y="{at_y - 8.0:.1f}">{escape(word)}</text>')
            free = begin + wide + 4.0
    parts += [_mark(css, x(at_s), at_y) for at_s, look in run.looks if look.kind != "spot temperature"]
    return parts


def _line(points: Points, css: str, x: Callable[[float], float], y: Callable[[float], float]) -> str:
    if len(points) < 2:
        return ""
    way = "L".join(f"{x(at_s):.1f} {y(temp_c):.1f}" for at_s, temp_c in points)
    return f'<path class="{css}" d="M{way}"/>'


def _mark(css: str, x: float, y: float) -> str:
    if css == "this":
        return f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="3.6"/>'
    return f'<rect class="mark" x="{x - 3.2:.1f}" y="{y - 3.2:.1f}" width="6.4" height="6.4"/>'
