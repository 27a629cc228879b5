"""One twin cook from its deal to its ledger and the true times of its marks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pitreckon.ledger import Ledger
from validation.twins.deal import Twin, deal
from validation.twins.habits import Life, live
from validation.twins.observe import ledger_of
from validation.twins.worlds import House

ATTEMPTS = 6


@dataclass(frozen=True)
class Day:
    """A twin, how it went, what was written down, and when its marks truly were [s since put-on]."""

    twin: Twin
    life: Life
    ledger: Ledger
    marks: dict[str, float]


def day_of(seed: int, index: int, world: str = "calibrated", house: House | None = None) -> Day:
    """The day of a cook of a world; one that would not get done is dealt anew, and its ``twin.attempt`` says so."""
    for attempt in range(ATTEMPTS):
        twin = deal(seed, index, attempt, world, house)
        life = live(twin)
        if life is not None:
            return Day(twin, life, ledger_of(twin, life), marks_of(twin, life))
    raise RuntimeError(f"twin {index} of seed {seed} did not get done in {ATTEMPTS} attempts")


def marks_of(twin: Twin, life: Life) -> dict[str, float]:
    """True times of the marks that this cook goes by: colour_set, done, glaze_set; each only if it came.

    When it was ready is not asked: that hangs on when the cook cared to notice, which no forecast of the meat can know.
    """
    assert life.thick is not None
    kinds = {stage.until.ends_by for stage in twin.stages}
    named = {"done": twin.done_mark}
    if "colour" in kinds:
        named["colour_set"] = "colour_set"
    if "glaze" in kinds:
        named["glaze_set"] = "glaze_set"
    times = {name: float(life.thick.mark(mark)[0]) for name, mark in named.items()}
    return {name: time for name, time in times.items() if np.isfinite(time)}
