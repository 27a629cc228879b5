"""What can be said of a whole picture before a place of it is measured: is it sharp, has it colours."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.photo.cielab import LUMINANCE, adapted, lab_from_xyz, linear_from_srgb, xyz_from_linear

SIDE: Final = 320
"""Of the small picture that is looked at [pixels]."""


def smaller(pixels: NDArray[np.uint8]) -> Floats:
    """The picture in linear light with a longer side of about ``SIDE``, each pixel the mean of a block; (.., .., 3)."""
    by = max(round(max(pixels.shape[:2]) / SIDE), 1)
    high, wide = (n // by for n in pixels.shape[:2])
    linear = linear_from_srgb(pixels[: high * by, : wide * by] / 255.0)
    return np.asarray(linear.reshape(high, by, wide, by, 3).mean(axis=(1, 3)))


def sharpness(small: Floats) -> float:
    """The steepest step from one pixel of a small picture to the next, over the whole range of its light, in whichever
    direction that is less: a step of a sharp picture takes one pixel, one of a picture that was moved takes many.
    """
    light = (small @ LUMINANCE) ** (1.0 / 2.4)  # as the eye has it
    low, high = np.quantile(light, (0.01, 0.99))
    across, down = (float(np.quantile(np.abs(np.diff(light, axis=axis)), 0.995)) for axis in (1, 0))
    return min(across, down) / max(float(high - low), 1e-3)


def most_chroma(small: Floats, white: Floats) -> float:
    """Chroma that one pixel in twenty of a small picture comes up to, against a white [linear sRGB].

    Under light of one colour everything has that colour, and against its white none.
    """
    light = small @ LUMINANCE
    seen = (light > 0.01 * float(white @ LUMINANCE)) & (small.max(axis=-1) < 0.95)
    if seen.sum() < 20:
        return 0.0
    lab = lab_from_xyz(adapted(xyz_from_linear(small[seen]), xyz_from_linear(white)))
    return float(np.quantile(np.hypot(lab[:, 1], lab[:, 2]), 0.95))


def darkest(small: Floats) -> float:
    """The light of its darkest hundredth, linear: no more than that can be haze or stray light."""
    return float(np.quantile(small @ LUMINANCE, 0.01))
