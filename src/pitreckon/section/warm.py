"""Make the compiled kernel ready, so that the first forecast does not wait for it."""

import time
from dataclasses import dataclass

import numpy as np

from pitreckon.physics.constants import SEA_LEVEL_PA
from pitreckon.section import shapes
from pitreckon.section.course import Course, Drive
from pitreckon.section.members import PARAMETERS, Members
from pitreckon.section.simulate import simulate


@dataclass(frozen=True)
class Warmth:
    """What it took.

    seconds: from the call to a kernel that has run
    compiled: the kernel had to be compiled; else it was found where the last run left it
    """

    seconds: float
    compiled: bool


def warm() -> Warmth:
    """Compile the kernel, or load it, by running one member of no piece in particular for two minutes."""
    begin = time.perf_counter()
    from pitreckon.section import machine  # noqa: PLC0415  (its import is part of what is measured)

    one = dict.fromkeys(PARAMETERS, 1.0) | {"pressure_pa": SEA_LEVEL_PA, "boil_c": 100.0, "bone_capacity": 1e6}
    members = Members.of(1, one | {"dry_density": 250.0, "dry_cp": 4000.0, "transport": 0.0, "diffusion": 0.0})
    section = shapes.slab(0.03, n=5)
    simulate(section, members, Drive(np.full((2, 1), 20.0)), Course.of(1, [{}]), horizon_s=120.0, threads=1)
    return Warmth(time.perf_counter() - begin, machine.compiled_now())
