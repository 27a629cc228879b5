"""Curves of a story: heat, water and colour over time, with its stages above and what was done and seen as numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.cook.scales import SCALES
from pitreckon.lessons.explain.story import Band, Story
from pitreckon.sheets.pictures.canvas import FONT, INK, PALE, PAPER, SMOKE, bare, figure, svg_of
from pitreckon.units import Scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HOUR_S: Final = 3600.0
STEPS: Final[dict[Scale, float]] = {"F": 50.0, "C": 25.0}
LEFT, RIGHT = 0.16, 0.97
LABELLED: Final = 0.7
"""Of the time on the pit, in which lines have their names."""
CIRCLE: Final = 0.062
"""A circle's share of the axes' width."""
LETTER: Final = 0.017
"""A letter's share of the axes' width."""


@dataclass(frozen=True, slots=True)
class CurveWords:
    """What stands in the pictures, in the reader's language.

    say: a word of the house; stage: of a kind and a wrap; scale: of the temperatures
    """

    say: Callable[[str], str]
    stage: Callable[[str, str | None], str]
    scale: Scale


def heat(story: Story, numbers: Sequence[tuple[int, float]], words: CurveWords, said: str) -> str:
    """The air, the outside and the middle of the piece. numbers: of what was done and seen, with its time [s]"""
    made, grid = figure(330.0, left=LEFT, right=RIGHT, top=0.80, bottom=0.12)
    axes, hours = grid[0, 0], story.time_s / HOUR_S
    degrees = _degrees(words.scale)
    air = Band(degrees(story.air_c.low), degrees(story.air_c.mid), degrees(story.air_c.high))
    core = Band(degrees(story.core_c.low), degrees(story.core_c.mid), degrees(story.core_c.high))
    face = Band(degrees(story.surface_c.low), degrees(story.surface_c.mid), degrees(story.surface_c.high))
    _draw(axes, hours, air, (0, (1.2, 1.6)), PALE, 0.0)
    _draw(axes, hours, face, (0, (5, 2)), SMOKE, 0.35)
    _draw(axes, hours, core, "solid", SMOKE, 0.35)
    spots = [(at / HOUR_S, degrees(look.value)) for at, look in story.run.looks if look.kind == "spot temperature"]
    if spots:
        axes.plot(*zip(*spots, strict=True), "o", ms=6, mfc=PAPER, mec=INK, mew=1.4)
    if story.run.core:
        axes.plot(
            [at / HOUR_S for at, _ in story.run.core], [degrees(c) for _, c in story.run.core], "|", ms=6, color=INK
        )
    step = STEPS[words.scale]
    top = float(np.nanmax(air.high)) * 1.06
    axes.set_ylim(float(degrees(0.0)) if words.scale == "C" else 25.0, top)
    ticks = np.arange(step if words.scale == "F" else 0.0, top, step)
    axes.set_yticks(ticks, [f"{tick:.0f}°" for tick in ticks])
    hot = np.where(story.time_s < LABELLED * story.off_s, face.mid - core.mid, -np.inf)
    early, late = float(np.argmax(hot)) / (hours.size - 1), 0.62
    early = min(max(early, 0.18), LABELLED)
    _label(axes, hours, air.mid, late, words.say("air in the pit"), above=True)
    _label(axes, hours, face.mid, early, words.say("outside"), above=True)
    _label(axes, hours, core.mid, early, words.say("middle"), above=False)
    return _finished(made, axes, story, numbers, words, ("heat", said))


def water(story: Story, numbers: Sequence[tuple[int, float]], words: CurveWords, said: str) -> str:
    """What has gone, as a share of the raw weight, and how damp the outside is."""
    made, grid = figure(400.0, rows=2, left=LEFT, right=RIGHT, top=0.835, bottom=0.10, hspace=0.42)
    lost, damp, hours = grid[0, 0], grid[1, 0], story.time_s / HOUR_S
    _draw(lost, hours, _times(story.lost, 100.0), "solid", SMOKE, 0.35)
    top = max(10.0, float(np.nanmax(story.lost.high)) * 115.0)
    lost.set_ylim(0.0, top)
    ticks = np.arange(0.0, top, 10.0)
    lost.set_yticks(ticks, [f"{tick:.0f} %" for tick in ticks])
    _title(lost, words.say("water gone, of the raw weight"))
    _draw(damp, hours, _times(story.damp, 100.0), (0, (5, 2)), SMOKE, 0.35)
    damp.set_ylim(0.0, 108.0)
    damp.set_yticks([0, 50, 100], [words.say("dry"), words.say("damp"), words.say("wet")])
    _title(damp, words.say("how damp the outside is"))
    _clock(lost, story, words, named=False)
    return _finished(made, damp, story, numbers, words, ("water", said), top=lost)


def colour(story: Story, numbers: Sequence[tuple[int, float]], words: CurveWords, said: str) -> str:
    """How dark the outside is, in the words of the scale, and how much of the middle's collagen has turned soft."""
    made, grid = figure(420.0, rows=2, left=0.25, right=RIGHT, top=0.84, bottom=0.095, hspace=0.40)
    shade, soft, hours = grid[0, 0], grid[1, 0], story.time_s / HOUR_S
    _draw(shade, hours, story.colour, "solid", SMOKE, 0.35)
    scale = SCALES["colour"]
    shade.set_ylim(0.0, max(1.4, float(np.nanmax(story.colour.high)) * 1.05))
    shade.set_yticks(list(scale.values()), [words.say(word) for word in scale])
    seen = [(at / HOUR_S, look.value) for at, look in story.run.looks if look.kind == "colour"]
    if seen:
        shade.plot(*zip(*seen, strict=True), "o", ms=6, mfc=PAPER, mec=INK, mew=1.4)
    _title(shade, words.say("colour of the outside"))
    _draw(soft, hours, _times(story.turned, 100.0), (0, (7, 1.5, 1.5, 1.5)), SMOKE, 0.35)
    soft.set_ylim(0.0, 104.0)
    soft.set_yticks([0, 50, 100], ["0 %", "50 %", "100 %"])
    _title(soft, words.say("tough tissue turned soft, in the middle"))
    _clock(shade, story, words, named=False)
    return _finished(made, soft, story, numbers, words, ("colour", said), top=shade)


