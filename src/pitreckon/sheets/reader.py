"""Who reads a sheet: zone, degrees, weights, 12 or 24 hours. Everything inside is UTC and SI until it is asked here."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Final, Literal
from zoneinfo import ZoneInfo

from pitreckon.text.quoted import metric
from pitreckon.text.said import Said, Value, in_units, measured, retold, said
from pitreckon.units import (
    Scale,
    find_zone,
    format_bulk,
    format_clock,
    format_mass,
    format_temperature,
)

WEEKDAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True)
class Reader:
    """How a sheet says times, temperatures and weights.

    zone: IANA name; degrees: F or C; masses: lb or kg; twelve_hour: 2:05 pm instead of 14:05
    say: a message in their language; None: English
    find: a text that was made in English and knows no message; None: there are only names among those
    names: what people called things, which is said as it is

    >>> from datetime import UTC
    >>> reader = Reader("America/Chicago", "C", "kg")
    >>> reader.day(datetime(2026, 10, 18, 2, 0, tzinfo=UTC)), reader.clock(datetime(2026, 10, 18, 2, 0, tzinfo=UTC))
    ('Saturday 17 October 2026', '21:00')

    Raises InputError: no such zone.
    """

    zone: str
    degrees: Scale = "F"
    masses: Literal["lb", "kg"] = "lb"
    twelve_hour: bool = False
    say: Callable[[str], str] | None = None
    find: Callable[[str], str] | None = None
    names: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        find_zone(self.zone)

    @cached_property
    def zone_info(self) -> ZoneInfo:
        """The zone itself."""
        return find_zone(self.zone)

    def clock(self, at_utc: datetime, seen_from: datetime | None = None) -> str:
        """A clock time; with its weekday when the day is not that of ``seen_from``."""
        text = format_clock(at_utc, self.zone_info, seen_from=seen_from, twelve_hour=self.twelve_hour)
        return text if self.say is None else " ".join(self.say(word) for word in text.split(" "))

    def window(self, from_utc: datetime, until_utc: datetime) -> str:
        """``13:50–14:20``; one time when both read alike, the second with its weekday when a midnight lies between."""
        first, last = self.clock(from_utc), self.clock(until_utc, seen_from=from_utc)
        return first if first == last else f"{first}–{last}"

    def day(self, at_utc: datetime) -> str:
        """``Saturday 17 October 2026``, the same on every machine."""
        local = at_utc.astimezone(self.zone_info)
        return self.told(
            said(
                "{weekday} {day} {month} {year}",
                weekday=said(WEEKDAYS[local.weekday()]),
                day=local.day,
                month=said(MONTHS[local.month - 1]),
                year=local.year,
            )
        )

    def told(self, text: str) -> str:
        """A text in the reader's language and units, with hours as they read them; a name stays as it is."""
        if not self.retells or text in self.names:
            return text
        if self.say is None:
            told = retold(text, str, self._written) if self.twelve_hour else in_units(text, self.degrees)
        elif isinstance(text, Said):
            told = retold(text, self.say, self._written)
        else:
            told = text if self.find is None else self.find(text)
        return metric(told) if self.degrees == "C" else told

    @property
    def retells(self) -> bool:
        """Whether a text that was made once for all is another for this reader; as it was made it is English, in F."""
        return self.say is not None or self.degrees == "C" or self.twelve_hour

    def _written(self, value: Value) -> str:
        if value.kind != "instant":
            return measured(value, self.degrees, self.masses)
        named = value[:1].isalpha()  # with its weekday, as it was told
        return self.clock(value.raw, seen_from=value.raw - timedelta(days=1) if named else None)

    def temperature(self, temperature_c: float) -> str:
        """A temperature [°C] on the reader's scale."""
        return format_temperature(temperature_c, self.degrees)

    def mass(self, mass_kg: float) -> str:
        """A weight [kg] in the reader's units."""
        return format_mass(mass_kg, self.masses)

    def bulk(self, mass_kg: float) -> str:
        """A weight of fuel [kg], as it is carried."""
        return format_bulk(mass_kg, self.masses)
