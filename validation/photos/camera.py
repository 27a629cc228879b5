"""A simulated camera: spectra of things under a light, eyes of a real sensor, noise, a curve that is not sRGB's, JPEG.

It shares nothing with ``pitreckon.photo``: light is added up wavelength by wavelength, with the spectral responses,
lights and chart reflectances that colour-science carries (National Physical Laboratory's measurements of a camera;
CIE lights; lamps of NIST's colour quality work). What is drawn at random (white balance, curve, noise) is common
practice, no source.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

Floats = NDArray[np.float64]
WAVES: Final = np.arange(400.0, 701.0, 10.0)
SENSORS: Final = ("Nikon 5100 (NPL)", "Sigma SDMerill (NPL)")
LIGHTS: Final = ("D65", "A", "LED-B3")
"""Daylight, a filament lamp, a white LED (CIE 15:2018)."""
ONE_COLOUR: Final = ("LPS", "HPS", "red lamp", "blue lamp", "green lamp")
"""Sodium lamps of streets and yards, and coloured lamps: a band of 25 nm."""
BANDS: Final = {"red lamp": 630.0, "blue lamp": 460.0, "green lamp": 525.0}
TO_XYZ: Final = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1."""
EXPOSURES: Final = (0.85, 0.5, 0.25, 0.12)
"""Linear value of a perfect white, in the channel that has most of it."""


@cache
def _library() -> object:
    import colour  # noqa: PLC0415  it takes two seconds to load

    return colour


@cache
def light(name: str) -> Floats:
    """Its power at ``WAVES``, largest 1."""
    colour = _library()
    if name in BANDS:
        values = np.exp(-0.5 * ((WAVES - BANDS[name]) / 11.0) ** 2)
    else:
        held = colour.SDS_ILLUMINANTS if name in colour.SDS_ILLUMINANTS else colour.SDS_LIGHT_SOURCES  # type: ignore[attr-defined]
        spectrum = held[name]
        values = np.interp(WAVES, spectrum.wavelengths, spectrum.values)
    return np.asarray(values / values.max())


@cache
def responses(sensor: str) -> Floats:
    """Of red, green and blue at ``WAVES``, (31, 3)."""
    colour = _library()
    held = colour.MSDS_CAMERA_SENSITIVITIES[sensor]  # type: ignore[attr-defined]
    return np.stack([np.interp(WAVES, held.wavelengths, held.values[:, k], 0.0, 0.0) for k in range(3)], axis=1)


@cache
def chart() -> tuple[tuple[str, ...], Floats]:
    """Names and reflectances of the 24 patches, (24, 31): the average that BabelColor measured of thirty charts."""
    colour = _library()
    held = colour.SDS_COLOURCHECKERS["BabelColor Average"]  # type: ignore[attr-defined]
    names = tuple(held)[:24]
    return names, np.stack([np.interp(WAVES, held[name].wavelengths, held[name].values) for name in names])


@cache
def observer() -> Floats:
    """The CIE 1931 observer at ``WAVES``, (31, 3)."""
    colour = _library()
    held = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]  # type: ignore[attr-defined]
    return np.stack([np.interp(WAVES, held.wavelengths, held.values[:, k]) for k in range(3)], axis=1)


def true_lab(reflectance: Floats) -> Floats:
    """What an exact instrument would say of a thing in daylight; the last axis of the reflectance is ``WAVES``."""
    colour = _library()
    weight = light("D65")[:, None] * observer()
    xyz = reflectance @ weight / weight[:, 1].sum()
    white = weight.sum(axis=0) / weight[:, 1].sum()
    xy = white[:2] / white.sum()
    return np.asarray(colour.XYZ_to_Lab(xyz, xy))  # type: ignore[attr-defined]


@cache
def light_in_srgb(name: str) -> Floats:
    """A light in linear sRGB, as one sees it who comes from daylight; (3,)."""
    xyz = light(name) @ observer()
    seen = np.linalg.inv(TO_XYZ) @ xyz / xyz[1]
    return np.clip(seen, 0.03, None)


