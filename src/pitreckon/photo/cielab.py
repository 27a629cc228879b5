"""From the numbers of a picture to CIELAB under daylight, by the constants of the standards.

A few lines of our own, since a library of colour takes two seconds and 130 MB to load, beside a server that has to
answer; the tests hold each against colour-science, an independent implementation.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats

D65: Final = np.array([0.95047, 1.0, 1.08883])
"""XYZ of daylight (ISO 11664-2; 2 degree observer)."""
SRGB_TO_XYZ: Final = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1."""
BRADFORD: Final = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"""Cone responses of the Bradford transform (ICC.1:2022, annex E)."""
LUMINANCE: Final = SRGB_TO_XYZ[1]


def linear_from_srgb(values: Floats) -> Floats:
    """Linear light, 0 to 1, of sRGB values 0 to 1 (IEC 61966-2-1)."""
    return np.asarray(np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4))


_OF_BYTES: Final = linear_from_srgb(np.arange(256) / 255.0)


def linear_from_bytes(pixels: NDArray[np.uint8]) -> Floats:
    """Linear light, 0 to 1, of sRGB values 0 to 255."""
    return np.asarray(_OF_BYTES[pixels])


def xyz_from_linear(linear: Floats) -> Floats:
    """CIE XYZ [-] of linear sRGB; the last axis has the three."""
    return np.asarray(linear @ SRGB_TO_XYZ.T)


def adapted(xyz: Floats, white: Floats) -> Floats:
    """XYZ as they would be in daylight, where ``white`` [XYZ] would be daylight's own white times its luminance.

    The Bradford transform; luminances are then shares of the white's.
    """
    to_cones, here = BRADFORD, BRADFORD @ white
    gains = (BRADFORD @ D65) / here
    matrix = np.linalg.inv(to_cones) @ np.diag(gains) @ to_cones
    return np.asarray(xyz @ matrix.T)


def lab_from_xyz(xyz: Floats) -> Floats:
    """CIELAB of XYZ in daylight (ISO 11664-4); the last axis has L*, a*, b*."""
    ratio = np.maximum(xyz, 0.0) / D65
    f = np.where(ratio > 216.0 / 24389.0, np.cbrt(ratio), (24389.0 / 27.0 * ratio + 16.0) / 116.0)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def lab_from_hex(code: str) -> Floats:
    """CIELAB of a colour written ``#rrggbb``."""
    values = np.array([int(code[at : at + 2], 16) for at in (1, 3, 5)]) / 255.0
    return lab_from_xyz(xyz_from_linear(linear_from_srgb(values)))


def chromaticity_uv(xyz: Floats) -> Floats:
    """CIE 1960 u and v."""
    x, y, z = xyz[..., 0], xyz[..., 1], xyz[..., 2]
    whole = np.maximum(x + 15.0 * y + 3.0 * z, 1e-12)
    return np.stack([4.0 * x / whole, 6.0 * y / whole], axis=-1)


def glowing_uv(temperature_k: Floats) -> Floats:
    """CIE 1960 u and v of a body that glows, 1000 to 15,000 K (Krystek 1985)."""
    t = temperature_k
    u = (0.860117757 + 1.54118254e-4 * t + 1.28641212e-7 * t**2) / (1 + 8.42420235e-4 * t + 7.08145163e-7 * t**2)
    v = (0.317398726 + 4.22806245e-5 * t + 4.20481691e-8 * t**2) / (1 - 2.89741816e-5 * t + 1.61456053e-7 * t**2)
    return np.stack([u, v], axis=-1)


_GLOWING: Final = glowing_uv(np.geomspace(1600.0, 15000.0, 120))


def off_white_lights(xyz: Floats) -> float:
    """How far a light or a white [XYZ] lies from what glows, in u and v: daylight and lamps lie within 0.02."""
    return float(np.min(np.hypot(*(chromaticity_uv(xyz) - _GLOWING).T)))
