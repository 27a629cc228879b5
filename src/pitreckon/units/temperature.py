"""Temperatures and temperature differences, which are never written alike.

t/°F = 1.8 t/°C + 32 exactly (NIST Special Publication 811, appendix B; named from memory).
"""

import re
from typing import Literal

from pitreckon.errors import ErrorKind, InputError
from pitreckon.units._text import NUMBER, fixed, misread, number_in, shown, tidy_text

ABSOLUTE_ZERO_C = -273.15

Scale = Literal["F", "C"]
PIT_STEP_K = 25.0 / 1.8
"""What pits are set by: 25 °F [K], common practice, no source."""
_DEGREE = r"(?:°|degrees?|deg)?\s*(F|C|fahrenheit|celsius)"
_TEMPERATURE = re.compile(rf"(-?)\s*({NUMBER})\s*{_DEGREE}", re.IGNORECASE)
_DIFFERENCE = re.compile(
    rf"([+-]?)\s*({NUMBER})\s*(?:{_DEGREE}|(K))(?:\s*(deg|degrees|hotter|warmer|cooler|colder))?",
    re.IGNORECASE,
)


def celsius_from_fahrenheit(temperature_f: float) -> float:
    """Temperature [°C] from [°F]."""
    return (temperature_f - 32.0) / 1.8


def fahrenheit_from_celsius(temperature_c: float) -> float:
    """Temperature [°F] from [°C]."""
    return temperature_c * 1.8 + 32.0


def parse_temperature(text: str) -> float:
    """Temperature [°C] from ``275 F``, ``275F``, ``135C``, ``135 °C``, ``-5 deg C``.

    A plus sign marks a difference and is refused here, as is every other form of a difference.

    >>> parse_temperature("275 F"), parse_temperature("135C"), parse_temperature("-40 °F")
    (135.0, 135.0, -40.0)

    Raises InputError: no unit, not a temperature, or colder than absolute zero.
    """
    found = _TEMPERATURE.fullmatch(tidy_text(text))
    if found is None:
        if _is_difference(text):
            raise InputError(
                f"{shown(text)} is a temperature difference, and a temperature is wanted",
                "Write it as in 275 F or 135 C",
                kind=ErrorKind.SLIP,
            )
        raise misread(text, "temperature", "275 F or 135 C")
    sign, number, unit = found.groups()
    value = -number_in(number) if sign else number_in(number)
    temperature_c = celsius_from_fahrenheit(value) if unit[0] in "Ff" else value
    if temperature_c < ABSOLUTE_ZERO_C - 1e-9:
        trouble = f"{shown(text)} is colder than absolute zero"
        raise InputError(trouble, "Write a temperature such as 275 F or 135 C", kind=ErrorKind.SLIP)
    return temperature_c


def format_temperature(temperature_c: float, unit: Scale = "F", places: int = 0) -> str:
    """``275 °F`` or ``135 °C`` from a temperature [°C], rounded half up.

    >>> format_temperature(135.0), format_temperature(4.0, "C", 1)
    ('275 °F', '4.0 °C')
    """
    value = fahrenheit_from_celsius(temperature_c) if unit == "F" else temperature_c
    return f"{fixed(value, places)} °{unit}"


def _is_difference(text: str) -> bool:
    found = _DIFFERENCE.fullmatch(tidy_text(text))
    return found is not None and (found[1] == "+" or found[4] is not None or found[5] is not None)


def format_both(temperature_c: float) -> str:
    """On both scales, for readers who are not known: ``203 °F (95 °C)``."""
    return f"{format_temperature(temperature_c, 'F')} ({format_temperature(temperature_c, 'C')})"


def parse_difference(text: str) -> float:
    """Temperature difference [K], up positive.

    Written ``+25 F``, ``25 F hotter``, ``10 C cooler``, ``25 F deg`` (degrees apart) or ``5 K``.
    ``25 F`` and ``-10 C`` alone are temperatures and are refused here.

    >>> round(parse_difference("+25 F"), 2), parse_difference("10 C cooler")
    (13.89, -10.0)

    Raises InputError: a temperature, no unit, or no such form.
    """
    example = "+25 F, 25 F cooler or 25 F deg"
    found = _DIFFERENCE.fullmatch(tidy_text(text))
    if found is None:
        raise misread(text, "temperature difference", example)
    sign, number, unit, kelvin, word = found.groups()
    word = (word or "").lower()
    if not (sign == "+" or kelvin or word):
        raise InputError(
            f"{shown(text)} reads as a temperature, and a temperature difference is wanted",
            f"Write it as in {example}",
        )
    downward = word in {"cooler", "colder"}
    if sign and (downward or word in {"hotter", "warmer"}):
        raise InputError(f"{shown(text)} has both a sign and '{word}'", f"Write it as in {example}")
    size = number_in(number) / (1.8 if unit and unit[0] in "Ff" else 1.0)
    return -size if sign == "-" or downward else size


def format_difference(difference_k: float, unit: Scale = "F", places: int = 0) -> str:
    """``+25 °F`` or ``10 °C cooler`` from a difference [K].

    >>> format_difference(13.889), format_difference(-10.0, "C")
    ('+25 °F', '10 °C cooler')
    """
    size = fixed(abs(difference_k) * (1.8 if unit == "F" else 1.0), places)
    return f"{size} °{unit} cooler" if difference_k < 0.0 else f"+{size} °{unit}"
