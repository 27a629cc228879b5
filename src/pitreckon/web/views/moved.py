"""How a belief moved from cook to cook: a mark for what was likeliest, smoke for where it may be. SVG, made here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

WIDTH: Final = 340.0
TALL: Final = 112.0
LEFT, RIGHT = 10.0, 66.0
"""Room beside the first mark, and for the words behind the last."""
TOP, BOTTOM = 10.0, 26.0
APART: Final = 15.0
"""Two words stand no nearer above each other than this."""
DIGIT: Final = 6.2


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

    step = (WIDTH - LEFT - RIGHT) / max(len(marks) - 1, 1)
    xs = [LEFT + n * step for n in range(len(marks))]
    last = marks[-1]
    last_y = y(last.mid)
    parts = [
        f'<svg class="moved" viewBox="0 0 {WIDTH:g} {TALL:g}" role="img" aria-label="{escape(said)}">',
        f'<path class="zero" d="M0 {y(0.0):.1f}H{WIDTH - RIGHT + 12:g}"/>',
        *(
            f'<path class="may" d="M{x:.1f} {y(each.low):.1f}V{y(each.high):.1f}"/>'
            for x, each in zip(xs, marks, strict=True)
        ),
        f'<path class="way" d="M{"L".join(f"{x:.1f} {y(each.mid):.1f}" for x, each in zip(xs, marks, strict=True))}"/>',
        *(
            f'<circle class="mid" cx="{x:.1f}" cy="{y(each.mid):.1f}" r="4"/>'
            for x, each in zip(xs, marks, strict=True)
        ),
        _word(xs[-1] + 12.0, last_y + 4.5, write(last.mid), "value"),
    ]
    zero_y = y(0.0)
    if abs(zero_y - last_y) < APART:  # beside the last value there is no room: above or under it there is
        zero_y = last_y + (APART if zero_y >= last_y else -APART)
    parts.append(_word(xs[-1] + 12.0, zero_y + 4.5, zero, "usual"))
    first, end = ends
    parts.append(_word(0.0, TALL - 4.0, first, "when"))
    if len(marks) > 1:
        at = min(xs[-1] + 12.0, WIDTH - DIGIT * len(end))
        parts.append(_word(max(at - 34.0, DIGIT * (len(first) + 2)), TALL - 4.0, end, "when"))
    return "".join([*parts, "</svg>"])


def _word(x: float, y: float, text: str, css: str) -> str:
    return f'<text class="{css}" x="{x:.1f}" y="{y:.1f}">{escape(text)}</text>'
