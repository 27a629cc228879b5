"""What the compiled kernel's parts share: lanes, and the tables' rows as plain integers.

``tally.LANES`` members stand side by side; every array of the kernel has them on its last axis, so that one
instruction serves several members.
"""

# mypy: disable-error-code="no-untyped-call,no-untyped-def,untyped-decorator"

import numpy as np

from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW
from pitreckon.section.precision import INNER, njit
from pitreckon.section.tally import LANES


@njit(**INNER)
def span(row):
    """Number of lanes of a row, which the compiler must not know but as a multiple of ``LANES``.

    Loops of a known, small length it unrolls before it could make vector code of them.
    """
    return row.shape[0] // LANES * LANES


def in_rows(arrays):
    """The same arrays, a tuple of them, with what the compiler cannot see: each row is ``LANES`` long.

    Where a cell's row begins is then one sum for all of them; else it is a multiplication for each, which costs as much
    as the arithmetic of a short loop. ``span`` is asked of an array that was not told. ``compiler`` does the telling.
    """
    return arrays


cell = np.uintp
"""An index that is not below zero: of one that might be, every array would have to look whether to count from its end.
"""


# Rows of a member's parameters and columns of a stage, which the compiler folds into the code.
SCALE, START, WATER0, DENSITY, DRY_CP = (ROW[name] for name in ("scale", "start_c", "water", "dry_density", "dry_cp"))
K_BASE, K_TEMP, K_WATER, BONE_K, BONE_C = (
    ROW[name] for name in ("k_base", "k_temp", "k_water", "bone_k", "bone_capacity")
)
TRANSPORT, DIFFUSION, SHIFT, DROP, DRIP, DRINK = (
    ROW[name] for name in ("transport", "diffusion", "hold_shift", "hold_drop", "drip", "drink")
)
SKIN_B, SKIN_R, SKIN_E, SKIN_N, FLOOR = (ROW[name] for name in ("skin_b", "skin_r", "skin_e", "skin_n", "colour_floor"))
GEL_RATE, GEL_EA, COL_RATE, COL_EA = (
    ROW[name] for name in ("gelatin_rate", "gelatin_ea_over_r", "colour_rate", "colour_ea_over_r")
)
TENDER_AT, SOFT_AT, DARK_AT, DONE_C, SET_AT = (
    ROW[name] for name in ("tender_at", "soft_at", "dark_at", "core_done_c", "glaze_set_at")
)
PRESSURE, BOIL = ROW["pressure_pa"], ROW["boil_c"]
PARAMETER_ROWS = len(ROW)
SHRINK, SHRINK2, MELT = PARAMETER_ROWS, PARAMETER_ROWS + 1, PARAMETER_ROWS + 2
"""More rows of a lane's parameters: one over its scale, that squared, ``laws.melt_factor`` of its shift."""
ROWS = PARAMETER_ROWS + 3

UNTIL, VALUE, FORCED, NOT_BEFORE, LONGEST = (
    COLUMN[name] for name in ("until", "value", "forced_s", "not_before_s", "longest_s")
)
OFF_PIT, AIR, VAPOUR, WALL, DIP, RECOVERY = (
    COLUMN[name] for name in ("off_pit", "air_c", "vapour_pa", "wall_offset_k", "lid_dip_k", "lid_recovery_s")
)
SUGAR, HOLDS, LIQUID, GLAZE_W, GLAZE_S = (
    COLUMN[name] for name in ("sugar", "holds_liquid", "liquid", "glaze_water", "glaze_solid")
)
CONV, EMIS, STEFAN, THROUGH = (COLUMN[f"{name}_0"] for name in ("convection", "emissivity", "vapour", "through"))
