"""Fahrenheit or Celsius: told from a header, from the numbers and from what the pit is set to; asked when unsure."""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.cook.plan import Cook
from pitreckon.intake.reading import FAULT_CODES
from pitreckon.intake.table.unsure import UnsureError
from pitreckon.units import Scale, celsius_from_fahrenheit

_IN_HEADER: Final = re.compile(
    r"(?:[°º˚]|\bdeg(?:rees?)?\.?\s*|[(\[_/,\s-]\s*|^)(f|c|fahrenheit|celsius)\s*[)\]]?$", re.IGNORECASE
)
# Common practice, no source: pits are run between a cold smoke and a searing fire, most of the time near where they
# are set; raw meat is put on from half frozen to warm, and no meat holding water passes its boiling point by much.
_PIT_C: Final = (0.0, 330.0)
_NEAR_SET_K: Final = 70.0
_MEAT_C: Final = (-6.0, 110.0)
_RUNNING_C: Final = 60.0


@dataclass(frozen=True, slots=True)
class Series:
    """The first numbers of a column, and what it measures: ``set_c`` of the pit [°C], None for a probe."""

    header: str
    numbers: tuple[float, ...]
    set_c: float | None


def scale_in_header(header: str) -> Scale | None:
    """The scale that a header names, if it does.

    >>> scale_in_header("Pit (°F)"), scale_in_header("food_c"), scale_in_header("grill")
    ('F', 'C', None)
    """
    found = _IN_HEADER.search(header.strip())
    if found is None:
        return None
    return "F" if found[1][0] in "Ff" else "C"


def told_scale(series: Sequence[Series], cook: Cook, like: Collection[Scale] = ()) -> Scale:
    """The scale of a table's numbers, all of them alike.

    like: what is known of the other columns: where both would do, that is it

    Raises UnsureError: both would do, or neither.
    """
    scales: tuple[Scale, ...] = ("F", "C")
    can = [scale for scale in scales if all(_can_be(each, scale) for each in series)]
    if len(can) > 1 and len(like) == 1:
        can = list(like)
    if len(can) == 1:
        return can[0]
    names = ", ".join(f"'{each.header}' from {min(each.numbers):g} to {max(each.numbers):g}" for each in series[:4])
    trouble = "it cannot be told whether the numbers are in F or in C" if can else "the numbers fit neither F nor C"
    raise UnsureError(f"{trouble} ({names}; cook '{cook.name}')", "Say which", "unit", ("F", "C"))


def _can_be(series: Series, scale: Scale) -> bool:
    numbers = [n for n in series.numbers if n not in FAULT_CODES]
    if not numbers:
        return True
    celsius = [celsius_from_fahrenheit(n) if scale == "F" else n for n in numbers]
    ranked = sorted(celsius)
    # One reading, or one in twenty, may be an instrument's fault at either end; that is judged later, by itself.
    out = max(len(ranked) // 20, int(len(ranked) >= 5))
    low, high = ranked[out], ranked[-1 - out]
    if series.set_c is None:
        return _MEAT_C[0] <= low and high <= _MEAT_C[1]
    if not (_PIT_C[0] - 30.0 <= low and high <= _PIT_C[1]):
        return False
    middle = ranked[len(ranked) * 3 // 4]
    # A pit that is not lit yet says little; one that runs is somewhere near where it is set.
    return middle < _RUNNING_C or abs(middle - series.set_c) <= _NEAR_SET_K
