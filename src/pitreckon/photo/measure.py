"""The colour of meat in a picture: against a white in it, with all that may be wrong about that, or why not.

Every limit and every spread here is a judgement (common practice, no source), held by simulated cameras
(``validation/photos``).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.errors import Place
from pitreckon.photo.cielab import adapted, lab_from_xyz, off_white_lights, xyz_from_linear
from pitreckon.photo.patches import Patch, patch_at
from pitreckon.photo.scale import NO_MEAT, Step, step_of
from pitreckon.photo.unreadable import unreadable
from pitreckon.photo.whole import brightest, darkest, most_chroma, sharpness, smaller

Point = tuple[float, float]
"""Shares of the width and the height, from the upper left."""
MOST_PLACES: Final = 5
LEAST_SIDE: Final = 200
"""Of the longer side of a picture [pixels]."""
WHITE_REFLECTS, WHITE_SD = 0.84, 0.07
"""Share of the light that a plate or paper throws back, and its relative spread."""
LIGHT_SD: Final = 0.10
"""Relative spread of the light on the meat over that on the white: they lie at other angles."""
TINT_SD: Final = (0.015, 0.05)
"""Relative spread of X and Z of a white against Y: cream, bluish."""
GAMMA_SD: Final = 0.05
"""Spread of the exponent of a camera's own curve."""
HAZE_SD: Final = 0.008
"""Spread of the light that smoke and a lens add, over that of the white."""
CAMERA_SD: Final = (1.5, 4.0, 4.0)
"""Spread of L*, a* and b* because a camera's eyes are not ours: by a filament lamp they see skin 7 redder."""
SHARP: Final = 0.16
WHITE_DARK, WHITE_BLOWN = 0.04, 0.02
"""Least light of a white, linear; most of it that may have no room left."""
ONE_COLOUR: Final = 0.2
"""Least of a white's channels over its largest."""
TINTED: Final = 0.015
"""Farthest that a white may lie from what glows, in u and v."""
ROUGH, SLOPED = 0.09, 0.5
"""Unevenness and slope of a white that is even: foil mirrors, and half a shadow slopes."""
NOT_WHITE: Final = 0.95
"""Light of meat over that of what is white beside it, at the most."""
WHITER: Final = 1.6
"""Light beside meat and white over that of the white, at the most."""
COLOURLESS: Final = 6.0
BLACK: Final = 0.022
"""Light of meat over that of the white, up to which it is black under any light, and has no need of colours."""
GLARED: Final = 0.5
"""Share of a place's pixels in glare from which on it is not read."""
STRAYS: Final = 3.0
"""Spreads from the others' middle past which one place of three or more is left out."""
UNSURE: Final = 0.3
"""A step is not told with a larger standard error [-]."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured colour.

    step: on the colour scale; lab: in daylight [L*, a*, b*]; lab_sd: their standard errors
    places: Lab of each tapped place; left_out: the numbers, from 1, of those that lie in glare or shade
    """

    step: Step
    lab: tuple[float, float, float]
    lab_sd: tuple[float, float, float]
    places: tuple[tuple[float, float, float], ...]
    left_out: tuple[int, ...]