def _draw(axes: Axes, hours: Any, band: Band, dashes: Any, shade: str, alpha: float) -> None:
    bare(axes)
    if alpha:
        axes.fill_between(hours, band.low, band.high, color=shade, alpha=alpha, linewidth=0)
    axes.plot(hours, band.mid, color=INK, linewidth=1.0 if not alpha else 1.9, linestyle=dashes)


def _times(band: Band, by: float) -> Band:
    return Band(by * band.low, by * band.mid, by * band.high)


def _degrees(scale: Scale) -> Callable[[Any], Any]:
    return (lambda c: 1.8 * c + 32.0) if scale == "F" else (lambda c: 1.0 * c)


def _label(axes: Axes, hours: Any, values: Any, share: float, text: str, *, above: bool) -> None:
    """A name on its line: no key to look up."""
    n = int(share * (hours.size - 1))
    axes.annotate(
        text,
        (hours[n], values[n]),
        xytext=(0, 7 if above else -7),
        textcoords="offset points",
        ha="center",
        va="bottom" if above else "top",
        fontsize=FONT,
        color=INK,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )


def _title(axes: Axes, text: str) -> None:
    axes.set_title(text, fontsize=FONT, color=INK, loc="left", pad=5, fontweight="bold")


def _clock(axes: Axes, story: Story, words: CurveWords, *, named: bool) -> None:
    """Hours since put-on along the bottom, and a hair line at every end of a stage."""
    end = story.end_s / HOUR_S
    step = next(s for s in (1, 2, 3, 4, 6, 12, 24, 48) if end / s <= 8)
    ticks = np.arange(0, end + 1e-6, step)
    axes.set_xlim(0.0, end)
    axes.set_xticks(ticks, [f"{tick:.0f}" for tick in ticks])
    if named:
        axes.set_xlabel(words.say("hours since it went on"), fontsize=FONT, color=INK, labelpad=3)
    for each in story.stretches[:-1]:
        axes.axvline(each.until_s / HOUR_S, color=SMOKE, linewidth=0.8, linestyle=(0, (2, 2)), zorder=0)


def _finished(
    made: Any,
    axes: Axes,
    story: Story,
    numbers: Sequence[tuple[int, float]],
    words: CurveWords,
    named: tuple[str, str],
    top: Axes | None = None,
) -> str:
    """With the clock below, the stages and the numbers above."""
    _clock(axes, story, words, named=True)
    _stages(top or axes, made, story, numbers, words)
    return svg_of(made, *named)


def _apart(at_s: Sequence[float], end_s: float) -> list[float]:
    """Places for circles that do not lie on each other, as near as can be to their times, none past the end."""
    wide = CIRCLE * end_s
    places: list[float] = []
    for at in at_s:
        places.append(max(at, places[-1] + wide if places else at))
    last = end_s
    for n in reversed(range(len(places))):
        places[n] = min(places[n], last)
        last = places[n] - wide
    return places


def _stages(axes: Axes, made: Any, story: Story, numbers: Sequence[tuple[int, float]], words: CurveWords) -> None:
    """Two lines over the axes: bars of the stages with their names, and circles with numbers."""
    box, tall = axes.get_position(), made.get_size_inches()[1] * 72.0
    rail = made.add_axes((box.x0, 1.0 - 22.0 / tall, box.width, 18.0 / tall))
    rail.axis("off")
    rail.set_xlim(0.0, story.end_s)
    rail.set_ylim(0.0, 1.0)
    for n, each in enumerate(story.stretches):
        until = min(each.until_s, story.end_s)
        if until <= each.from_s:
            continue
        shade = (PALE, PAPER)[n % 2]
        rail.fill_between([each.from_s, until], 0.0, 1.0, facecolor=shade, edgecolor=SMOKE, linewidth=0.8)
        word = words.stage(each.kind, each.wrap)
        if LETTER * len(word) * story.end_s <= until - each.from_s:
            rail.text(0.5 * (each.from_s + until), 0.46, word, ha="center", va="center", fontsize=FONT, color=INK)
    marks = made.add_axes((box.x0, 1.0 - 46.0 / tall, box.width, 20.0 / tall))
    marks.axis("off")
    marks.set_xlim(0.0, story.end_s)
    marks.set_ylim(0.0, 1.0)
    for (n, at_s), x in zip(numbers, _apart([at_s for _, at_s in numbers], story.end_s), strict=True):
        marks.plot([at_s, x], [-0.2, 0.25], color=SMOKE, linewidth=0.8, clip_on=False)
        marks.text(
            *(x, 0.55, f"{n}"),
            ha="center",
            va="center",
            fontsize=FONT - 1.0,
            color=INK,
            clip_on=False,
            bbox={"boxstyle": "circle,pad=0.18", "facecolor": PAPER, "edgecolor": INK, "linewidth": 0.9},
        )
