"""How likely a reader is to call a plate tough, dry or bitter, from the state that it was served in.

A word is said where the state, felt with the reader's own error, is past a mark. Every error is a judgement (common
practice, no source).
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
from scipy.special import ndtr

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.lessons.diagnosis.report import FAULTS
from pitreckon.lessons.diagnosis.run import BITTER, Plates
from pitreckon.lessons.marks import Marks, Usual

__all__ = ["Usual", "any_fault", "word_chances", "words_likelihood"]


LEAST, MOST = 0.01, 0.97
"""Some call any plate so, and some call no plate so."""
SAID: Final = 0.75
"""Share of what was wrong that a reader mentions."""


def word_chances(cut: Cut, plates: Plates, usual: Usual) -> Mapping[str, Floats]:
    """Chance that each fault is felt, shape (members,) each."""

    def past(value: Floats, mark: float, sd: float) -> Floats:
        return np.asarray(ndtr((value - mark) / sd))

    marks = Marks.of(cut, usual)
    dark = past(plates.level, marks.dark, 0.05)
    pale = past(-plates.level, -marks.pale, 0.1)
    dry = past(plates.loss, marks.dry, 0.03)
    if cut.texture.done_by == "core":
        rubbery = past(-plates.peak_c, -marks.rubbery_c, 3.0)
        tough = 1.0 - (1.0 - 0.6 * rubbery) * (1.0 - 0.5 * dry)
        mushy = 0.5 * past(plates.tender, marks.mushy, 0.1)
    else:
        tough = past(-plates.tender, -marks.tough, 0.1)
        mushy = past(plates.tender, marks.mushy, 0.04)
        dry = 1.0 - (1.0 - dry) * (1.0 - 0.25 * tough)  # what has not let go chews dry
    raw = past(-plates.peak_c, -(marks.least_c - 4.0), 3.5)
    scorched = past(np.log(np.maximum(plates.dose, 1e-6)), float(np.log(BITTER)), 0.5)
    char = 0.6 * past(plates.level, marks.charred, 0.06)
    bitter = 1.0 - (1.0 - scorched) * (1.0 - char) * (1.0 - 0.75 * plates.smoke)
    stewed = past(plates.liquid, 0.06, 0.025) * (plates.shut > 0.05)
    longer_shut = past(plates.shut, usual.shut + 0.25, 0.1)
    damp = past(plates.damp, max(usual.damp + 0.06, 0.93), 0.03)
    soft = 1.0 - (1.0 - 0.75 * stewed) * (1.0 - 0.5 * longer_shut) * (1.0 - 0.3 * damp) * (1.0 - 0.35 * pale)
    if cut.texture.done_by != "core":
        mushy = 1.0 - (1.0 - mushy) * (1.0 - 0.25 * stewed)
    inside = plates.salt_g_per_kg / np.maximum(1.0 - plates.loss, 0.3)
    salty = past(np.log(np.maximum(inside, 0.1)), float(np.log(19.0)), 0.2)
    felt = dict(zip(FAULTS, (dark, pale, tough, mushy, dry, raw, bitter, soft, salty), strict=True))
    return {name: LEAST + (MOST - LEAST) * np.clip(chance, 0.0, 1.0) for name, chance in felt.items()}


def words_likelihood(chances: Mapping[str, Floats], said: tuple[str, ...]) -> Floats:
    """Of what was said and what was not, shape (members,)."""
    total = np.ones_like(next(iter(chances.values())))
    for name, chance in chances.items():
        total *= SAID * chance if name in said else 1.0 - SAID * chance
    return np.asarray(total)


def any_fault(chances: Mapping[str, Floats], which: tuple[str, ...] = FAULTS) -> Floats:
    """Chance that one or more of these is felt, shape (members,)."""
    none = np.ones_like(next(iter(chances.values())))
    for name in which:
        none *= 1.0 - chances[name]
    return np.asarray(1.0 - none)
