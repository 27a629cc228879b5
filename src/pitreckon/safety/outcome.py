"""How a rule came out in every member."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats, Ints

MET, FAILED, UNSURE, NOT_YET = range(4)
GAPS: Final = "for {long} nothing is known: no readings, rejected ones, or more than 30 min between two"
CLOSE: Final = "the samples are too far apart to say on which side of the limit it was"


@dataclass(frozen=True)
class Outcome:
    """How a rule came out, by member.

    state: MET, FAILED, UNSURE or NOT_YET; at_s: when that was decided [s], nan where it was not
    margin: to the limit, positive on the good side, [s] or [K] by ``unit``; nan where there is none
    failed_word: what FAILED is called: "missed" for a limit, "not met" for a goal that was not reached
    why, needs: of what cannot be told; said: what was found, of a single history
    """

    state: Ints
    at_s: Floats
    margin: Floats
    unit: str
    failed_word: str
    why: str = ""
    needs: str = ""
    said: str = ""


def worse_of(one: Outcome, other: Outcome, why: str, needs: str) -> Outcome:
    """Of two ways to read a rule, nobody having said which holds: where they differ, it cannot be told."""
    alike = one.state == other.state
    later = np.where(alike, np.fmax(one.at_s, other.at_s), np.nan)
    return Outcome(
        np.where(alike, one.state, UNSURE),
        later,
        np.where(alike, np.fmin(one.margin, other.margin), np.nan),
        *(one.unit, one.failed_word),
        *((one.why, one.needs) if alike.all() else (why, needs)),
        one.said if alike.all() else "",
    )
