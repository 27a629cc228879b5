"""The three questions: the chart's steps, the meat's, and what cannot be read.

The limits of ``pitreckon.photo.measure`` were set on the pictures of the stream "fit" (and on what was learnt there
about light and blur); the pictures of "test" were drawn by other streams, and looked at by nobody before the limits
stood.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.errors import InputError
from pitreckon.photo.measure import Measured, Point, measure
from pitreckon.photo.scale import LEVELS, NO_MEAT, STEPS, step_of, swatches_up
from pitreckon.photo.unreadable import REASONS
from validation.photos.camera import (
    EXPOSURES,
    LIGHTS,
    Camera,
    Floats,
    chart,
    pixels_of,
    true_lab,
)
from validation.photos.scene import (
    ROOM_TAP,
    TAPS,
    WHITE_TAP,
    Scene,
    chart_picture,
    reflectance_of,
    tinted_white,
)

INSTRUMENT: Final = np.diag([0.5, 0.5, 0.5]) ** 2
"""Errors of a laboratory's instrument in L*, a* and b* (from memory)."""
HALF: Final = 0.5
WHITE_PATCH: Final = 18
OUTRIGHT: Final = 3.0
"""A patch so many times past the limit is outright no meat."""
UNREADABLE: Final = (
    "blur",
    "moved",
    "no white",
    "grey for white",
    "blown white",
    "foil",
    "tinted white",
    "one colour",
    "grey",
    "dark",
)


def stream(*names: object) -> np.random.Generator:
    """A stream of its own for each name."""
    return np.random.default_rng(zlib.crc32(" ".join(map(str, names)).encode()))


@dataclass(frozen=True, slots=True)
class Read:
    """One reading. off: in swatches, nan where it was refused; why: the reason then, "" where it was read

    z: error of the level over its standard error; sd: that
    """

    kind: str
    light: str
    exposure: float
    off: float
    why: str
    z: float = float("nan")
    sd: float = float("nan")


def why_not(fault: InputError) -> str:
    """The key of a refusal."""
    return next(key for key, (trouble, _) in REASONS.items() if trouble == fault.trouble)


def _measured(pixels: object, meat: tuple[Point, ...], white: Point) -> Measured | str:
    try:
        return measure(pixels, meat, white)  # type: ignore[arg-type]
    except InputError as fault:
        return why_not(fault)


def chart_read(cut: str, each: int, exposures: Sequence[float] = EXPOSURES) -> Iterator[Read]:
    """The 24 patches by so many cameras for each light and exposure; the white patch is the white.

    kind: the patch, with "meat" before it where an exact instrument says that meat takes its colour, "not meat" where
    it is outright none, "near" in between
    """
    names, patches = chart()
    exact = [step_of(lab, INSTRUMENT) for lab in true_lab(patches)]
    for light in LIGHTS:
        for exposure in exposures:
            for n in range(each):
                rng = stream(cut, "chart", light, exposure, n)
                camera = Camera.drawn(rng, light, exposure)
                picture, places = chart_picture(camera)
                pixels = pixels_of(camera.takes(picture, rng))
                for k, (name, truth) in enumerate(zip(names, exact, strict=True)):
                    if k == WHITE_PATCH:
                        continue
                    much = "meat" if truth.off <= NO_MEAT else "not meat" if truth.off > OUTRIGHT * NO_MEAT else "near"
                    got = _measured(pixels, (places[k],), places[WHITE_PATCH])
                    if isinstance(got, str):
                        yield Read(f"{much}: {name}", light, exposure, float("nan"), got)
                    else:
                        off = swatches_up(got.step.level) - swatches_up(truth.level)
                        yield Read(f"{much}: {name}", light, exposure, off, "", sd=got.step.sd)


