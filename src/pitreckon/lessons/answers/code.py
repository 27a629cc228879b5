"""A card's code: four characters for the card, three for the version of what it says, one that checks the others.

Thirty-one characters, without those that are taken for one another (0 O, 1 I L). The last makes the sum of all, each
times its place, divisible by 31, as the check digit of ISBN-10 (ISO 2108) does by 11: any one wrong character and any
two that changed places are found, for 31 is prime.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.units import shown

SIGNS: Final = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
OF_CARD, OF_VERSION = 4, 3
LENGTH: Final = OF_CARD + OF_VERSION + 1
_APART: Final = re.compile(r"[\s·.–—-]+")


def check_sign(values: Sequence[int], prime: int) -> int:
    """The last value of a code: with it the sum of all, each times its place from the end, is divisible by ``prime``.

    values: each below ``prime``, fewer than ``prime`` - 1 of them

    >>> check_sign([0, 3, 0, 6, 4, 0, 6, 1, 5], 11)  # ISBN-10 0-306-40615-2, a worked example (from memory)
    2
    """
    total = sum(value * place for place, value in zip(range(len(values) + 1, 1, -1), values, strict=True))
    return -total % prime


def signs_of(content: Any, count: int) -> str:
    """Characters made of what something holds, the same for the same: by SHA-256 (FIPS 180-4) of its JSON."""
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    number = int.from_bytes(hashlib.sha256(text.encode()).digest(), "big")
    found = ""
    for _ in range(count):
        number, rest = divmod(number, len(SIGNS))
        found += SIGNS[rest]
    return found


def code_of(card: str, content: Any) -> str:
    """The code of a version. card: the first part, which all versions share; content: what this one says."""
    known = card + signs_of(content, OF_VERSION)
    whole = known + SIGNS[check_sign([SIGNS.index(sign) for sign in known], len(SIGNS))]
    return f"{whole[:OF_CARD]}-{whole[OF_CARD:]}"


def card_part(code: str) -> str:
    """The part that all versions of a card share."""
    return code[:OF_CARD]


def parse_code(text: str) -> str:
    """A code as it stands on the card, however it was typed.

    Raises InputError: it has other characters, too few or too many, or its check character says that one is wrong.
    """
    whole = _APART.sub("", text).upper()
    strange = sorted(set(whole) - set(SIGNS))
    if strange:
        raise InputError(
            f"{shown(text)} is no code of a card: {shown(strange[0])} is never in one",
            f"Copy the {LENGTH} characters from the head of the card. No code has 0, O, 1, I or L",
        )
    if len(whole) != LENGTH:
        raise InputError(
            f"{shown(text)} is no code of a card: it has {len(whole)} characters and not {LENGTH}",
            f"Copy the {LENGTH} characters from the head of the card",
        )
    values = [SIGNS.index(sign) for sign in whole]
    if check_sign(values[:-1], len(SIGNS)) != values[-1]:
        raise InputError(
            f"{shown(text)} is no code of a card: one of its characters is wrong, or two have changed places",
            "Compare it with the head of the card",
        )
    return f"{whole[:OF_CARD]}-{whole[OF_CARD:]}"
