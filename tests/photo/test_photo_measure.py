"""Colours read off pictures: a fast cut of ``validation.photos``, places, and each reason why not."""

from __future__ import annotations

import json
import warnings
from pathlib import Path

import numpy as np
import pytest
from tests.photo.pictures import MEAT, WHITE, plain

from pitreckon.errors import InputError
from pitreckon.photo.measure import MOST_PLACES, measure
from pitreckon.photo.places import place_of
from pitreckon.photo.unreadable import REASONS
from pitreckon.photo.words import measured_document, measured_words, value_of

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour-science tells of parts that are not installed
    from validation.photos import study
    from validation.photos.camera import Camera, light, pixels_of, true_lab
    from validation.photos.scene import HIGH, WIDE, reflectance_of

    study.chart()
    light("D65")

RESULT = Path(study.__file__).parents[1] / "results" / "photos.json"


def pixels(**changes: tuple[int, int, int]) -> np.ndarray:
    return pixels_of(plain(**changes))


def test_a_plain_picture_is_read_and_told() -> None:
    """sRGB (112, 62, 44) beside a plate of (224, 222, 218): L* 36 by hand, at a plate that throws back 84 %."""
    found = measure(pixels(), MEAT, WHITE)
    y = 0.84 * (0.2126 * 0.162 + 0.7152 * 0.048 + 0.0722 * 0.025) / 0.73  # sRGB's curve by its table
    assert found.lab[0] == pytest.approx(116.0 * np.cbrt(y) - 16.0, abs=1.0)
    assert 0.75 < found.step.level < 0.9
    assert found.left_out == ()
    words = measured_words(found)
    assert words[0] == f"Measured: red-brown ({value_of(found)})."
    document = measured_document(found)
    assert document["step"] == "red-brown"
    assert len(document["places"]) == 3
    assert json.loads(json.dumps(document)) == document


def test_exposure_and_the_light_s_colour_are_taken_out() -> None:
    day = measure(pixels(), MEAT, WHITE).step
    dim, warm = pixels().copy(), pixels().astype(float)
    linear = (warm / 255.0) ** 2.2
    dim = np.round(255.0 * (0.4 * linear) ** (1 / 2.2)).astype(np.uint8)
    warm = np.round(255.0 * (linear * [1.0, 0.8, 0.55]) ** (1 / 2.2)).astype(np.uint8)
    assert measure(dim, MEAT, WHITE).step.level == pytest.approx(day.level, abs=0.05)
    assert measure(warm, MEAT, WHITE).step.level == pytest.approx(day.level, abs=0.06)


def test_more_places_know_more_and_one_in_the_shade_is_left_out() -> None:
    many = (*MEAT, (0.2, 0.75), (0.45, 0.45))
    assert measure(pixels(), many, WHITE).step.sd < measure(pixels(), MEAT[:1], WHITE).step.sd
    shaded = pixels().copy()
    shaded[420:500, 110:210] = shaded[420:500, 110:210] // 3
    found = measure(shaded, many, WHITE)
    assert found.left_out == (4,)
    assert "Place 4 " in measured_words(found)[2]
    assert found.step.level == pytest.approx(measure(pixels(), many, WHITE).step.level, abs=0.03)


def foil() -> np.ndarray:
    made = pixels().copy()
    rng = np.random.default_rng(5)
    creases = np.kron(rng.uniform(0.2, 1.0, (24, 20)), np.ones((10, 10)))[..., None]
    made[60:300, 540:740] = made[60:300, 540:740] * creases
    return made


def glaring() -> np.ndarray:
    made = pixels().copy()
    made[180:520, 90:480] = 253
    return made


def half_shaded() -> np.ndarray:
    made = pixels().astype(float)
    made[60:300, 540:740] *= np.linspace(0.2, 1.8, 200)[None, :, None] ** 0.9 / 1.7
    return np.clip(made, 0, 255).astype(np.uint8)


def blurred() -> np.ndarray:
    from scipy.ndimage import uniform_filter

    return uniform_filter(pixels(), (31, 31, 1))


BAD = {
    "blur": blurred,
    "foil": foil,
    "glare": glaring,
    "half in shade": half_shaded,
    "blown white": lambda: pixels(white=(255, 254, 252)),
    "tinted": lambda: pixels(white=(150, 200, 140)),
    "one colour": lambda: pixels(white=(240, 50, 14), meat=(110, 14, 4)),
    "dark": lambda: (pixels() * 0.18).astype(np.uint8),
    "colourless": lambda: np.repeat(pixels().mean(axis=2, keepdims=True), 3, axis=2).astype(np.uint8),
    "not white": lambda: pixels(meat=(226, 219, 208)),
    "no meat": lambda: pixels(meat=(60, 90, 170)),
    "whiter": lambda: pixels(white=(240, 238, 232)),
    "small": lambda: pixels()[::5, ::5],
}


