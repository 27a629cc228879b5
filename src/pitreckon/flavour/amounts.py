"""How a mix file writes its values: amounts, what a batch covers, ranges of pungency and acid."""

import contextlib
import re

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Amount, Cover
from pitreckon.units import MASS_WORDS, parse_area, parse_mass, parse_share, parse_volume, shown
from pitreckon.units._text import NUMBER, number_in, tidy_text
from pitreckon.units.spoons import VOLUME_WORDS

_PARTS = re.compile(rf"({NUMBER})\s*parts?", re.IGNORECASE)
_COUNT = re.compile(rf"({NUMBER})\s+([^\W\d_][\w -]*)")
_SHU = re.compile(rf"({NUMBER})(?:\s*to\s*({NUMBER}))?\s*SHU", re.IGNORECASE)
_NUMBER = re.compile(NUMBER)


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
    if words & MASS_WORDS:
        return Amount("weight", parse_mass(text))
    if _NUMBER.fullmatch(tidy):
        raise InputError(f"{shown(text)} is an amount with no unit", "Write it as in 40 g, 1 1/2 tbsp or 3 parts")
    raise InputError(f"{shown(text)} is not an amount", "Write it as in 40 g, 1 1/2 tbsp or 3 parts")


def parse_cover(text: str) -> Cover:
    """What a batch covers, from ``2 racks``, ``2.5 kg``, ``5 lb 8 oz``, ``0.4 m2``, ``600 in2``.

    Raises InputError: none of these.
    """
    tidy = tidy_text(text)
    with contextlib.suppress(InputError):
        return Cover(parse_area(text), "area")
    if set(re.findall(r"[a-z]+", tidy.casefold())) & MASS_WORDS:
        return Cover(parse_mass(text), "weight")
    count = _COUNT.fullmatch(tidy)
    if count is not None and not any(sign in count[2] for sign in "²³"):
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
