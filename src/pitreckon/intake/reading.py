"""What a device writes, read: numbers, times, names of places; and ids for readings that have none."""

import hashlib
import json
import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from pitreckon.cook.labels import Labels
from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.names import label_of
from pitreckon.ledger.events import CHANNELS, Reading
from pitreckon.ledger.ranges import range_fault
from pitreckon.text.words import known_word
from pitreckon.units import ABSOLUTE_ZERO_C, Scale, celsius_from_fahrenheit, parse_instant, shown

FAULT_CODES: Final = frozenset({999.0, 9999.0, -999.0, -9999.0, 999.9, -127.0})
"""What instruments send for "no value" (from memory)."""
LATEST_AHEAD: Final = timedelta(days=1)
_MILLISECONDS_FROM = 1e11  # as seconds this is past the year 5000, as milliseconds it is 1973
_ID: Final = re.compile(r"[\x21-\x7e]{1,64}")


@dataclass(frozen=True, slots=True)
class Device:
    """Who sends.

    label: its name, which is kept with each of its entries
    unit: the scale of its numbers, F or C, where a message does not say; None: each message says
    """

    label: str
    unit: Scale | None = None


def reading_id(by: str, reading: Reading) -> str:
    """The id of a reading that came without one, from ``by``: the same device, time, place and value make the same id.

    So a file that is read again, or a message that is delivered again, adds nothing.
    """
    value = "none" if math.isnan(reading.value_c) else f"{reading.value_c:.4f}"
    at = reading.at_utc.astimezone(UTC).isoformat()
    return hashed_id(by, at, reading.channel, reading.on, str(reading.piece or ""), value)


def hashed_id(*parts: str) -> str:
    """An id of 40 characters that follows from its parts."""
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()[:40]


def own_id(text: str) -> str:
    """The id that a client gave. Raises InputError: not 1 to 64 plain characters."""
    if not _ID.fullmatch(text):
        raise InputError(f"{shown(text)} is no id", "Write 1 to 64 plain characters without blanks")
    return text


def measured(channel: str, number: float | None, unit: Scale | None) -> tuple[float, str | None]:
    """A number of an instrument as [°C], and why it is not used; NaN for none and for a fault code.

    Raises InputError: no unit is known, not finite, or colder than absolute zero.
    """
    if number is None:
        return math.nan, "no value: set aside"
    if not math.isfinite(number):
        raise InputError("the value is not a finite number", "Send a number, or null when the instrument has none")
    if unit is None:
        raise InputError("the value has no unit", 'Send "unit": "F" or "C", or set the unit of the device')
    if number in FAULT_CODES:
        return math.nan, f"fault code {number:g} set aside"
    value_c = celsius_from_fahrenheit(number) if unit == "F" else number
    if not ABSOLUTE_ZERO_C - 1e-9 <= value_c <= 1e6:
        raise InputError(f"{number:g} {unit} is no temperature", "Send the temperature as the instrument shows it")
    return value_c, range_fault(channel, value_c)


def instant_of(value: str | float, cook: Cook, now_utc: datetime | None) -> datetime:
    """The instant in an ISO text (without an offset: the cook's local time) or in seconds or milliseconds since 1970.

    now_utc: nothing later than a day after it is taken; None: not checked

    Raises InputError: no such time, out of 1971 to 2199, or in the future.
    """
    if isinstance(value, str):
        at_utc = _quick(value) or parse_instant(value, cook.zone_info)
    else:
        seconds = value / 1000.0 if abs(value) >= _MILLISECONDS_FROM else float(value)
        if not 31_536_000.0 <= seconds < 7_258_118_400.0:  # 1971 to 2199, as for a written time
            raise InputError(f"{value:g} is no time in our days", "Send seconds since 1970, or an ISO time")
        at_utc = datetime.fromtimestamp(seconds, UTC)
    if now_utc is not None and at_utc > now_utc + LATEST_AHEAD:
        raise InputError(
            f"{at_utc:%Y-%m-%d %H:%M} UTC is more than a day ahead of now", "Set the device's clock, or leave at out"
        )
    return at_utc


def _quick(text: str) -> datetime | None:
    """The usual form of a machine, 2026-10-10T18:00:00Z; None: let the thorough reader have it."""
    if len(text) > 32 or not text.isascii() or text[10:11] != "T":
        return None
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    if at.tzinfo is None or not 1971 <= at.year <= 2198:
        return None
    return at.astimezone(UTC)


class Places(Labels):
    """Where a reading of a cook can come from: its pits and its items, by their names in any case."""

    __slots__ = ()

    def channel(self, text: str | None, on: str | None) -> str:
        """The channel that is named, or that follows from the name of a pit or an item.

        Raises InputError: no such channel, or it cannot be told.
        """
        if text is not None:
            return str(known_word(text, CHANNELS, "no channel"))
        if on is not None:
            of_pit, of_item = on.casefold() in self.pits, on.casefold() in self.items
            if of_pit != of_item:
                return "pit air" if of_pit else "probe"
            if not of_pit:
                label_of(on, {**self.pits, **self.items}, "pit or item", "on")
        raise InputError("it is not said what is measured", f"Write one of: {', '.join(CHANNELS)}")
