"""One column of SVG: a figure in the house's paper, ink and smoke, and what makes it fit into any page.

A page forbids styles that stand on elements, and shows several pictures; so styles become attributes, and every
picture has names of its own.
"""

from __future__ import annotations

import io
import re
from html import escape
from typing import TYPE_CHECKING, Any, Final

from pitreckon.extras import loading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH: Final = 360.0
"""Of every picture [px]: a phone's column; on paper it is drawn larger."""
PAPER, INK, SMOKE, PALE = "#ffffff", "#1d1a17", "#6d665e", "#d9d4cc"
FONT: Final = 12.0
INCH: Final = 72.0
FAMILY: Final = "Atkinson Hyperlegible, sans-serif"
_STYLED: Final = re.compile(r' style="([^"]*)"')
_NAMED: Final = re.compile(r'(\bid="|url\(#|href="#)([^")]+)')


def figure(height: float, rows: int = 1, columns: int = 1, **layout: float) -> tuple[Figure, Any]:
    """An empty figure of a height [px] with axes, (rows, columns). layout: of the grid between them

    Raises MissingExtraError: Matplotlib is not installed
    """
    with loading("matplotlib", "a picture"):
        from matplotlib.figure import Figure  # noqa: PLC0415  half a second, and not everybody has it

    made = Figure(figsize=(WIDTH / INCH, height / INCH), facecolor=PAPER)
    return made, made.subplots(rows, columns, squeeze=False, gridspec_kw=layout)


def bare(axes: Axes) -> None:
    """Axes with hair lines and the house's type."""
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(SMOKE)
        axes.spines[side].set_linewidth(0.8)
    axes.tick_params(colors=INK, labelsize=FONT, width=0.8, length=3)
    axes.set_facecolor(PAPER)


def svg_of(made: Figure, name: str, words: str) -> str:
    """The figure as one element. name: of the picture, in its page's words for programs; words: for who sees it not"""
    import matplotlib as mpl  # noqa: PLC0415  it is there: the figure is

    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": name}):
        made.savefig(out, format="svg", facecolor=PAPER, metadata={"Date": None})
    whole = out.getvalue()
    box = re.search(r'viewBox="([^"]+)"', whole)
    assert box is not None  # Matplotlib writes one
    inner = whole[whole.index("</defs>") + len("</defs>") : whole.rindex("</svg>")]
    inner = _STYLED.sub(lambda found: _attributes(found[1]), inner)
    inner = _NAMED.sub(lambda found: f"{found[1]}{name}-{found[2]}", inner)
    inner = re.sub(r"\s*\n\s*", " ", re.sub(r"<!--.*?-->", "", inner, flags=re.S)).replace("xlink:href", "href")
    return (
        f'<svg class="picture" xmlns="http://www.w3.org/2000/svg" viewBox="{box[1]}" role="img" '
        f'aria-label="{escape(words)}"><g stroke-linejoin="round" stroke-linecap="butt">{inner.strip()}</g></svg>'
    )


def _attributes(style: str) -> str:
    """Declarations as presentation attributes, which SVG has for all that Matplotlib writes."""
    parts = [part.split(":", 1) for part in style.replace("&quot;", "'").split(";") if ":" in part]
    pairs = [(key.strip(), value.strip()) for key, value in parts]
    return "".join(f' {key}="{FAMILY if key == "font-family" else value}"' for key, value in pairs)
