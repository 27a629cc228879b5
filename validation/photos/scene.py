"""What stands before the simulated camera: a piece of meat of a known colour, a white beside it, and what is around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from validation.photos.camera import WAVES, Camera, _library, chart

Floats = NDArray[np.float64]
HIGH, WIDE = 600, 800
MEAT: Final = (slice(180, 520), slice(90, 480))
WHITE: Final = (slice(60, 300), slice(540, 740))
TAPS: Final = ((0.25, 0.45), (0.40, 0.60), (0.50, 0.75), (0.2, 0.75), (0.45, 0.4))
WHITE_TAP: Final = (0.8, 0.3)
ROOM_TAP: Final = (0.85, 0.8)
"""On what is around."""


def reflectance_of(lab: Floats) -> Floats | None:
    """A smooth reflectance of a colour in daylight, at ``WAVES`` (Smits 1999); None: nothing that sRGB shows."""
    colour = _library()
    rgb = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab, [0.3127, 0.3290]), apply_cctf_encoding=False)  # type: ignore[attr-defined]
    if (np.asarray(rgb) < 0.001).any() or (np.asarray(rgb) > 0.98).any():
        return None
    held = colour.recovery.RGB_to_sd_Smits1999(np.asarray(rgb))  # type: ignore[attr-defined]
    return np.clip(np.interp(WAVES, held.wavelengths, held.values), 0.002, 0.98)


@dataclass(frozen=True, slots=True)
class Scene:
    """How it looks.

    meat: its reflectance, (31,); white: alike; rough: spread of crust's light, as a logarithm; glints: share of the
    meat that mirrors; slope: of the light across the picture; shade: light on the meat over that on the white
    haze: light that smoke adds; boards: spread of the light on what is around; foil: the white mirrors
    """

    meat: Floats
    white: Floats
    rough: float = 0.15
    glints: float = 0.01
    slope: float = 0.1
    shade: float = 1.0
    haze: float = 0.005
    boards: float = 0.15
    foil: bool = False

    @classmethod
    def drawn(cls, rng: np.random.Generator, meat: Floats) -> Scene:
        """One of many readable ones, with this meat."""
        return cls(
            meat=meat,
            white=plain_white(rng),
            rough=float(rng.uniform(0.05, 0.3)),
            glints=float(rng.uniform(0.0, 0.04)),
            slope=float(rng.uniform(-0.15, 0.15)),
            shade=float(np.exp(rng.normal(0.0, 0.08))),
            haze=float(rng.uniform(0.0, 0.012)),
        )

    def seen_by(self, camera: Camera, rng: np.random.Generator) -> Floats:
        """Linear light, a perfect white at 1, (600, 800, 3)."""
        around = camera.sees(_around(rng))
        picture = np.repeat(np.repeat(around[None, None, :], HIGH, axis=0), WIDE, axis=1)
        picture = picture * np.exp(self.boards * _grain(rng, (HIGH, WIDE), 6.0))[..., None]
        meat, white = camera.sees(self.meat), camera.sees(self.white)
        size = picture[MEAT].shape[:2]
        crust = np.exp(self.rough * _grain(rng, size, 3.0) - 0.5 * self.rough**2)
        light = meat * self.shade * crust[..., None]
        if self.glints > 0.0:
            where = _grain(rng, size, 2.5)
            shine = camera.sees(np.ones_like(WAVES))
            mirrors = where > np.quantile(where, 1.0 - self.glints)
            light = np.where(mirrors[..., None], light + 0.7 * shine, light)
        picture[MEAT] = light
        plate = np.repeat(np.repeat(white[None, None, :], 240, axis=0), 200, axis=1)
        if self.foil:  # each crease throws back the lamp, or the dark
            plate = plate * np.exp(0.9 * _grain(rng, plate.shape[:2], 5.0))[..., None]
        picture[WHITE] = plate * (1.0 + 0.01 * rng.standard_normal(plate.shape[:2]))[..., None]
        ramp = 1.0 + self.slope * np.linspace(-0.5, 0.5, WIDE)
        return picture * ramp[None, :, None] + self.haze * camera.sees(np.ones_like(WAVES))


def plain_white(rng: np.random.Generator) -> Floats:
    """Paper or a plate: not all of the light, and a little cream."""
    falls = float(rng.uniform(-0.01, 0.06))
    shape = 1.0 - falls * (WAVES.max() - WAVES) / (WAVES.max() - WAVES.min())
    return np.asarray(float(rng.uniform(0.74, 0.92)) * shape)


def tinted_white(rng: np.random.Generator) -> Floats:
    """A plate with a colour of its own, off the colours that lamps have: green, pink or violet."""
    lab = np.array([[78.0, -28.0, 18.0], [72.0, 34.0, -4.0], [66.0, 28.0, -30.0]])[int(rng.integers(3))]
    found = None
    while found is None:  # a draw may lie beyond what sRGB shows
        found = reflectance_of(lab + rng.normal(0.0, 3.0, 3))
    return found


def _around(rng: np.random.Generator) -> Floats:
    """Boards, stone or a cloth."""
    names, patches = chart()
    pick = ("neutral 5 (.70 D)", "neutral 3.5 (1.05 D)", "dark skin", "foliage", "blue flower")[int(rng.integers(5))]
    return patches[names.index(pick)]


def _grain(rng: np.random.Generator, size: tuple[int, ...], width: float) -> Floats:
    """Noise with a width [pixels], of spread 1."""
    made = gaussian_filter(rng.standard_normal(size), width, mode="wrap")
    return np.asarray(made / made.std())


def chart_picture(camera: Camera) -> tuple[Floats, tuple[tuple[float, float], ...]]:
    """The chart, four rows of six on black, as linear light; and where the middle of each patch is, shares."""
    _, patches = chart()
    picture = np.zeros((HIGH, WIDE, 3)) + 0.02
    places = []
    for n, patch in enumerate(camera.sees(patches)):
        row, column = divmod(n, 6)
        top, left = 20 + 142 * row, 20 + 128 * column
        picture[top : top + 126, left : left + 112] = patch
        places.append(((left + 56) / (WIDE - 1), (top + 63) / (HIGH - 1)))
    return picture, tuple(places)
