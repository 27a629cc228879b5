"""Temperatures in texts, kept as numbers until somebody reads them, so that each reads them in his own unit.

A text that is made here carries its temperatures as marks; :func:`told` writes them out. The texts of rules quote their
sources, in the unit of those; :func:`rule_text` writes them in another.
"""

import math
import re
from typing import Final, Literal

from pitreckon.text import said as said_module
from pitreckon.text.quoted import temperatures_in
from pitreckon.units import format_difference, format_percent, format_temperature

Scale = Literal["F", "C"]

_MARK: Final = re.compile(r"\x02([TD])([^,\x03]+),([0-9])\x03")
_MOST_PLACES: Final = 4


def temperature(temp_c: float, places: int = 0) -> str:
    """A temperature [degC] for a text."""
    return f"\x02T{float(temp_c)!r},{places}\x03"


def difference(size_k: float, places: int = 0) -> str:
    """A difference of temperatures [K] for a text, without a plus."""
    return f"\x02D{float(size_k)!r},{places}\x03"


def told(text: str, degrees: Scale = "F") -> str:
    """The text with its temperatures written out.

    >>> told(f"the hottest was {temperature(62.7, 1)}, {difference(7.3)} short")
    'the hottest was 144.9 °F, 13 °F short'
    >>> told(f"the hottest was {temperature(62.7, 1)}, {difference(7.3)} short", "C")
    'the hottest was 62.7 °C, 7 °C short'
    """

    def written(mark: re.Match[str]) -> str:
        value, places = float(mark[2]), int(mark[3])
        if mark[1] == "T":
            return format_temperature(value, degrees, places)
        return format_difference(value, degrees, places).lstrip("+")

    return _MARK.sub(written, text)


def with_values(text: str, degrees: Scale = "F") -> tuple[str, dict[str, str]]:
    """The text as a message, its temperatures as fields of it.

    >>> with_values(f"Colder, {temperature(4.0)} or less", "C")
    ('Colder, {value0} or less', {'value0': '4 °C'})
    """
    values: dict[str, str] = {}

    def named(mark: re.Match[str]) -> str:
        name, number = f"value{len(values)}", float(mark[2])
        make = said_module.temperature if mark[1] == "T" else said_module.difference
        values[name] = make(number, told(mark[0], degrees))
        return f"{{{name}}}"

    return _MARK.sub(named, text), values


def rule_text(text: str, degrees: Scale | None = None) -> str:
    """What a rule says of itself, its temperatures in a unit; None: as its source has them.

    >>> rule_text("Come-up between 50 and 130 F", "C")
    'Come-up between 10 and 54.4 °C'
    >>> rule_text("Come-up between 50 and 130 F", "F")
    'Come-up between 50 and 130 °F'
    >>> rule_text("2 min at 70 °C", "F")
    '2 min at 158 °F'
    """
    if degrees is None:
        return text

    return temperatures_in(text, degrees)


def share(part: float) -> str:
    """A share as a percentage; near all and near none with two digits of what it lacks or has.

    >>> share(0.9965), share(0.985), share(1.0), share(0.42), share(0.0004), share(0.0)
    ('99.65 %', '98.5 %', '100 %', '42 %', '0.040 %', '0 %')
    """
    off = 100.0 * min(part, 1.0 - part)
    places = 1 - math.floor(math.log10(off)) if 10.0**-_MOST_PLACES <= off < 10.0 else 0
    return format_percent(part, min(places, _MOST_PLACES))
