"""Temperatures and weights that stand in a text, in another unit: limits that quote their source, fixed words."""

import re
from typing import Final

from pitreckon.units import Scale, celsius_from_fahrenheit, format_length, format_mass, parse_length, parse_mass

_TEMPERATURE: Final = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?:( and | to )(-?[0-9]+(?:\.[0-9]+)?))? °?(F|C)\b")
_DIFFERENCE: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?) °F(?= (?:hotter|cooler|warmer|colder)\b)")
_BOTH: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)? °F \((-?[0-9]+(?:\.[0-9]+)? °C)\)")
_INCHES: Final = re.compile(r"\b(?:[0-9]+ )?[0-9]+/[0-9]+ in\b|\b[0-9]+ in\b(?= (?:thick|deep|wide|long|high)\b)")
_POUNDS: Final = re.compile(r"\b[0-9]+ lb(?: [0-9]+ oz)?\b|\b[0-9]+ oz\b")


def temperatures_in(text: str, degrees: Scale) -> str:
    """The text with the temperatures that it quotes in a unit.

    >>> temperatures_in("Come-up between 50 and 130 F", "C"), temperatures_in("2 min at 70 °C", "F")
    ('Come-up between 10 and 54.4 °C', '2 min at 158 °F')
    """

    def one(number: str, unit: str) -> str:
        if unit == degrees:
            return number
        read = float(number)
        value = celsius_from_fahrenheit(read) if degrees == "C" else read * 1.8 + 32.0
        return f"{value:.0f}" if abs(value - round(value)) < 0.05 else f"{value:.1f}"

    def written(found: re.Match[str]) -> str:
        first, joint, second, unit = found.groups()
        rest = f"{joint}{one(second, unit)}" if joint else ""
        return f"{one(first, unit)}{rest} °{degrees}"

    return _TEMPERATURE.sub(written, text)


def metric(text: str) -> str:
    """The text in degrees Celsius, kilograms and centimetres; of a number in both scales the one is left.

    >>> metric("about 2 lb 4 oz, 1/2 in thick, to 145 °F (62.8 °C); 135 to 70 °F within 2 h")
    'about 1.02 kg, 1.3 cm thick, to 62.8 °C; 57.2 to 21.1 °C within 2 h'
    >>> metric("run the box 25 °F hotter, to 275 °F")
    'run the box 14 °C hotter, to 135 °C'
    """
    text = _DIFFERENCE.sub(lambda found: f"{float(found[1]) / 1.8:.0f} °C", text)
    text = temperatures_in(_BOTH.sub(r"\1", text), "C")
    text = _INCHES.sub(lambda found: format_length(parse_length(found[0]), "cm"), text)
    return _POUNDS.sub(lambda found: format_mass(parse_mass(found[0]), "kg"), text)
