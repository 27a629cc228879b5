"""A level of the colour scale that was measured, with its standard error: ``0.86 ± 0.07`` in a log."""

import re
from typing import Final

from pitreckon.errors import InputError
from pitreckon.units import shown

LEVEL_SD: Final = 0.12
"""Standard error of a measured level that is written without one: the middle of what photos have [-]."""
LEAST_SD, MOST_SD = 0.02, 0.5
_TOLD: Final = re.compile(r"([0-9]?\.?[0-9]+)\s*(?:(?:±|\+/?-)\s*([0-9]?\.?[0-9]+))?")


def parse_level(text: str) -> float:
    """The level [-] of a text like ``0.86 ± 0.07`` or ``0.86``. Raises InputError: it is none."""
    return _parts(text)[0]


def level_error(text: str) -> float:
    """The standard error [-] in such a text; the usual one where it has none."""
    try:
        sd = _parts(text)[1]
    except InputError:
        sd = None
    return LEVEL_SD if sd is None else min(max(sd, LEAST_SD), MOST_SD)


def parse_measured(text: str) -> tuple[float, float]:
    """Level and standard error [-] of such a text. Raises InputError: it is none."""
    return parse_level(text), level_error(text)


def format_level(level: float, sd: float) -> str:
    """As a log has it.

    >>> format_level(0.8642, 0.071), parse_level("0.86 ± 0.07"), level_error("0.86 +- 0.07")
    ('0.86 ± 0.07', 0.86, 0.07)
    """
    return f"{max(level, 0.0):.2f} ± {max(sd, LEAST_SD):.2f}"


def _parts(text: str) -> tuple[float, float | None]:
    found = _TOLD.fullmatch(text.strip())
    if found is None:
        raise InputError(
            f"{shown(text)} is no measured colour", "Write the level as 'pitreckon look' tells it: 0.86 ± 0.07"
        )
    return float(found[1]), None if found[2] is None else float(found[2])
