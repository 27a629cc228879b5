"""What can be said of a whole picture before a place of it is measured: is it sharp, has it colours."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.photo.cielab import LUMINANCE, adapted, lab_from_xyz, linear_from_bytes, xyz_from_linear

SIDE: Final = 320
"""Of the small picture that is looked at [pixels]."""

SPARSE: Final = 0.999
"""Of the steps from pixel to pixel: few lie on an edge."""
BESIDE: Final = 0.1
"""So far about the places that are tapped is beside them."""
COARSE: Final = 5
"""Pixels of that which colours are looked at by: the grain of a weak channel has colours where the picture has none."""


def smaller(pixels: NDArray[np.uint8]) -> Floats:
    """The picture in linear light with a longer side of about ``SIDE``, each pixel the mean of a block; (.., .., 3)."""
    return _blocks(linear_from_bytes(pixels), max(round(max(pixels.shape[:2]) / SIDE), 1))


def _blocks(linear: Floats, by: int) -> Floats:
    high, wide = (n // by for n in linear.shape[:2])
    return np.asarray(linear[: high * by, : wide * by].reshape(high, by, wide, by, 3).mean(axis=(1, 3)))


def sharpness(small: Floats) -> float:
    """The steepest step from one pixel of a small picture to the next, over the whole range of its light, in whichever
    direction that is less: a step of a sharp picture takes one pixel, one of a picture that was moved takes many.
    """
    light = (small @ LUMINANCE) ** (1.0 / 2.4)  # as the eye has it
    low, high = np.quantile(light, (0.01, 0.99))
    steps = (np.abs(np.diff(_beside(light, 1 - axis), axis=axis)) for axis in (0, 1))
    return min(float(np.quantile(each, SPARSE)) for each in steps) / max(float(high - low), 1e-3)


def _beside(light: Floats, axis: int) -> Floats:
    """The mean of each pixel and its two neighbours along an axis: an edge across it stays, grain does not."""
    rolled = np.moveaxis(light, axis, 0)
    return np.moveaxis((rolled[:-2] + rolled[1:-1] + rolled[2:]) / 3.0, 0, axis)


def most_chroma(small: Floats, white: Floats) -> float:
    """Chroma that one pixel in twenty of a small picture comes up to, against a white [linear sRGB].

    Under light of one colour everything has that colour, and against its white none.
    """
    small = _blocks(small, COARSE)
    light = small @ LUMINANCE
    seen = (light > 0.01 * float(white @ LUMINANCE)) & (small.max(axis=-1) < 0.95)
    if seen.sum() < 20:
        return 0.0
    lab = lab_from_xyz(adapted(xyz_from_linear(small[seen]), xyz_from_linear(white)))
    return float(np.quantile(np.hypot(lab[:, 1], lab[:, 2]), 0.95))


def brightest(small: Floats, around: Sequence[tuple[float, float]]) -> float:
    """The light that one pixel in twenty comes up to about some places, shares of width and height; linear.

    Not in the whole picture: behind a pit stands a bright sky.
    """
    high, wide = small.shape[:2]
    x, y = zip(*around, strict=True)
    left, right = (int(np.clip(at, 0.0, 1.0) * wide) for at in (min(x) - BESIDE, max(x) + BESIDE))
    top, low = (int(np.clip(at, 0.0, 1.0) * high) for at in (min(y) - BESIDE, max(y) + BESIDE))
    return float(np.quantile(small[top:low, left:right] @ LUMINANCE, 0.95))


def darkest(small: Floats) -> float:
    """The light of its darkest hundredth, linear: no more than that can be haze or stray light."""
    return float(np.quantile(small @ LUMINANCE, 0.01))
