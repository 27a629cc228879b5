"""Weights, lengths, areas, durations, shares and prices: text to SI float and back.

The factors are the exact definitions (pound 0.453 592 37 kg, inch 25.4 mm); NIST Special Publication 811,
appendix B, lists them (named from memory).
"""

import math
import re
from fractions import Fraction
from typing import Literal

from pitreckon.errors import ErrorKind, InputError
from pitreckon.units._text import NUMBER, fixed, misread, number_in, plain, round_half_up, shown, tidy_text

POUND_KG = 0.45359237
OUNCE_KG = POUND_KG / 16.0
INCH_M = 0.0254
FOOT_M = 0.3048

_PART = re.compile(rf"\s*({NUMBER})\s*([a-z\"']+)\.?\s*", re.IGNORECASE)
_HOURS_MINUTES = re.compile(r"([0-9]{1,4})\s*h\s*([0-5][0-9])", re.IGNORECASE)
_SHARE = re.compile(rf"({NUMBER})\s*(%|percent|per cent)", re.IGNORECASE)
_FRACTION = re.compile(r"[0-9]{1,9}/[0-9]{1,9}")
_SALT = re.compile(rf"({NUMBER})\s*g\s*/\s*kg", re.IGNORECASE)

_COUNTED = rf"({NUMBER}(?:e[+-]?[0-9]{{1,2}})?)"
_AREA = re.compile(rf"{_COUNTED}\s*(?:(sq|square)\.?\s*([a-z]+)|([a-z]+)2)", re.IGNORECASE)
_PRICE = re.compile(rf"[$€£]?\s*{_COUNTED}\s*[$€£]?\s*(?:/|per\b|an?\b)\s*(.+)", re.IGNORECASE)

_Table = dict[str, tuple[float, str]]  # spelling -> (size in SI, system of units)
_MASS: _Table = {
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), (POUND_KG, "lb")),
    **dict.fromkeys(("oz", "ounce", "ounces"), (OUNCE_KG, "lb")),
    **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), (1.0, "kg")),
    **dict.fromkeys(("g", "gram", "grams"), (1e-3, "kg")),
}
MASS_WORDS = frozenset(_MASS)
_LENGTH: _Table = {
    **dict.fromkeys(("ft", "foot", "feet", "'"), (FOOT_M, "in")),
    **dict.fromkeys(("in", "inch", "inches", '"'), (INCH_M, "in")),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), (1.0, "m")),
    "cm": (1e-2, "m"),
    "mm": (1e-3, "m"),
}
_DURATION: _Table = {
    **dict.fromkeys(("d", "day", "days"), (86400.0, "s")),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), (3600.0, "s")),
    **dict.fromkeys(("m", "min", "mins", "minute", "minutes"), (60.0, "s")),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), (1.0, "s")),
}


def _sum_of_parts(text: str, table: _Table, what: str, example: str) -> float:
    """One or more ``number unit`` in falling units of one system (``4 lb 6 oz``), summed in SI."""
    tidy = tidy_text(text)
    if tidy.startswith("-"):
        raise InputError(f"{shown(text)} is a negative {what}", f"Write a {what} above zero, as in {example}")
    total, last, at = 0.0, (math.inf, ""), 0
    while at < len(tidy):
        part = _PART.match(tidy, at)
        size = table.get(part[2].lower()) if part else None
        if part is None or size is None:
            raise misread(text, what, example)
        amount = number_in(part[1]) * size[0]
        if last[1]:
            if size[1] != last[1] or size[0] >= last[0]:
                trouble = f"{shown(text)} mixes its units"
                raise InputError(trouble, f"Write the {what} as in {example}", kind=ErrorKind.SLIP)
            if amount >= last[0]:
                trouble = f"in {shown(text)} the smaller part is more than one of the larger"
                raise InputError(trouble, f"Write it as in {example}", kind=ErrorKind.SLIP)
        total, last, at = total + amount, size, part.end()
    if not last[1]:
        raise misread(text, what, example)
    return total


def parse_mass(text: str) -> float:
    """Mass [kg] from ``4 lb 6 oz``, ``1.25 kg``, ``900 g``, ``4 1/2 lb``.

    >>> round(parse_mass("4 lb 6 oz"), 4), parse_mass("900 g")
    (1.9845, 0.9)

    Raises InputError: no unit, negative, mixed units, or not a weight.
    """
    return _sum_of_parts(text, _MASS, "weight", "4 lb 6 oz or 1.25 kg")


