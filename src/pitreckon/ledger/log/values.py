"""The value column of a log: what each kind of row may hold, and what is out of its physical range.

A number out of its range is a value with the reason why it is not used. A fault code (999, NaN, blank) is no
value: it is refused, or set aside when the caller asks for that.
"""

import math
import re
from collections.abc import Callable
from functools import lru_cache

from pitreckon.cook.looks import BATHS, LOOK_KINDS, TEMPERATURE, LookKind, Quantity
from pitreckon.cook.scales import level_of
from pitreckon.errors import ErrorKind, InputError
from pitreckon.ledger.ranges import range_fault
from pitreckon.units import format_temperature, parse_temperature, shown

Measured = tuple[float, str | None]  # the value, and why it is rejected

_NO_NUMBER = re.compile(
    r"(?:nan|[+-]?inf(?:inity)?|n/?a|null|none|err(?:or)?|-+)?\s*(?:°?\s*[fck]|lb|oz|g|in|mm)?", re.I
)
_FAULT_CODE = re.compile(r"[+-]?\s*(?:999|9999)(?:\.[0-9]*)?\s*(?:°\s*)?(?:deg\s*)?[fc]?", re.I)
SET_ASIDE_REMEDY = "Correct or delete the row, or read the log with --set-aside to keep such rows as rejected and go on"


@lru_cache(maxsize=8192)
def temperature(text: str, channel: str) -> Measured:
    """A temperature [°C] of a channel (``pit air``, ``probe``, ``spot temperature``) and why it is not used.

    Raises InputError: not a temperature, no unit, or a fault code.
    """
    if _FAULT_CODE.fullmatch(text):
        raise _no_value(f"{shown(text)} is an instrument's fault code, not a temperature")
    value_c = _measured(text, parse_temperature)
    return value_c, range_fault(channel, value_c)


def look(what: str, text: str) -> Measured:
    """The value of a look and why it is not used.

    A level [-], a length [m], a temperature [°C] or a weight [kg], by ``what``.

    Raises InputError: not such a value, or a fault code.
    """
    kind = LOOK_KINDS[what]
    if kind.quantity is None:
        return level_of(what, text), None
    if kind.of_instrument:
        return _check(text)
    return temperature(text, what) if kind.quantity is TEMPERATURE else _ranged(text, kind, kind.quantity)


def _check(text: str) -> Measured:
    """What a thermometer read in ice water or in boiling water [°C], as in ``ice water 33 F`` or just ``211 F``."""
    found = re.match(r"\s*(ice|boiling)(?:\s+water)?\s*:?\s*", text, re.I)
    value_c, fault = temperature(text[found.end() :] if found else text, "check")
    if found:
        bath = found[1].casefold()
        low_c, high_c = BATHS[bath]
        if not low_c <= value_c <= high_c:
            return value_c, f"{format_temperature(value_c)} is nothing that a thermometer reads in {bath} water"
    return value_c, fault


def _no_value(trouble: str) -> InputError:
    """The value is an instrument's way to say that it has none."""
    return InputError(trouble, SET_ASIDE_REMEDY, kind=ErrorKind.NO_VALUE)


def _measured(text: str, parse: Callable[[str], float]) -> float:
    if _NO_NUMBER.fullmatch(text):
        trouble = f"{shown(text)} is an instrument's fault code, not a number" if text else "the value is blank"
        raise _no_value(trouble)
    return parse(text)


def _ranged(text: str, kind: LookKind, quantity: Quantity) -> Measured:
    """A size that may be written below zero (a scale not set to zero) and is then out of range."""
    size = _measured(text.removeprefix("-") if re.match(r"-\s*[0-9.]", text) else text, quantity.parse)
    value = -size if text.startswith("-") else size
    low, high = kind.range
    if low <= value <= high:
        return value, None
    is_now, least, most = (quantity.show(each, "F", "lb") for each in (value, low, high))
    return value, f"{is_now} is outside what it can be ({least} to {most})"


def no_value(text: str) -> Measured:
    """What is kept of a fault code that is set aside."""
    return math.nan, f"fault code {shown(text)} set aside" if text else "blank value set aside"
