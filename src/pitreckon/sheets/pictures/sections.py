"""The piece cut through at its moments: temperature and collagen of the section's cells as maps with labelled lines."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.lessons.explain.story import Story
from pitreckon.section.shapes import Section
from pitreckon.sheets.pictures.canvas import FONT, INK, PAPER, SMOKE, WIDTH, figure, svg_of
from pitreckon.sheets.pictures.curves import CurveWords

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW, BIRD_ROW = 84.0, 126.0
"""Height of a moment, of a bird's, [px]; of what stands above all and below."""
HEAD, FOOT = 46.0, 44.0
APART: Final = 0.42
"""From one moment to the next, of the height of one."""
TEMPERATURES: Final = {"F": np.arange(0.0, 341.0, 20.0), "C": np.arange(-20.0, 171.0, 10.0)}
SHARES: Final = np.arange(0.0, 1.01, 0.1)
WARM, TURNED = "cividis", "Greys"
"""Maps that grow evenly lighter or darker, to the eye that sees no colours, too."""
DEEPEST: Final = 1.25
"""The end of the greys is past the highest share, so that lines are seen on all of it."""
MOST_LINES, MOST_OF_BIRD = 6, 2
"""In one map; a bird's walls are thin."""
A_PICTURE: Final = 2
"""Moments in one picture, so that a page of paper is never left empty for want of room for all of them."""
FINE: Final = 61
"""Points round a ball."""


def sections(story: Story, names: list[str], words: CurveWords, said: str, first: int = 0) -> str:
    """A row a moment: on the left how hot, on the right how much of the tough tissue has turned.

    names: of all moments; first: the moment that this picture begins with; it has up to ``A_PICTURE``
    """
    shown = list(zip(story.insides, names, strict=True))[first : first + A_PICTURE]
    rows = len(shown)
    row = BIRD_ROW if story.section.shape == "bird" else ROW
    height = HEAD + rows * row + (rows - 1) * APART * row + FOOT
    edge = {"left": 0.02, "right": 0.98, "top": 1.0 - HEAD / height, "bottom": FOOT / height}
    made, grid = figure(height, rows=rows, columns=2, hspace=APART, wspace=0.07)
    made.subplots_adjust(**edge)
    to: Callable[[Any], Any] = (lambda c: 1.8 * c + 32.0) if words.scale == "F" else (lambda c: 1.0 * c)
    every = np.concatenate([each.temp_c for each in story.insides])
    levels = TEMPERATURES[words.scale]
    low = levels[levels <= to(float(np.nanmin(every)))][-1]
    levels = levels[(levels >= low) & (levels <= to(float(np.nanmax(every))) + levels[1] - levels[0])]
    heads = (words.say("how hot"), words.say("tough tissue turned soft"))
    for column, head in enumerate(heads):
        box = grid[0, column].get_position()
        made.text(box.x0, 1.0 - 5.0 / height, head, va="top", fontsize=FONT, fontweight="bold", color=INK)
    for n, (inside, name) in enumerate(shown):
        for axes in grid[n]:
            axes.axis("off")
        grid[n, 0].set_title(name, fontsize=FONT, color=INK, loc="left", pad=4)
        _map(grid[n, 0], story, to(inside.temp_c), levels, WARM, lambda value: f"{value:.0f}°")
        _map(grid[n, 1], story, inside.turned, SHARES, TURNED, lambda value: f"{100.0 * value:.0f} %")
    _ruler(made, grid[rows - 1, 0], story, words, height)
    return svg_of(made, f"sections{first}", said)