def drawn_meat(rng: np.random.Generator) -> tuple[float, Floats]:
    """A level and the reflectance of a piece that has it.

    Not drawn as ``photo.scale`` has it: every dullness between two ends is as likely, pieces are lighter or darker by
    a factor on their light, redder or yellower by an angle.
    """
    from pitreckon.cook.swatches import SWATCHES  # noqa: PLC0415
    from pitreckon.photo.cielab import lab_from_hex  # noqa: PLC0415

    swatches = np.array([lab_from_hex(SWATCHES[word]) for word in STEPS])
    while True:
        level = float(rng.uniform(0.0, 1.4))
        lab = np.array([np.interp(level, list(STEPS.values()), swatches[:, k]) for k in range(3)])
        lab[1:] *= rng.uniform(0.25, 1.0)
        turn = rng.normal(0.0, 0.12)
        lab[1:] = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ lab[1:]
        spread = np.interp(level, [0.0, 0.3, 0.55], [0.14, 0.10, 0.08])
        lab[0] = (lab[0] + 16.0) * np.exp(rng.normal(0.0, spread)) - 16.0
        made = reflectance_of(lab) if lab[0] > 2.0 else None
        if made is not None:
            return level, made


def meat_read(cut: str, count: int) -> Iterator[Read]:
    """Pieces in a scene, by one camera each: against what an exact instrument says of the same piece, and the level.

    off: from the instrument; z: of the true level
    """
    for n in range(count):
        rng = stream(cut, "meat", n)
        light, exposure = LIGHTS[n % 3], EXPOSURES[n // 3 % 4]
        level, meat = drawn_meat(rng)
        exact = step_of(true_lab(meat), INSTRUMENT)
        camera = Camera.drawn(rng, light, exposure)
        pixels = pixels_of(camera.takes(Scene.drawn(rng, meat).seen_by(camera, rng), rng))
        got = _measured(pixels, TAPS[: int(rng.integers(1, 6))], WHITE_TAP)
        kind = min(STEPS, key=lambda word: abs(STEPS[word] - level))
        if isinstance(got, str):
            yield Read(kind, light, exposure, float("nan"), got)
        else:
            off = swatches_up(got.step.level) - swatches_up(exact.level)
            capped = min(level, float(LEVELS[-1]))
            yield Read(kind, light, exposure, off, "", (got.step.level - capped) / got.step.sd, got.step.sd)


def unreadable_read(cut: str, kind: str, count: int) -> Iterator[Read]:
    """Pictures that cannot be read, of one kind."""
    for n in range(count):
        rng = stream(cut, kind, n)
        light, exposure = LIGHTS[n % 3], EXPOSURES[n // 3 % 4]
        _, meat = drawn_meat(rng)
        if kind == "one colour":
            light = ("LPS", "red lamp", "blue lamp", "green lamp")[n % 4]
        camera, scene, white = Camera.drawn(rng, light, exposure), Scene.drawn(rng, meat), WHITE_TAP
        if kind == "blur":
            camera = replace(camera, blur=float(rng.uniform(8.0, 20.0)))
        if kind == "no white":
            white = ROOM_TAP if n % 2 else TAPS[1]
        if kind == "grey for white":
            white, scene = ROOM_TAP, replace(scene, boards=0.01)
        if kind == "blown white":
            camera = replace(camera, exposure=float(rng.uniform(1.5, 3.0)))
        if kind == "foil":
            scene = replace(scene, foil=True)
        if kind == "tinted white":
            scene = replace(scene, white=tinted_white(rng))
        if kind == "grey":
            camera = replace(camera, grey=True)
        if kind == "dark":
            camera = replace(camera, exposure=float(rng.uniform(0.005, 0.03)))
        linear = scene.seen_by(camera, rng)
        if kind == "moved":
            from scipy.ndimage import uniform_filter1d  # noqa: PLC0415

            linear = uniform_filter1d(linear, int(rng.integers(24, 60)), axis=n % 2)
        got = _measured(pixels_of(camera.takes(linear, rng)), TAPS[:3], white)
        if isinstance(got, str):
            yield Read(kind, light, camera.exposure, float("nan"), got)
        else:
            level = got.step.level
            exact = step_of(true_lab(meat), INSTRUMENT)
            yield Read(kind, light, camera.exposure, swatches_up(level) - swatches_up(exact.level), "", sd=got.step.sd)


def within_half(reads: list[Read]) -> float:
    """Share of those that were read whose step is within half a swatch."""
    off = np.array([each.off for each in reads if not each.why])
    return float((np.abs(off) <= HALF).mean())


def refused(reads: list[Read]) -> float:
    """Share that was refused."""
    return sum(bool(each.why) for each in reads) / len(reads)
