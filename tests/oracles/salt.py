"""How salt spreads in meat."""

from __future__ import annotations

from math import exp, pi, sqrt

from pitreckon.physics._ranges import within
from pitreckon.physics.salt import penetration_depth


def salt_from_dose_crank(depth_m: float, dose_kg_m2: float, diffusivity_m2_s: float, seconds: float) -> float:
    """Oracle of physics.salt.penetration_depth.

    Salt at a depth from a dose rubbed on at the start, thick meat [kg salt/m3].

    Parameters
    ----------
    depth_m: below the surface, 0 to 1 [m]
    dose_kg_m2: salt per surface, 0 to 10 [kg/m2]
    diffusivity_m2_s: 1e-13 to 1e-8 [m2/s]
    seconds: above 0 to 1e8 [s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [crank_1975]_, the half space with an instantaneous source at its face. At the penetration depth
    it is 1/e of the value at the face.

    >>> deep, face = (salt_from_dose_crank(x, 0.1, 1.0e-10, 1.0e4) for x in (2.0e-3, 0.0))
    >>> round(deep / face, 4)
    0.3679
    """
    within("depth_m", depth_m, 0.0, 1.0, "m")
    within("dose_kg_m2", dose_kg_m2, 0.0, 10.0, "kg/m2")
    reach = penetration_depth(diffusivity_m2_s, seconds)
    return 2.0 * dose_kg_m2 / (sqrt(pi) * reach) * exp(-((depth_m / reach) ** 2))