def format_mass(mass_kg: float, unit: Literal["lb", "kg"] = "lb") -> str:
    """``4 lb 6 oz`` (to the ounce) or ``1.25 kg`` (to 10 g; below 1 kg to the gram) from a mass [kg].

    >>> format_mass(1.9845), format_mass(0.9, "kg"), format_mass(0.9999, "kg")
    ('4 lb 6 oz', '900 g', '1 kg')
    """
    sign, mass_kg = _signed(mass_kg)
    if unit == "lb":
        pounds, ounces = divmod(int(round_half_up(mass_kg / OUNCE_KG)), 16)
        parts = [f"{pounds} lb"] if pounds else []
        return sign + " ".join([*parts, f"{ounces} oz"] if ounces or not parts else parts)
    grams = round_half_up(mass_kg * 1000.0)
    return f"{sign}{grams:.0f} g" if grams < 1000 else f"{sign}{plain(round_half_up(mass_kg, 2))} kg"


def format_bulk(mass_kg: float, unit: Literal["lb", "kg"] = "lb") -> str:
    """A mass [kg] as it is carried and poured, fuel above all: in steps of about a tenth, and no finer than hands are.

    Below 5 lb to half a pound, below 40 lb to a pound, else to 5 lb; below 2 kg to 200 g, below 20 kg to half a
    kilogram, else to 2 kg; one step at the least.

    >>> format_bulk(1.19), format_bulk(5.56), format_bulk(5.56, "kg"), format_bulk(33.6)
    ('2 lb 8 oz', '12 lb', '5.5 kg', '75 lb')
    """
    small, middle, large = (POUND_KG / 2.0, POUND_KG, 5.0 * POUND_KG) if unit == "lb" else (0.2, 0.5, 2.0)
    few, many = (5.0 * POUND_KG, 40.0 * POUND_KG) if unit == "lb" else (2.0, 20.0)
    step_kg = small if mass_kg < few else middle if mass_kg < many else large
    return format_mass(step_kg * max(round_half_up(mass_kg / step_kg), 1.0), unit)


def parse_length(text: str) -> float:
    """Length [m] from ``1 1/4 in``, ``1/4 in``, ``32 mm``, ``3 cm``, ``2 ft``, ``1 ft 3 in``.

    >>> parse_length("1 1/4 in"), parse_length("32 mm")
    (0.03175, 0.032)

    Raises InputError: no unit, negative, mixed units, or not a length.
    """
    return _sum_of_parts(text, _LENGTH, "length", "1 1/4 in or 32 mm")


def format_length(length_m: float, unit: Literal["in", "ft", "mm", "cm", "m"] = "in") -> str:
    """``1 1/4 in`` (to 1/16), ``5280 ft``, ``32 mm``, ``3.2 cm`` or ``800 m`` from a length [m].

    >>> format_length(0.03175), format_length(0.00635), format_length(1609.344, "ft")
    ('1 1/4 in', '1/4 in', '5280 ft')
    """
    sign, length_m = _signed(length_m)
    if unit == "in":
        sixteenths = int(round_half_up(length_m / INCH_M * 16.0))
        whole, rest = divmod(sixteenths, 16)
        parts = [str(whole)] if whole or not rest else []
        return sign + " ".join([*parts, str(Fraction(rest, 16))] if rest else parts) + " in"
    size, places = {"ft": (FOOT_M, 0), "mm": (1e-3, 0), "cm": (1e-2, 1), "m": (1.0, 0)}[unit]
    return f"{sign}{plain(round_half_up(length_m / size, places))} {unit}"


def parse_area(text: str) -> float:
    """Area [m2] from ``0.4 m2``, ``0.4 m²``, ``300 sq in``, ``1 1/2 sq ft``, ``1900 cm2``.

    >>> round(parse_area("300 sq in"), 4), parse_area("0.4 m²")
    (0.1935, 0.4)

    Raises InputError: no unit, or not an area.
    """
    tidy = tidy_text(text).replace("²", "2")
    found = _AREA.fullmatch(tidy)
    size = _LENGTH.get((found[3] or found[4]).lower()) if found else None
    if found is None or size is None:
        raise InputError(f"{shown(text)} is no area", "Write it as in 300 sq in or 0.2 m2")
    return number_in(found[1]) * size[0] ** 2


