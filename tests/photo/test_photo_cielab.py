"""Colour by the constants of the standards, against colour-science and against numbers that are printed."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from pitreckon.photo.cielab import (
    D65,
    adapted,
    chromaticity_uv,
    glowing_uv,
    lab_from_hex,
    lab_from_xyz,
    linear_from_bytes,
    linear_from_srgb,
    off_white_lights,
    xyz_from_linear,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it tells of parts that are not installed
    import colour


RNG = np.random.default_rng(3)
SRGB = RNG.uniform(0.0, 1.0, (500, 3))
SRGB[:20] *= 0.05  # the straight foot of the curve


def test_the_curve_of_srgb() -> None:
    assert linear_from_srgb(SRGB) == pytest.approx(colour.cctf_decoding(SRGB, "sRGB"), abs=1e-7)
    # IEC 61966-2-1: mid grey 119 is 18.4 % (from memory: 0.1845)
    assert linear_from_bytes(np.array([0, 119, 255], dtype=np.uint8)) == pytest.approx([0.0, 0.1845, 1.0], abs=2e-4)


def test_xyz_and_cielab() -> None:
    xyz = xyz_from_linear(linear_from_srgb(SRGB))
    assert xyz == pytest.approx(colour.sRGB_to_XYZ(SRGB), abs=2e-6)
    white = colour.XYZ_to_xy(D65)
    assert lab_from_xyz(xyz) == pytest.approx(colour.XYZ_to_Lab(xyz, white), abs=1e-4)
    low = np.array([0.003, 0.004, 0.002])  # under (6/29)^3, where the cube root is a straight line
    assert lab_from_xyz(low) == pytest.approx(colour.XYZ_to_Lab(low, white), abs=1e-4)


def test_printed_numbers() -> None:
    """CIELAB of sRGB's primaries and white in D65 (printed in many tables, e.g. Lindbloom's; from memory)."""
    for code, lab in {
        "#ff0000": (53.24, 80.09, 67.20),
        "#00ff00": (87.74, -86.18, 83.18),
        "#0000ff": (32.30, 79.19, -107.86),
        "#ffffff": (100.0, 0.0, 0.0),
    }.items():
        assert lab_from_hex(code) == pytest.approx(lab, abs=0.05)


def test_the_bradford_transform() -> None:
    xyz = xyz_from_linear(linear_from_srgb(SRGB))
    white = 0.83 * np.array([1.0985, 1.0, 0.3558])  # CIE illuminant A, on a plate
    ours = adapted(xyz, white)
    theirs = colour.chromatic_adaptation(xyz, white / white[1], D65, method="Von Kries", transform="Bradford")
    assert ours == pytest.approx(theirs / white[1], rel=2e-3, abs=2e-4)  # theirs has more digits of the matrix
    assert adapted(white, white) == pytest.approx(D65)


def test_what_glows() -> None:
    kelvin = np.array([1700.0, 2856.0, 4000.0, 6500.0, 12000.0])
    theirs = np.array([colour.temperature.CCT_to_uv_Krystek1985(each) for each in kelvin])
    assert glowing_uv(kelvin) == pytest.approx(theirs, abs=1e-9)
    assert chromaticity_uv(D65) == pytest.approx(colour.UCS_to_uv(colour.XYZ_to_UCS(D65)), abs=1e-9)


@pytest.mark.parametrize("light", ["A", "D50", "D65", "FL2", "FL11", "LED-B3"])
def test_lamps_lie_near_what_glows(light: str) -> None:
    xy = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][light]
    assert off_white_lights(colour.xy_to_XYZ(xy)) < 0.015


@pytest.mark.parametrize("plate", ["#9fc79a", "#d9a0c0", "#a493cf"])
def test_a_green_a_pink_and_a_violet_plate_are_no_light(plate: str) -> None:
    code = np.array([int(plate[at : at + 2], 16) for at in (1, 3, 5)]) / 255.0
    assert off_white_lights(xyz_from_linear(linear_from_srgb(code))) > 0.015