@cache
def to_srgb(sensor: str, name: str) -> Floats:
    """The matrix of a camera's maker: balanced sensor values under a light to linear sRGB, white to white.

    As raw files carry them: one for daylight and one for a filament lamp, and half of each for any other light.
    """
    if name not in {"D65", "A"}:
        return 0.5 * (to_srgb(sensor, "D65") + to_srgb(sensor, "A"))
    _, patches = chart()
    weight = light(name)[:, None] * responses(sensor)
    seen = patches @ weight / weight.sum(axis=0)
    observed = light("D65")[:, None] * observer()
    xyz = patches @ observed / observed[:, 1].sum()
    wanted = xyz @ np.linalg.inv(TO_XYZ).T
    # Rows that add up to 1 keep white white: fit the two free numbers of each row.
    rows = []
    for k in range(3):
        free = seen[:, [0, 1]] - seen[:, [2]]
        a, b = np.linalg.lstsq(free, wanted[:, k] - seen[:, 2], rcond=None)[0]
        rows.append([a, b, 1.0 - a - b])
    return np.array(rows)


@dataclass(frozen=True, slots=True)
class Camera:
    """One camera, as it stood for one picture.

    sensor; light: of the scene; exposure: linear value of a perfect white
    adapts: how far its balance takes the light's colour out, 1 wholly; tint: of its balance, factors, (3,)
    curve: exponent on linear light before sRGB's curve; knee: how far the curve bends at both ends
    shot, read: noise; blur: [pixels]; quality: of the JPEG; grey: it makes pictures without colours
    """

    sensor: str
    light: str
    exposure: float
    adapts: float
    tint: tuple[float, float, float]
    curve: float
    knee: float
    shot: float
    read: float
    blur: float
    quality: int
    grey: bool = False

    @classmethod
    def drawn(cls, rng: np.random.Generator, light_name: str, exposure: float) -> Camera:
        """One of many."""
        return cls(
            sensor=SENSORS[int(rng.integers(len(SENSORS)))],
            light=light_name,
            exposure=exposure,
            adapts=float(rng.uniform(0.6, 1.0)),
            tint=tuple(np.exp(rng.normal(0.0, 0.04, 3)).tolist()),
            curve=float(np.exp(rng.normal(0.0, 0.04))),
            knee=float(rng.uniform(0.0, 0.12)),
            shot=float(rng.uniform(0.0002, 0.0012)),
            read=float(rng.uniform(0.0005, 0.002)),
            blur=float(rng.uniform(0.4, 1.2)),
            quality=int(rng.integers(70, 93)),
        )

    def sees(self, reflectance: Floats) -> Floats:
        """Balanced linear sRGB of things, the largest channel of a perfect white at 1; reflectance: (.., 31)."""
        weight = light(self.light)[:, None] * responses(self.sensor)
        balanced = (reflectance @ weight) / weight.sum(axis=0) @ to_srgb(self.sensor, self.light).T
        left = light_in_srgb(self.light) ** (1.0 - self.adapts) * np.array(self.tint)
        return np.asarray(balanced * left / left.max())

    def takes(self, linear: Floats, rng: np.random.Generator) -> bytes:
        """The file of a picture, of linear light with a perfect white at 1, (height, width, 3)."""
        seen = np.stack([gaussian_filter(linear[..., k], self.blur) for k in range(3)], axis=-1) * self.exposure
        noise = np.sqrt(self.shot * np.maximum(seen, 0.0) + self.read**2)
        seen = np.clip(seen + noise * rng.standard_normal(seen.shape), 0.0, 1.0)
        if self.grey:
            seen = np.repeat((seen @ [0.2126, 0.7152, 0.0722])[..., None], 3, axis=-1)
        seen = seen**self.curve
        shown = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
        shown = shown - self.knee / (2 * np.pi) * np.sin(2 * np.pi * shown)  # darker darks, brighter brights
        out = io.BytesIO()
        Image.fromarray(np.round(255.0 * np.clip(shown, 0.0, 1.0)).astype(np.uint8)).save(
            out, "JPEG", quality=self.quality
        )
        return out.getvalue()


def pixels_of(file: bytes) -> NDArray[np.uint8]:
    """The pixels of a file, (height, width, 3)."""
    with Image.open(io.BytesIO(file)) as picture:
        return np.asarray(picture.convert("RGB"))
