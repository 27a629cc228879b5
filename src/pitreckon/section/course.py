"""A course as the kernel sees it: a table of stages whose numbers may differ from member to member."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon.arrays import Floats
from pitreckon.section.shapes import GROUPS


class Until(IntEnum):
    """What ends a stage."""

    MINUTES = 0  # seconds since the stage began
    COLOUR = 1  # mean colour of the upper faces
    TENDER = 2  # gelatin at the core over the member's own threshold
    CORE = 3  # core temperature [degC]
    CLOCK = 4  # seconds since put-on
    GLAZE = 5  # glaze water per solids at or below the member's set point
    NEVER = 6


FIELDS = (
    "until",
    "value",
    "forced_s",  # the ledger says that the cook ended the stage then [s since put-on]; inf: it does not say
    "not_before_s",  # the ledger says that the stage still ran then
    "longest_s",  # given up after this long in the stage
    "off_pit",  # 1: a set air temperature instead of the pit's
    "air_c",
    "vapour_pa",
    "wall_offset_k",
    "lid_dip_k",  # drop of the pit's air when the stage begins with an open lid
    "lid_recovery_s",
    "sugar",  # speeds the colour: factor 1 + sugar
    "holds_liquid",
    "liquid",  # put inside when the stage begins [kg per kg of raw piece]
    "glaze_water",  # brushed on the upper faces when the stage begins [kg/m2]
    "glaze_solid",  # [kg/m2]; 0: no glaze
    *(f"convection_{g}" for g in range(GROUPS)),  # [W/m2K]
    *(f"emissivity_{g}" for g in range(GROUPS)),
    *(f"vapour_{g}" for g in range(GROUPS)),  # Stefan coefficient of what is bare [kg/m2s]
    *(f"through_{g}" for g in range(GROUPS)),  # the same of what is wrapped, through film and wrap
)
COLUMN = {name: i for i, name in enumerate(FIELDS)}

_NONE = {
    "until": float(Until.NEVER),
    "forced_s": np.inf,
    "not_before_s": -np.inf,
    "longest_s": np.inf,
    "lid_recovery_s": 300.0,
}


@dataclass(frozen=True)
class Course:
    """Stages in order: ``table[stage, COLUMN[field], member]``."""

    table: Floats
    names: tuple[str, ...] = field(default=())

    @classmethod
    def of(cls, n: int, stages: Sequence[dict[str, ArrayLike]], names: Sequence[str] = ()) -> Course:
        """Build from one mapping a stage; a field left out is "none of it".

        Raises KeyError: a field is unknown
        """
        table = np.zeros((len(stages), len(FIELDS), n))
        for row, stage in zip(table, stages, strict=True):
            for name, value in (_NONE | dict(stage)).items():
                row[COLUMN[name]] = value
        return cls(table, tuple(names) or tuple(f"stage {i + 1}" for i in range(len(stages))))

    def take(self, index: NDArray[np.int64]) -> Course:
        """The same course for some of the members."""
        return Course(np.ascontiguousarray(self.table[:, :, index]), self.names)


@dataclass(frozen=True)
class Drive:
    """What the pit does: air at the grate on knots of ``knot_s`` seconds from put-on, per member.

    ``air_c`` has shape (knots, members); the last value holds after the end. Lid dips of the course apply
    from ``known_until_s`` on only: before it, the readings have them already.
    """

    air_c: Floats
    knot_s: float = 60.0
    known_until_s: float = 0.0
