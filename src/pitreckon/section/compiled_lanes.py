"""What the compiled kernel's parts share: lanes, compiler settings, and the tables' rows as plain integers.

A block is ``LANES`` members side by side; every array of the kernel has them on its last axis, so that one
instruction serves several members.
"""

# mypy: disable-error-code="no-untyped-call,untyped-decorator"

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numba.core.compiler import CompilerBase, DefaultPassBuilder

from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW

LANES = 32


class _Apart(CompilerBase):
    """The usual compiler, told that array arguments never overlap; without it no lane loop vectorises."""

    def define_pipelines(self) -> Any:
        self.state.flags.noalias = True
        return [DefaultPassBuilder.define_nopython_pipeline(self.state)]


outer: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},  # multiply-add in one; nothing else of fast maths, nan stays nan
    "pipeline_class": _Apart,
}
"""Settings of the functions that allocate."""

inner: dict[str, Any] = outer | {"_nrt": False}
"""Settings of the rest: counting references to their arrays would cost more than their arithmetic."""


@njit(**inner)
def held(v: float, low: float, high: float) -> float:
    """``v`` limited to low..high."""
    return min(max(v, low), high)


def lanes_first(array: Any) -> Any:
    """Members last -> blocks first, lanes last; the tail is padded with the last member."""
    n = array.shape[-1]
    blocks = -(-n // LANES)
    pad = blocks * LANES - n
    if pad:
        array = np.concatenate([array, np.repeat(array[..., -1:], pad, axis=-1)], axis=-1)
    split = array.reshape(*array.shape[:-1], blocks, LANES)
    return np.ascontiguousarray(np.moveaxis(split, -2, 0))


def members_last(array: Any, n: int) -> Any:
    """The inverse of ``lanes_first``: drops the padding."""
    joined = np.moveaxis(array, 0, -2)
    return np.ascontiguousarray(joined.reshape(*joined.shape[:-2], -1)[..., :n])


# Rows of a member's parameters and columns of a stage, which the compiler folds into the code.
SCALE, START, WATER0, DENSITY, DRY_CP = (ROW[name] for name in ("scale", "start_c", "water", "dry_density", "dry_cp"))
K_BASE, K_TEMP, K_WATER, BONE_K, BONE_C = (
    ROW[name] for name in ("k_base", "k_temp", "k_water", "bone_k", "bone_capacity")
)
TRANSPORT, DIFFUSION, SHIFT, DROP, DRIP, SKIN_B = (
    ROW[name] for name in ("transport", "diffusion", "hold_shift", "hold_drop", "drip", "skin_b")
)
GEL_RATE, GEL_EA, COL_RATE, COL_EA = (
    ROW[name] for name in ("gelatin_rate", "gelatin_ea_over_r", "colour_rate", "colour_ea_over_r")
)
TENDER_AT, SOFT_AT, DARK_AT, DONE_C, SET_AT = (
    ROW[name] for name in ("tender_at", "soft_at", "dark_at", "core_done_c", "glaze_set_at")
)
PRESSURE, BOIL = ROW["pressure_pa"], ROW["boil_c"]

UNTIL, VALUE, FORCED, NOT_BEFORE, LONGEST = (
    COLUMN[name] for name in ("until", "value", "forced_s", "not_before_s", "longest_s")
)
OFF_PIT, AIR, VAPOUR, WALL, DIP, RECOVERY = (
    COLUMN[name] for name in ("off_pit", "air_c", "vapour_pa", "wall_offset_k", "lid_dip_k", "lid_recovery_s")
)
SUGAR, HOLDS, LIQUID, GLAZE_W, GLAZE_S = (
    COLUMN[name] for name in ("sugar", "holds_liquid", "liquid", "glaze_water", "glaze_solid")
)
CONV, EMIS, STEFAN = COLUMN["convection_0"], COLUMN["emissivity_0"], COLUMN["vapour_0"]
