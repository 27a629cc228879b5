"""How a number is written, what goes wrong with it, and rounding for display."""

import math
import re
from decimal import ROUND_HALF_UP, Decimal

from pitreckon.errors import InputError

# One number: 1 1/4, 1-1/4, 1/4, 1.25, .5, 12 (nine digits at most, so that nothing overflows).
NUMBER = (
    r"(?:[0-9]{1,9}[ -][0-9]{1,9}/[0-9]{1,9}|[0-9]{1,9}/[0-9]{1,9}"
    r"|[0-9]{1,9}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})"
)
_BARE = re.compile(rf"[+-]?\s*{NUMBER}")
_ENDS_BARE = re.compile(r"[a-z][ ]*[0-9]+$", re.IGNORECASE)
_COMMA = re.compile(r"[0-9]\s*,\s*[0-9]")
_SPELLINGS = str.maketrans(
    {"º": "°", "˚": "°", "℉": "°F", "℃": "°C", "−": "-", "–": "-", "⁄": "/", "\u00a0": " ", "\u202f": " "}
    | {"″": '"', "”": '"', "′": "'", "’": "'"}
    | {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8"}
    | {"⅞": " 7/8"}
)


def shown(text: str, longest: int = 40) -> str:
    """The text as it may stand in a message: quoted, on one line, cut when long."""
    return repr(text if len(text) <= longest else text[: longest - 3] + "...")


def tidy_text(text: str) -> str:
    return " ".join(text.translate(_SPELLINGS).split())


def number_in(text: str) -> float:
    """A number that already matched ``NUMBER``."""
    if "/" not in text:
        return float(text)
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    above, _, below = fraction.partition("/")
    if int(below) == 0:
        raise InputError(f"{shown(text)} divides by zero", "Write a fraction such as 1/4")
    return int(whole or 0) + int(above) / int(below)


def misread(text: str, what: str, example: str) -> InputError:
    """The error for a text that is no such amount, saying which of the usual slips it is."""
    tidy = tidy_text(text)
    if not tidy:
        return InputError(f"the {what} is blank", f"Write it with its unit, as in {example}")
    if _COMMA.search(tidy):
        return InputError(
            f"{shown(text)} has a comma in a number",
            f"Write decimals with a point, as in {example}, and no thousands marks",
        )
    if _BARE.fullmatch(tidy):
        return InputError(f"{shown(text)} is a {what} with no unit", f"Write the unit too, as in {example}")
    if _ENDS_BARE.search(tidy):
        return InputError(f"{shown(text)} ends in a number with no unit", f"Write every unit, as in {example}")
    return InputError(f"{shown(text)} is not a {what}", f"Write it as in {example}")


def round_half_up(value: float, places: int = 0) -> float:
    """Round as people do, halves away from zero: Python's own ``round(2.5)`` is 2.

    Binary noise below 1e-9 is dropped first, so that 224.49999999999997 counts as the 224.5 that was typed.

    >>> round_half_up(2.5), round_half_up(2.675, 2), round_half_up(-2.5), round_half_up(-0.2)
    (3.0, 2.68, -3.0, 0.0)

    Raises ValueError: not a finite number.
    """
    if not math.isfinite(value):
        raise ValueError(f"cannot round {value}")
    if abs(value) >= 1e15:  # no digits behind the point left to round
        return value
    return float(Decimal(f"{value:.9f}").quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)) + 0.0


def fixed(value: float, places: int) -> str:
    return f"{round_half_up(value, places):.{places}f}"


def plain(value: float) -> str:
    return f"{value:.9f}".rstrip("0").rstrip(".")
