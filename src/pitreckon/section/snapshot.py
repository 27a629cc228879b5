"""Members as they stand at one moment of a run, from which another run can go on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.section.shapes import Section
from pitreckon.section.tally import TALLIES
from pitreckon.section.trace import MARKS, Trace

EXTRAS = 6
"""Rows behind a member's cells, faces and marks: stage, time in it, lid last open, step, water and heat at put-on."""
DONE = -1.0
"""In the row of the stage: the member's course was over, or it had failed."""


@dataclass(frozen=True)
class Snapshot:
    """An ensemble at a knot, to the last bit.

    knot: when, in knots of the drive
    columns: shape (rows, members): what the kernel needs of each
    trace: what was recorded up to then (and beyond, which a run that goes on from here writes anew)
    single: the run was in single precision
    """

    knot: int
    columns: Floats
    trace: Trace
    single: bool

    def take(self, index: NDArray[np.int64]) -> Snapshot:
        """Some of the members, in the order of ``index``."""
        return Snapshot(self.knot, np.ascontiguousarray(self.columns[:, index]), self.trace.take(index), self.single)


def room_for(section: Section, members: int) -> Floats:
    """An empty set of columns; all members are done until one is kept."""
    cells, faces = section.cells, section.outer_cell.size
    columns = np.zeros((7 * cells + 2 * (TALLIES + 2 * faces) + faces + len(MARKS) + EXTRAS, members))
    columns[-EXTRAS] = DONE
    return columns
