"""Rank histograms as a picture: a small one for each belief, with the band in which chance alone leaves a bin."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

ACROSS, WIDE, TALL, GAP, HEAD = 5, 150, 84, 22, 20
BAND: Final = (0.005, 0.995)
"""Chance that a bin of uniform ranks is lower, and at most as high: 99 in 100 lie between."""


def histograms(of: Mapping[str, NDArray[np.float64]], bins: int) -> str:
    """SVG of the chances below the truths, 0 to 1, by what was believed."""
    rows = -(-len(of) // ACROSS)
    width, height = ACROSS * (WIDE + GAP) + GAP, rows * (TALL + HEAD + GAP) + GAP
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
            'role="img" font-family="sans-serif" font-size="12">'
        ),
        "<title>Chances below the truth of the sixth cook, by belief; the band holds a bin 99 times in 100</title>",
        f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
    ]
    for n, (name, chances) in enumerate(of.items()):
        left, top = GAP + (n % ACROSS) * (WIDE + GAP), GAP + (n // ACROSS) * (TALL + HEAD + GAP) + HEAD
        parts.append(_one(name, chances, bins, left, top))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _one(name: str, chances: NDArray[np.float64], bins: int, left: int, top: int) -> str:
    counts, _ = np.histogram(chances, bins, (0.0, 1.0))
    low, high = (float(binom.ppf(level, chances.size, 1.0 / bins)) for level in BAND)
    most = max(2.2 * chances.size / bins, float(counts.max()))
    wide = WIDE / bins

    def y(count: float) -> float:
        return top + TALL * (1.0 - count / most)

    out = [f'<text x="{left}" y="{top - 6}" fill="#222222">{escape(name)}</text>']
    out.append(
        f'<rect x="{left}" y="{y(high):.1f}" width="{WIDE}" height="{y(low) - y(high):.1f}" fill="#e3e3e3"/>'
        f'<line x1="{left}" x2="{left + WIDE}" y1="{top + TALL}" y2="{top + TALL}" stroke="#666666"/>'
    )
    out += [
        f'<rect x="{left + wide * i + 1.5:.1f}" y="{y(count):.1f}" width="{wide - 3:.1f}" '
        f'height="{top + TALL - y(count):.1f}" fill="#7a3b1d"/>'
        for i, count in enumerate(counts.tolist())
    ]
    return "\n".join(out)
