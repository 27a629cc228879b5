"""How a belief moved from cook to cook: a mark for what was likeliest, smoke for where it may be. SVG, made here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

WIDTH: Final = 340.0
TALL: Final = 112.0
LEFT: Final = 10.0
GAP: Final = 12.0
"""Between the last mark and the words behind it."""
TOP, BOTTOM = 10.0, 26.0
APART: Final = 15.0
"""Two words stand no nearer above each other than this."""
PER_LETTER: Final = 7.4
"""Width of a letter, bold ones too."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What was believed: likeliest, and from where to where nine times in ten."""

    mid: float
    low: float
    high: float


def moved_picture(
    marks: Sequence[Mark], write: Callable[[float], str], *, said: str, zero: str, ends: tuple[str, str]
) -> str:
    """The picture.

    marks: what was believed before anything was learned, then after each cook; write: a value in a reader's words
    said: all of it in words; zero: what no difference means; ends: words under the first and the last mark
    """
    low, high = min(0.0, *(each.low for each in marks)), max(0.0, *(each.high for each in marks))
    span = max(high - low, 1e-9)

    def y(value: float) -> float:
        return TOP + (TALL - TOP - BOTTOM) * (high - value) / span

    last, last_y, zero_y = marks[-1], y(marks[-1].mid), y(0.0)
    if abs(zero_y - last_y) < APART:  # beside the last value there is no room: above or under it there is
        zero_y = last_y + (APART if zero_y >= last_y else -APART)
    value = write(last.mid)
    right = GAP + PER_LETTER * max(len(value), len(zero))
    step = (WIDTH - LEFT - right) / max(len(marks) - 1, 1)
    xs = [LEFT + n * step for n in range(len(marks))]
    way = "L".join(f"{x:.1f} {y(each.mid):.1f}" for x, each in zip(xs, marks, strict=True))
    parts = [
        f'<svg class="moved" viewBox="0 0 {WIDTH:g} {TALL:g}" role="img" aria-label="{escape(said)}">',
        f'<path class="zero" d="M0 {y(0.0):.1f}H{WIDTH - right + 4.0:.1f}"/>',
    ]
    for x, each in zip(xs, marks, strict=True):
        parts.append(f'<path class="may" d="M{x:.1f} {y(each.low):.1f}V{y(each.high):.1f}"/>')
    parts.append(f'<path class="way" d="M{way}"/>')
    parts += [f'<circle class="mid" cx="{x:.1f}" cy="{y(m.mid):.1f}" r="4"/>' for x, m in zip(xs, marks, strict=True)]
    parts.append(_word(xs[-1] + GAP, last_y + 4.5, value, "value"))
    parts.append(_word(xs[-1] + GAP, zero_y + 4.5, zero, "usual"))
    first, end = ends
    parts.append(_word(0.0, TALL - 4.0, first, "when"))
    if len(marks) > 1:
        parts.append(_word(WIDTH - PER_LETTER * len(end), TALL - 4.0, end, "when"))
    return "".join([*parts, "</svg>"])


def _word(x: float, y: float, text: str, css: str) -> str:
    return f'<text class="{css}" x="{x:.1f}" y="{y:.1f}">{escape(text)}</text>'
