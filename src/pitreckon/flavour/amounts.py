"""How a mix file writes its values: amounts, what a batch covers, prices, ranges of pungency and acid."""

from __future__ import annotations

import re

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Amount, Cover
from pitreckon.units import INCH_M, parse_mass, parse_share, parse_volume, shown
from pitreckon.units._text import NUMBER, number_in, tidy_text
from pitreckon.units.spoons import VOLUME_WORDS

_PARTS = re.compile(rf"({NUMBER})\s*parts?", re.IGNORECASE)
_AREA = re.compile(rf"({NUMBER})\s*(m2|cm2|in2|sq in|ft2|sq ft)", re.IGNORECASE)
_COUNT = re.compile(rf"({NUMBER})\s+([^\W\d_][\w -]*)")
_PRICE = re.compile(rf"({NUMBER})\s*(?:per|a|/)\s*(.+)", re.IGNORECASE)
_SHU = re.compile(rf"({NUMBER})(?:\s*to\s*({NUMBER}))?\s*SHU", re.IGNORECASE)
_NUMBER = re.compile(NUMBER)
_AREAS = {
    "m2": 1.0,
    "cm2": 1e-4,
    **dict.fromkeys(("in2", "sq in"), INCH_M**2),
    **dict.fromkeys(("ft2", "sq ft"), (12.0 * INCH_M) ** 2),
}
_MASSES = {"kg", "g", "lb", "lbs", "oz", "gram", "grams", "kilo", "kilos", "pound", "pounds", "ounce", "ounces"}


def parse_amount(text: str) -> Amount:
    """An amount from ``3 parts``, ``1 1/2 tbsp``, ``1 cup 2 tbsp``, ``40 g``, ``2 oz``.

    Raises InputError: no unit, or not an amount.
    """
    tidy = tidy_text(text)
    parts = _PARTS.fullmatch(tidy)
    if parts is not None:
        return Amount("parts", number_in(parts[1]))
    words = set(re.findall(r"[a-z]+", tidy.casefold()))
    if "fl" in words or words & VOLUME_WORDS:
        return Amount("spoons", parse_volume(text))
    if words & _MASSES:
        return Amount("weight", parse_mass(text))
    if _NUMBER.fullmatch(tidy):
        raise InputError(f"{shown(text)} is an amount with no unit", "Write it as in 40 g, 1 1/2 tbsp or 3 parts")
    raise InputError(f"{shown(text)} is not an amount", "Write it as in 40 g, 1 1/2 tbsp or 3 parts")


def parse_cover(text: str) -> Cover:
    """What a batch covers, from ``2 racks``, ``2.5 kg``, ``5 lb 8 oz``, ``0.4 m2``, ``600 in2``.

    Raises InputError: none of these.
    """
    tidy = tidy_text(text)
    area = _AREA.fullmatch(tidy)
    if area is not None:
        return Cover(number_in(area[1]) * _AREAS[area[2].casefold()], "area")
    if set(re.findall(r"[a-z]+", tidy.casefold())) & _MASSES:
        return Cover(parse_mass(text), "weight")
    count = _COUNT.fullmatch(tidy)
    if count is not None:
        return Cover(number_in(count[1]), piece_word(count[2]))
    raise InputError(f"{shown(text)} does not say how much of what", "Write it as in 2 racks, 2.5 kg or 0.4 m2")


def piece_word(text: str) -> str:
    """A word for pieces in one form: ``racks`` and ``rack`` are the same.

    >>> piece_word("Racks"), piece_word("rack"), piece_word("batches")
    ('rack', 'rack', 'batch')
    """
    word = " ".join(text.casefold().split())
    if word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") else word


def parse_price(text: str) -> float:
    """Price per kg from ``3.20 per kg``, ``2.50 per lb``, ``4 per 500 g``.

    Raises InputError: not a price by weight.
    """
    found = _PRICE.fullmatch(tidy_text(text))
    if found is None:
        raise InputError(f"{shown(text)} is no price by weight", "Write it as in 3.20 per kg or 4.50 per 500 g")
    of = found[2] if found[2][0].isdigit() or found[2][0] == "." else f"1 {found[2]}"
    mass_kg = parse_mass(of)
    if mass_kg <= 0.0:
        raise InputError(f"{shown(text)} is a price for nothing", "Write it as in 3.20 per kg")
    return number_in(found[1]) / mass_kg


def parse_shu(text: str) -> tuple[float, float]:
    """Scoville heat units by dry mass from ``2000 SHU`` or ``1000 to 2500 SHU``.

    Raises InputError: neither.
    """
    found = _SHU.fullmatch(tidy_text(text))
    if found is None:
        raise InputError(f"{shown(text)} is no pungency", "Write it as in 1000 to 2500 SHU")
    low = number_in(found[1])
    return low, number_in(found[2]) if found[2] else low


def parse_acid(text: str) -> tuple[float, float]:
    """Share of acid [-] from ``5 %`` or ``4 % to 6 %``.

    Raises InputError: neither.
    """
    low, _, high = tidy_text(text).partition(" to ")
    return parse_share(low), parse_share(high or low)


def parse_count(text: str) -> float:
    """A bare number, as calories or servings. Raises InputError: not one."""
    tidy = tidy_text(text)
    if _NUMBER.fullmatch(tidy) is None:
        raise InputError(f"{shown(text)} is not a number", "Write a plain number, as in 60")
    return number_in(tidy)


def parse_grams(text: str) -> float:
    """Grams from ``13 g`` or ``0.5 g``. Raises InputError: no unit, or not a weight."""
    return 1000.0 * parse_mass(text)


def parse_milligrams(text: str) -> float:
    """Milligrams from ``290 mg`` or ``1.2 g``. Raises InputError: no unit, or not a weight."""
    tidy = tidy_text(text)
    if tidy.casefold().endswith("mg"):
        return parse_count(tidy[:-2].strip())
    return 1e6 * parse_mass(text)
