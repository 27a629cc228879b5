"""Places in a picture as people type them: shares, percents or pixels from the upper left."""

import re
from typing import Final

from pitreckon.errors import InputError
from pitreckon.photo.measure import Point
from pitreckon.units import shown

_NUMBER: Final = r"([0-9]+(?:\.[0-9]+)?|\.[0-9]+)\s*(%?)"
_PLACE: Final = re.compile(rf"{_NUMBER}\s*,\s*{_NUMBER}")


def place_of(text: str, size: tuple[int, int]) -> Point:
    """Shares of the width and height of a place. size: width and height of the picture [pixels]

    >>> place_of("0.5,0.25", (4000, 3000)), place_of("50 %, 25%", (4000, 3000)), place_of("2000,750", (4000, 3000))
    ((0.5, 0.25), (0.5, 0.25), (0.5, 0.25))

    Raises InputError: it is none, or lies outside.
    """
    found = _PLACE.fullmatch(text.strip())
    if found is None:
        raise InputError(
            f"{shown(text)} is no place in a picture",
            "Write it from the upper left as shares (0.4,0.55), in percent (40%,55%) or in pixels (1210,880)",
        )
    numbers = float(found[1]), float(found[3])
    if found[2] or found[4]:
        point = numbers[0] / 100.0, numbers[1] / 100.0
    elif max(numbers) <= 1.0:
        point = numbers
    else:
        point = numbers[0] / size[0], numbers[1] / size[1]
    if max(point) > 1.0:
        raise InputError(
            f"{shown(text)} lies outside the picture",
            f"Write a place inside it: it is {size[0]} pixels wide and {size[1]} high",
        )
    return point
