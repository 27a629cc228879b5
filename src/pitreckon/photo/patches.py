"""What a tapped place of a picture is like: its light, with glare and shade left out, and how even it is."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools, Floats
from pitreckon.photo.cielab import LUMINANCE, linear_from_bytes

RADIUS: Final = 0.02
"""Of a place, over the longer side."""
BLOWN: Final = 250
"""From here on a channel of a pixel has no room left, 0 to 255."""
LEAST_SPREAD, MOST_SPREAD = 0.1, 0.45
"""How far a pixel's light may lie from the middle of its place, as a logarithm over three: crust is rough, a glint is
not crust."""


@dataclass(frozen=True, slots=True)
class Patch:
    """One place.

    linear: its mean linear light, sRGB, (3,); error: standard error of that, from pixel to pixel, (3,)
    blown: share of pixels with no room left; glare, shade: left out as too bright, too dark, shares
    unevenness: spread of its light beside a slope across it, over the middle; slope: of its light from side to side,
    over the middle
    """

    linear: Floats
    error: Floats
    blown: float
    glare: float
    shade: float
    unevenness: float
    slope: float

    @property
    def luminance(self) -> float:
        """Linear, 1 is the brightest that a picture has."""
        return float(self.linear @ LUMINANCE)


def patch_at(pixels: NDArray[np.uint8], x: float, y: float) -> Patch:
    """The place about (x, y), shares of the width and the height from the upper left.

    pixels: sRGB, (height, width, 3)
    """
    height, width = pixels.shape[:2]
    radius = max(RADIUS * max(height, width), 4.0)
    mid_x, mid_y = x * (width - 1), y * (height - 1)
    x0, x1 = max(int(mid_x - radius), 0), min(int(mid_x + radius) + 1, width)
    y0, y1 = max(int(mid_y - radius), 0), min(int(mid_y + radius) + 1, height)
    rows, columns = np.mgrid[y0:y1, x0:x1]
    inside = (columns - mid_x) ** 2 + (rows - mid_y) ** 2 <= radius**2
    cut = pixels[y0:y1, x0:x1][inside]
    at = np.stack([(columns[inside] - mid_x) / radius, (rows[inside] - mid_y) / radius])
    return _patch(cut, at)


def _patch(cut: NDArray[np.uint8], at: Floats) -> Patch:
    """cut: (pixels, 3); at: where each lies in the place, -1 to 1, (2, pixels)."""
    linear = linear_from_bytes(cut)
    light = np.maximum(linear @ LUMINANCE, 1e-5)
    blown = (cut >= BLOWN).any(axis=1)
    middle = float(np.median(light))
    off = np.log(light / middle)
    spread = float(np.clip(1.4826 * np.median(np.abs(off)), LEAST_SPREAD, MOST_SPREAD))
    glare: Bools = (off > 3.0 * spread) | blown
    shade: Bools = off < -3.0 * spread
    kept = ~(glare | shade)
    if kept.sum() < 8:
        kept = np.ones_like(kept)
    mean = linear[kept].mean(axis=0)
    # Neighbours of a compressed picture are not independent: a block of it has eight by eight.
    error = linear[kept].std(axis=0) / np.sqrt(max(kept.sum() / 64.0, 1.0))
    across = np.column_stack([np.ones(light.size), *at])
    fitted, *_ = np.linalg.lstsq(across, light, rcond=None)
    rest = light - across @ fitted
    return Patch(
        linear=mean,
        error=error,
        blown=float(blown.mean()),
        glare=float(glare.mean()),
        shade=float(shade.mean()),
        unevenness=float(rest.std() / max(middle, 1e-5)),
        slope=float(2.0 * np.hypot(fitted[1], fitted[2]) / max(middle, 1e-5)),
    )
