"""``python -m validation.photos.example``: draws the picture of the examples: a rack on boards, a plate beside it."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Final

import numpy as np

from validation.photos.camera import Camera
from validation.photos.scene import Scene, plain_white, reflectance_of
from validation.photos.study import stream

FILE: Final = Path(__file__).parents[2] / "examples" / "sunday-racks" / "rack.jpg"
LAB: Final = (31.0, 15.0, 15.0)
"""Of the rack: between red-brown and mahogany."""


def example() -> bytes:
    """The file."""
    rng = stream("example")
    meat = reflectance_of(np.array(LAB))
    assert meat is not None
    camera = Camera("Nikon 5100 (NPL)", "D65", 0.55, 0.9, (1.0, 0.98, 1.03), 1.02, 0.05, 0.0003, 0.0008, 0.8, 72)
    scene = Scene(meat, plain_white(rng), rough=0.15, glints=0.01, haze=0.004)
    return camera.takes(scene.seen_by(camera, rng), rng)


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    FILE.write_bytes(example())
