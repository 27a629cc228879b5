"""Pictures for the tests: by the simulated camera of the validation, or drawn plain, as the files that come in."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
from PIL import Image

MEAT, WHITE = ((0.25, 0.45), (0.40, 0.60), (0.50, 0.75)), (0.8, 0.3)
"""Where meat and white are in ``plain``."""


def file_of(picture: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


@cache
def plain(meat: tuple[int, int, int] = (112, 62, 44), white: tuple[int, int, int] = (224, 222, 218)) -> bytes:
    """A piece on grey boards, a white plate beside it; a little grain, as pictures have."""
    rng = np.random.default_rng(7)
    pixels = np.empty((600, 800, 3))
    pixels[:] = (88, 92, 90)
    pixels[180:520, 90:480] = meat
    pixels[60:300, 540:740] = white
    pixels += rng.normal(0.0, 2.0, pixels.shape)
    return file_of(Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)), quality=90)