def parse_price(text: str) -> float:
    """Price of a kilogram from ``4.99 / lb``, ``$4.99/lb``, ``3.20 per kg``, ``4.50 per 500 g``.

    >>> round(parse_price("$4.99/lb"), 2), parse_price("4.50 per 500 g")
    (11.0, 9.0)

    Raises InputError: not a price by weight.
    """
    found = _PRICE.fullmatch(tidy_text(text))
    remedy = "Write it by weight, as in 4.99 / lb, 3.20 per kg or 4.50 per 500 g"
    try:
        mass_kg = 0.0 if found is None else parse_mass(found[2] if found[2][0] in ".0123456789" else f"1 {found[2]}")
    except InputError:
        mass_kg = 0.0
    if found is None or mass_kg <= 0.0:
        raise InputError(f"{shown(text)} is no price by weight", remedy)
    return number_in(found[1]) / mass_kg


def parse_altitude(text: str) -> float:
    """Height above the sea [m] from ``5280 ft``, ``1600 m``; ``-280 ft`` lies below it.

    >>> round(parse_altitude("5280 ft"), 3), round(parse_altitude("-280 ft"), 3)
    (1609.344, -85.344)

    Raises InputError: no unit, or not a height.
    """
    tidy = tidy_text(text)
    size = _sum_of_parts(tidy.removeprefix("-"), _LENGTH, "height", "5280 ft or 1600 m")
    return -size if tidy.startswith("-") else size


def parse_duration(text: str) -> float:
    """Duration [s] from ``2h30``, ``2 h 30 min``, ``90 min``, ``1.5 h``, ``45 s``. ``2:30`` is a clock time.

    >>> parse_duration("2h30"), parse_duration("1.5 h"), parse_duration("45 s")
    (9000.0, 5400.0, 45.0)

    Raises InputError: no unit, negative, or not a duration.
    """
    short = _HOURS_MINUTES.fullmatch(tidy_text(text))
    if short is not None:
        return int(short[1]) * 3600.0 + int(short[2]) * 60.0
    return _sum_of_parts(text, _DURATION, "duration", "2h30, 90 min or 45 s")


def format_duration(duration_s: float, *, to_the_second: bool = False) -> str:
    """``2 h 30 min`` from a duration [s], to the minute (below one minute, or if asked, to the second).

    >>> format_duration(9000.0), format_duration(45.0), format_duration(3630.0, to_the_second=True)
    ('2 h 30 min', '45 s', '1 h 30 s')
    """
    sign, duration_s = _signed(duration_s)
    whole = int(round_half_up(duration_s))
    if not to_the_second and whole >= 60:
        whole = int(round_half_up(duration_s / 60.0)) * 60
    hours, rest = divmod(whole, 3600)
    minutes, seconds = divmod(rest, 60)
    parts = [f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (seconds, "s")) if n]
    return sign + (" ".join(parts) or "0 min")


def format_about(duration_s: float) -> str:
    """A duration [s] to five minutes, and five at the least: as cooks say how long a stage took.

    >>> format_about(9130.0), format_about(20.0)
    ('2 h 30 min', '5 min')
    """
    return format_duration(300.0 * round_half_up(max(duration_s, 300.0) / 300.0))


def parse_share(text: str) -> float:
    """Share of a whole [-] from ``60 %`` or ``1/3``; between nothing and all of it.

    >>> parse_share("60 %"), round(parse_share("1/3"), 4)
    (0.6, 0.3333)

    Raises InputError: a bare decimal (0.6, or 60?), below 0 or above 1.
    """
    tidy = tidy_text(text)
    found = _SHARE.fullmatch(tidy)
    if found is None and _FRACTION.fullmatch(tidy) is None:
        raise misread(text, "share", "60 % or 1/3")
    share = number_in(found[1]) / 100.0 if found else number_in(tidy)
    if share > 1.0:
        raise InputError(f"{shown(text)} is more than the whole", "Write a share between 0 % and 100 %")
    return share


def format_percent(share: float, places: int = 0) -> str:
    """``60 %`` from a share [-].

    >>> format_percent(0.605)
    '61 %'
    """
    return f"{fixed(share * 100.0, places)} %"


def parse_salt_dose(text: str) -> float:
    """Salt on raw meat [g/kg] from ``15 g/kg`` or ``1.5 %`` of the meat's weight.

    >>> parse_salt_dose("15 g/kg"), parse_salt_dose("1.5 %")
    (15.0, 15.0)

    Raises InputError: no unit, or not a dose.
    """
    tidy = tidy_text(text)
    found, percent = _SALT.fullmatch(tidy), _SHARE.fullmatch(tidy)
    if found is not None:
        return number_in(found[1])
    if percent is not None:
        return number_in(percent[1]) * 10.0
    raise misread(text, "salt dose", "15 g/kg or 1.5 %")


def _signed(value: float) -> tuple[str, float]:
    return ("-", -value) if value < 0.0 else ("", value)
