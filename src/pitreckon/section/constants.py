"""The model's own constants, as the catalog has them, and how a program puts others in their place.

``validation/README.md`` says what was fitted on what, and what was then tested untouched.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from pitreckon.arrays import Floats
from pitreckon.catalog.constants import Constant, constants

Values = Mapping[str, Floats | float]

CONSTANTS: Mapping[str, Constant] = constants()


def constant(name: str) -> float:
    """Value of a constant in the unit its name gives."""
    return CONSTANTS[name].value


def values_with(**others: ArrayLike) -> dict[str, Floats | float]:
    """Every constant's value, some of them others: a number, or one a member, shape (members,).

    Raises KeyError: there is no such constant

    >>> values_with(hold_drop=0.5)["hold_drop"]
    0.5
    """
    unknown = sorted(set(others) - set(CONSTANTS))
    if unknown:
        raise KeyError(f"there is no constant {', '.join(unknown)}; there are {', '.join(CONSTANTS)}")
    out: dict[str, Floats | float] = {name: each.value for name, each in CONSTANTS.items()}
    for name, value in others.items():
        out[name] = float(value) if np.ndim(value) == 0 else np.asarray(value, dtype=np.float64)  # type: ignore[arg-type]
    return out