def _map(axes: Axes, story: Story, values: Floats, levels: Floats, colours: str, name: Callable[[float], str]) -> None:
    x, y, field = drawn(story.section, filled(story.section, values), story.size)
    axes.set_aspect("equal", adjustable="box", anchor="W")
    step = float(levels[1] - levels[0])
    shades = np.clip(field, levels[0], levels[-1])
    axes.contourf(
        x,
        y,
        shades,
        levels=levels,
        cmap=colours,
        vmin=levels[0],
        vmax=(DEEPEST if colours == TURNED else 1.0) * levels[-1],
    )
    known = field[np.isfinite(field)]
    between = [level for level in levels if known.min() + 0.1 * step < level < known.max() - 0.1 * step]
    most = MOST_OF_BIRD if story.section.shape == "bird" else MOST_LINES
    between = between[:: -(-len(between) // most)] if between else between
    put: Any = ()
    if between:
        few = between[:: max(len(between) // 3, 1)]
        axes.contour(x, y, field, levels=between, colors=PAPER, linewidths=2.0)
        lines = axes.contour(x, y, field, levels=between, colors=INK, linewidths=0.8)
        put = axes.clabel(lines, levels=few, fmt=name, fontsize=FONT - 2.0, inline=True, inline_spacing=2)
    for text in put:
        _seen(text)
    if not len(put):
        at_x, at_y = _core_m(story.section, story.size)
        middle = name(float(values[story.section.core]))
        _seen(axes.text(at_x, at_y, middle, fontsize=FONT - 2.0, ha="center", va="center"))
    outline(axes, story.section, story.size)


def _core_m(section: Section, size: float) -> tuple[float, float]:
    """Where the core is drawn [m]."""
    row, depth = divmod(section.core, section.ny)
    if section.shape == "ball":
        return 0.0, 0.0
    place = size * float(section.x_m[row]), size * float(section.y_m[depth])
    return place[::-1] if section.shape == "bird" else place


def filled(section: Section, values: Floats) -> Floats:
    """With what lies beside it where a cell is all bone, so that lines go on to the bone's edge."""
    known = np.isfinite(values)
    if known.all():
        return values
    at = np.stack(np.unravel_index(np.arange(section.cells), (section.nx, section.ny)))
    place = np.stack((section.x_m[at[0]], section.y_m[at[1]]))
    far = np.sum((place[:, :, None] - place[:, None, known]) ** 2, axis=0)
    return np.asarray(values[known][np.argmin(far, axis=1)])


def _seen(text: Any) -> None:
    """A label on any shade."""
    text.set_color(INK)
    text.set_clip_on(False)
    text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.8})


def drawn(section: Section, values: Floats, size: float) -> tuple[Floats, Floats, Floats]:
    """A field over the whole piece as it would be cut through [m]: mirrored where the model has half or a quarter.

    Returns x, y, (ny, nx) each or (n,), (m,), and the field, (m, n).
    """
    field = values.reshape(section.nx, section.ny).T
    x, y = size * section.x_m, size * section.y_m
    if section.shape == "ball":
        angle = np.linspace(0.0, 2.0 * np.pi, FINE)
        return np.outer(y, np.cos(angle)), np.outer(y, np.sin(angle)), np.repeat(field, FINE, axis=1)
    if section.shape == "slab":
        half = y[-1]
        return np.array([-half, half]), y, np.repeat(field, 2, axis=1)
    x, field = np.concatenate((-x[:0:-1], x)), np.concatenate((field[:, :0:-1], field), axis=1)
    if section.shape == "bird":
        gap = np.full((field.shape[0], 1), np.nan)
        half = field.shape[1] // 2
        x = np.concatenate((-size * section.x_m[::-1], [0.0], size * section.x_m))
        field = np.concatenate((values.reshape(section.nx, section.ny).T[:, ::-1], gap, field[:, half:]), axis=1)
        field = field[:, : x.size]
    if section.shape == "rack":  # bone to bone to bone: as many as a mouth knows
        x = np.concatenate((x, x[1:] + 2.0 * x[-1]))
        field = np.concatenate((field, field[:, 1:]), axis=1)
    if section.mirrored:
        y, field = np.concatenate((-y[:0:-1], y)), np.concatenate((field[:0:-1], field), axis=0)
    if section.shape == "bird":  # lying, as on the grate
        return y, x, np.ascontiguousarray(field.T)
    return x, y, field


def outline(axes: Axes, section: Section, size: float, over: float | None = None) -> None:
    """The edge of the piece, and the bone in it. over: Matplotlib's order of drawing, of the bone; None: the usual"""
    x, y, _ = drawn(section, np.zeros(section.cells), size)
    if section.shape == "ball":
        axes.plot(x[-1], y[-1], color=INK, linewidth=1.0)
        return
    open_sides = section.shape in {"slab", "rack"}
    for side in (y[0], y[-1]):
        axes.plot([x[0], x[-1]], [side, side], color=INK, linewidth=1.2)
    if not open_sides:
        for side in (x[0], x[-1]):
            axes.plot([side, side], [y[0], y[-1]], color=INK, linewidth=1.2)
    if section.bone.max() > 0.0:
        bone = drawn(section, section.bone, size)
        order: dict[str, Any] = {} if over is None else {"zorder": over}  # none is not the usual: it lies under the map
        axes.contourf(*bone, levels=[0.5, 1.1], colors=[PAPER], **order)
        axes.contour(*bone, levels=[0.5], colors=INK, linewidths=1.4, **order)


def _ruler(made: Any, axes: Axes, story: Story, words: CurveWords, height: float) -> None:
    """How long an inch or some centimetres are in the picture."""
    x, y, _ = drawn(story.section, np.zeros(story.section.cells), story.size)
    wide, tall = float(np.ptp(x)), float(np.ptp(y))
    box = axes.get_position()
    px_m = min(box.width * WIDTH / wide, box.height * height / tall)
    unit = 0.0254 if words.scale == "F" else 0.01
    many = max(round(0.4 * wide / unit), 1)
    long = many * unit * px_m / WIDTH
    words_of = f"{many} in" if words.scale == "F" else f"{many} cm"
    rule = made.add_axes((box.x0, 8.0 / height, box.width, 26.0 / height))
    rule.axis("off")
    rule.set_xlim(0.0, box.width)
    rule.set_ylim(0.0, 1.0)
    rule.plot([0.0, long], [0.75, 0.75], color=INK, linewidth=1.2)
    for end in (0.0, long):
        rule.plot([end, end], [0.6, 0.9], color=INK, linewidth=1.2)
    rule.text(0.0, 0.45, words_of, fontsize=FONT - 1.0, va="top", color=SMOKE)