def measure(pixels: NDArray[np.uint8], meat: Sequence[Point], white: Point) -> Measured:
    """The colour of the meat at some places of a picture, against a white in it.

    pixels: sRGB, (height, width, 3)

    Raises InputError: there is no such place, or the picture cannot be read, with what to do.
    """
    _check_places(meat, white)
    if max(pixels.shape[:2]) < LEAST_SIDE:
        raise unreadable("small")
    small = smaller(pixels)
    reference = patch_at(pixels, *white)
    if reference.luminance < WHITE_DARK <= brightest(small, [*meat, white]):
        raise unreadable("whiter")  # the picture has light enough: it was not the white that was tapped
    _check_white(reference)
    if sharpness(small) < SHARP:
        raise unreadable("blur")
    patches = [patch_at(pixels, *each) for each in meat]
    readable = [n for n, patch in enumerate(patches) if patch.glare < GLARED]
    if not readable:
        raise unreadable("glare")
    if min(patches[n].luminance for n in readable) > NOT_WHITE * reference.luminance:
        raise unreadable("not white")
    if brightest(small, [*meat, white]) > WHITER * reference.luminance:
        raise unreadable("whiter")
    brightest_meat = max(patches[n].luminance for n in readable) / reference.luminance
    if brightest_meat > BLACK and most_chroma(small, reference.linear) < COLOURLESS:
        raise unreadable("colourless")
    xyz_white = xyz_from_linear(reference.linear)
    xyz = np.array([WHITE_REFLECTS * adapted(xyz_from_linear(each.linear), xyz_white) for each in patches])
    kept = _alike(lab_from_xyz(xyz), readable)
    mean = xyz[kept].mean(axis=0)
    haze = min(HAZE_SD, 0.5 * darkest(small) / reference.luminance)
    covariance = _covariance(mean, haze) + _from_places(lab_from_xyz(xyz[kept]), [patches[n] for n in kept], xyz_white)
    lab = lab_from_xyz(mean)
    step = step_of(lab, covariance)
    if step.off > NO_MEAT:
        raise unreadable("no meat")
    if step.sd > UNSURE:
        raise unreadable("unsure")
    return Measured(
        step,
        (float(lab[0]), float(lab[1]), float(lab[2])),
        tuple(np.sqrt(np.diag(covariance)).tolist()),
        tuple(tuple(each) for each in lab_from_xyz(xyz).tolist()),
        tuple(n + 1 for n in range(len(patches)) if n not in kept),
    )


def _check_places(meat: Sequence[Point], white: Point) -> None:
    if not 1 <= len(meat) <= MOST_PLACES:
        raise unreadable("places").at(field="meat")
    for field, each in [("white", white), *(("meat", each) for each in meat)]:
        if not all(0.0 <= share <= 1.0 for share in each):
            raise unreadable("outside").put(Place(field=field))


def _check_white(reference: Patch) -> None:
    """Raises InputError: it is no white that colours can be told against."""
    if reference.blown > WHITE_BLOWN:
        raise unreadable("blown white")
    if reference.luminance < WHITE_DARK:
        raise unreadable("dark")
    if reference.unevenness > ROUGH:
        raise unreadable("foil")
    if reference.slope > SLOPED:
        raise unreadable("half in shade")
    if reference.linear.min() < ONE_COLOUR * reference.linear.max():
        raise unreadable("one colour")
    if off_white_lights(xyz_from_linear(reference.linear)) > TINTED:
        raise unreadable("tinted")


def _alike(labs: Floats, readable: list[int]) -> list[int]:
    """Of three places or more, those that are not far from the others' middle."""
    if len(readable) < 3:
        return readable
    middle = np.median(labs[readable], axis=0)
    off = np.abs(labs[readable, 0] - middle[0])
    spread = max(1.4826 * float(np.median(off)), 2.0)
    return [n for n, each in zip(readable, off, strict=True) if each <= STRAYS * spread]


def _covariance(xyz: Floats, haze: float) -> Floats:
    """Of Lab [L*, a*, b*], by what may be wrong about white, light, curve and haze: each moved by one spread."""
    lab = lab_from_xyz(xyz)
    y = max(float(xyz[1]), 1e-4)
    tint_x, tint_z = TINT_SD
    moved = (
        xyz * (1.0 + WHITE_SD),
        xyz * (1.0 + LIGHT_SD),
        xyz * np.array([1.0 + tint_x, 1.0, 1.0]),
        xyz * np.array([1.0, 1.0, 1.0 + tint_z]),
        xyz * y**GAMMA_SD,
        xyz + haze * np.array([0.95, 1.0, 1.09]),
    )
    total: Floats = np.diag(np.square(CAMERA_SD))
    for each in moved:
        off = lab_from_xyz(each) - lab
        total = total + np.outer(off, off)
    return total


def _from_places(labs: Floats, patches: list[Patch], white: Floats) -> Floats:
    """Of their mean: how far places differ, and the grain of the picture in each."""
    n = len(patches)
    grain = np.zeros((3, 3))
    for each, lab in zip(patches, labs, strict=True):
        off = lab_from_xyz(WHITE_REFLECTS * adapted(xyz_from_linear(each.linear + each.error), white)) - lab
        grain += np.outer(off, off) / n**2
    if n < 2:
        return np.asarray(
            grain + np.diag([2.0, 1.0, 1.0]) ** 2
        )  # a piece is not of one colour: common practice, no source
    return np.asarray(grain + np.cov(labs.T) / n)
