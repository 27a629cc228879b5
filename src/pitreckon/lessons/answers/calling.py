"""What readers call a plate: how far it is past each mark, in the errors with which readers feel it, and how strict
they are. Who is stricter calls a plate wrong that lies so many of these errors on the right side of its mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit, ndtr, ndtri

from pitreckon.arrays import Floats
from pitreckon.lessons.answers.answer import FAULTS
from pitreckon.lessons.card.cooked import NOT_KEPT, Cooked
from pitreckon.lessons.diagnosis.run import BITTER
from pitreckon.lessons.marks import RAW, Marks

FELT: Final = {"too dark": 0.05, "too pale": 0.07, "tough": 0.06, "mushy": 0.04, "dry": 0.02, RAW: 2.0, "bitter": 0.4}
"""How far off readers are in calling a plate so: standard errors in the mark's unit (common practice, no source)."""
RUBBERY_K: Final = 2.5
LEAST, MOST = 0.004, 0.98
"""The least and the most chance that a plate is called anything, however it is."""
FAR: Final = 9.0
MOST_NAMED: Final = 2
"""Who names so many things that are wrong does not name all."""
_ROOT: Final = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True)
class Plates:
    """past: each mark, in the errors with which readers feel it, (faults, ..., members), by ``FAULTS``"""

    past: Floats

    @classmethod
    def of(cls, cooked: Cooked, marks: Marks) -> Plates:
        """Of readers' plates, (faults, readers); what never got done is that alone."""

        def by(value: Floats, mark: float, error: float) -> Floats:
            return np.asarray((np.nan_to_num(value, nan=0.0) - mark) / error)

        tough = by(-cooked.tender, -marks.tough, FELT["tough"])
        if marks.by_core:
            tough = by(-cooked.peak_c, -marks.rubbery_c, RUBBERY_K)
        dose = np.log(np.maximum(np.nan_to_num(cooked.dose, nan=0.0), 1e-6))
        scorched = ndtr(by(dose, float(np.log(BITTER)), FELT["bitter"]))
        charred = ndtr(by(cooked.level, marks.charred, FELT["too dark"]))
        found = {
            "too dark": by(cooked.level, marks.dark, FELT["too dark"]),
            "too pale": by(-cooked.level, -marks.pale, FELT["too pale"]),
            "tough": tough,
            "mushy": np.full_like(tough, -FAR) if marks.by_core else by(cooked.tender, marks.mushy, FELT["mushy"]),
            "dry": by(cooked.loss, marks.dry, FELT["dry"]),
            RAW: by(-cooked.peak_c, -marks.least_c, FELT[RAW]),
            "bitter": ndtri(np.clip(scorched + charred - scorched * charred, 1e-15, 1.0 - 1e-15)),
            NOT_KEPT: np.full_like(tough, -FAR),
        }
        never = ~np.isfinite(cooked.total_s)
        past = np.stack([np.where(never, -FAR, found[word]) for word in FAULTS])
        past[FAULTS.index(NOT_KEPT), never] = FAR
        return cls(np.clip(past, -FAR, FAR))

    def some(self, which: Sequence[int] | slice) -> Plates:
        """Those of some answers."""
        return Plates(self.past[:, which if isinstance(which, slice) else list(which)])

    def by_answer(self, each: int) -> Plates:
        """The same as (faults, answers, members)."""
        return Plates(self.past.reshape(self.past.shape[0], -1, each))

    def called(self, strict: float) -> Floats:
        """Chance that a plate is called each of what can be wrong, the shape of ``past``."""
        return np.asarray(LEAST + (MOST - LEAST) * ndtr(self.past + strict))

    def slope(self, strict: float) -> Floats:
        """How that grows with strictness."""
        return np.asarray((MOST - LEAST) / _ROOT * np.exp(-0.5 * (self.past + strict) ** 2))

    def right(self, strict: float, left_over: float = 0.0) -> Floats:
        """Chance that a plate is called right, (..., members). left_over: log odds that nothing explains"""
        return np.asarray(expit(odds_of(np.sum(np.log1p(-self.called(strict)), axis=0)) + left_over))


def odds_of(log_chance: Floats) -> Floats:
    """Log odds of a chance that is given by its logarithm, below 0."""
    return np.asarray(log_chance - np.log(-np.expm1(log_chance)))
