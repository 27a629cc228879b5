"""The step of a colour: the swatches themselves, published surfaces of meat, and what is no meat."""

from __future__ import annotations

import numpy as np
import pytest

from pitreckon.cook.scales import COLOUR
from pitreckon.cook.swatches import SWATCHES
from pitreckon.photo.cielab import lab_from_hex
from pitreckon.photo.scale import NO_MEAT, STEPS, step_of, swatches_up

INSTRUMENT = np.diag([0.5, 0.5, 0.5]) ** 2


def step(*lab: float):
    return step_of(np.array(lab), INSTRUMENT)


def test_the_scale_is_the_cook_s_and_each_swatch_reads_as_itself() -> None:
    assert list(SWATCHES) == list(COLOUR) == list(STEPS)
    for word, code in SWATCHES.items():
        found = step_of(lab_from_hex(code), INSTRUMENT)
        assert abs(found.level - COLOUR[word]) < 0.09, word
        assert abs(swatches_up(found.level) - swatches_up(COLOUR[word])) < 0.5
        assert found.off < NO_MEAT


PUBLISHED = {
    # Food Sci Anim Resour 39 (2019) 756, table 5: surface of pork steaks, 1.5 cm
    "pork, raw": ((49.15, 13.63, 7.64), 0.0, 0.6),
    "pork, medium-rare": ((55.55, 8.36, 11.44), 0.1, 0.7),
    "pork, well done": ((49.94, 6.91, 15.07), 0.3, 0.8),
    # the same journal 40 (2020) 44, table 3: surface of beef steaks, from the oven and seared at 240 degC
    "beef, oven": ((36.03, 9.48, 10.04), 0.7, 0.95),
    "beef, seared": ((32.24, 4.36, 5.42), 0.8, 1.05),
    # the same journal 36 (2016) 538, table 3: patties of pork with 10 % fat
    "patty, raw": ((56.84, 9.34, 10.02), 0.0, 0.6),
    "patty, cooked": ((57.97, 6.46, 8.84), 0.1, 0.7),
    # Foods 10 (2021) 1180, abstract: smoked red sausages, the middle of three ways of smoking
    "sausage, smoked": ((55.7, 12.6, 12.6), 0.2, 0.7),
    # J Anim Sci Technol / PMC7477213, table 2: raw breast of chicken, normal
    "chicken, raw": ((54.34, 6.67, 16.03), 0.0, 0.7),
}
"""Published L*, a*, b* of surfaces, and between which levels the step has to lie: what the words raw, cooked, well
done and seared mean on the scale is a judgement (common practice, no source)."""


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_surfaces_of_meat_lie_where_their_names_say(name: str) -> None:
    lab, low, high = PUBLISHED[name]
    found = step(*lab)
    assert found.off < NO_MEAT
    assert low <= found.level <= high
    assert found.dark_chance < 0.02


def test_more_fire_is_darker() -> None:
    """As the same papers have it."""
    level = {name: step(*lab).level for name, (lab, _, _) in PUBLISHED.items()}
    assert level["pork, raw"] < level["pork, well done"]
    assert level["beef, oven"] < level["beef, seared"]
    assert level["pork, well done"] < level["beef, seared"]


def test_raw_meat_is_told_to_be_unsure() -> None:
    """Raw beef (L* 40, a* 20, b* 10; from memory) is as dark and red as a crust half way: one number cannot know."""
    assert step(40.0, 20.0, 10.0).sd > 0.15
    assert step(22.5, 12.0, 10.0).sd < 0.12


@pytest.mark.parametrize("lab", [(55.0, -38.0, 31.0), (29.0, 14.0, -50.0), (50.0, 50.0, -16.0), (96.0, 0.0, 0.0)])
def test_leaves_cloth_and_a_plate_are_no_meat(lab: tuple[float, float, float]) -> None:
    assert step(*lab).off > NO_MEAT


def test_a_darker_colour_is_a_darker_step_and_a_vaguer_one_is_vaguer() -> None:
    levels = [step(light, 0.4 * light, 0.4 * light).level for light in (45.0, 38.0, 30.0, 22.0, 14.0, 7.0)]
    assert (np.diff(levels) > 0.0).all()
    lab = np.array([30.0, 12.0, 12.0])
    sds = [step_of(lab, np.diag([each, each, each]) ** 2).sd for each in (0.5, 3.0, 6.0)]
    assert sds[0] < sds[1] < sds[2]
    sure = step(10.0, 4.0, 3.0)
    assert sure.set_chance > sure.dark_chance > 0.8