@pytest.mark.parametrize("reason", BAD)
def test_each_reason_is_said_with_what_to_do(reason: str) -> None:
    with pytest.raises(InputError) as raised:
        measure(BAD[reason](), MEAT, (0.85, 0.8) if reason == "whiter" else WHITE)
    assert (raised.value.trouble, raised.value.remedy) == REASONS[reason]


def test_too_many_places_or_one_outside() -> None:
    for meat in ((), MEAT * 2):
        assert len(meat) > MOST_PLACES or not meat
        with pytest.raises(InputError, match="one to five"):
            measure(pixels(), meat, WHITE)
    with pytest.raises(InputError, match="outside"):
        measure(pixels(), MEAT, (1.2, 0.3))


@pytest.mark.parametrize("text", ["", "0.4", "0.4;0.5", "-0.1,0.5", "a,b", "nan,0.5", "1e9,1"])
def test_what_is_no_place_says_how_one_is_written(text: str) -> None:
    with pytest.raises(InputError, match="shares"):
        place_of(text, (4000, 3000))
    with pytest.raises(InputError, match="outside the picture"):
        place_of("4100,20", (4000, 3000))


def test_no_picture_of_noise_breaks_it() -> None:
    """Any pixels end in a colour or in a reason."""
    rng, reasons = np.random.default_rng(11), []
    for n in range(60):
        made = rng.integers(0, 256, (240, 320, 3), dtype=np.uint8) if n % 2 else np.full((240, 320, 3), n, np.uint8)
        made[: rng.integers(1, 240)] //= int(rng.integers(1, 9))
        try:
            found = measure(made, tuple(map(tuple, rng.random((3, 2)))), tuple(rng.random(2)))
        except InputError as fault:
            reasons.append(fault.trouble)
        else:
            assert 0.0 <= found.step.level <= 1.5
    assert len(reasons) > 30
    assert set(reasons) <= {trouble for trouble, _ in REASONS.values()}


def test_the_simulated_camera_agrees_with_an_exact_instrument_where_it_has_no_faults() -> None:
    """It shares nothing with what it tests; by daylight and with sRGB's own curve both have to say the same."""
    lab = np.array([45.0, 16.0, 24.0])
    meat = reflectance_of(lab)
    assert meat is not None
    assert true_lab(meat) == pytest.approx(lab, abs=2.5)  # Smits's spectra come back to about that
    camera = Camera("Nikon 5100 (NPL)", "D65", 0.6, 1.0,
                    (1.0, 1.0, 1.0), 1.0, 0.0, 0.0, 0.0, 0.3, 95)  # fmt: skip
    picture = np.zeros((HIGH, WIDE, 3)) + camera.sees(np.full(31, 0.3)) * [0.9, 1.0, 0.8]
    picture[180:520, 90:480] = camera.sees(meat)
    picture[60:300, 540:740] = camera.sees(np.full(31, 0.84))
    found = measure(pixels_of(camera.takes(picture, np.random.default_rng(1))), MEAT, WHITE)
    assert found.lab == pytest.approx(tuple(true_lab(meat)), abs=4.0)


@pytest.mark.slow
def test_a_fast_cut_of_the_study() -> None:
    """Other pictures than those that the limits were set on. The whole study stands in ``validation/README.md``."""
    chart = list(study.chart_read("test", 1, study.EXPOSURES[1::2]))
    meat = [each for each in chart if each.kind.startswith("meat:")]
    other = [each for each in chart if each.kind.startswith("not meat:")]
    assert len(meat) == 36
    assert study.within_half(meat) >= 0.93
    assert study.refused(other) >= 0.95
    scenes = list(study.meat_read("test", 24))
    assert study.within_half(scenes) >= 0.9
    assert study.refused(scenes) <= 0.12
    bad = [each for kind in study.UNREADABLE for each in study.unreadable_read("test", kind, 2)]
    assert study.refused(bad) >= 0.9


def test_the_study_as_it_was_run() -> None:
    rows = {row["what"]: row for row in json.loads(RESULT.read_text("utf-8"))["rows"]}
    chart, scenes = rows["chart, colours that meat takes"], rows["meat in a scene"]
    assert chart["within_half"] >= 0.95
    assert scenes["within_half"] >= 0.95
    assert scenes["inside_2_sd"] >= 0.93
    assert scenes["refused"] <= 0.06
    assert rows["all that cannot be read"]["refused"] >= 0.95


def test_dark_meat_tapped_for_white_is_no_dark_picture() -> None:
    """The paper lies in good light beside it: more light is no remedy."""
    with pytest.raises(InputError, match="far whiter than what was tapped"):
        measure(pixels(meat=(44, 26, 18)), [*MEAT[1:], WHITE], MEAT[0])
