"""How one person reads numbers: degrees, weights, lengths, clocks, and on what ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from pitreckon.reckon.quantiles import Quantiles
from pitreckon.units import format_clock, format_length, format_mass, format_temperature, round_half_up

DEGREES: Final = ("F", "C")
MASSES: Final = ("lb", "kg")
HANDS: Final = ("24", "12")
THEMES: Final = ("auto", "light", "dark", "sun")


@dataclass(frozen=True, slots=True)
class Preferences:
    """degrees: F or C; mass: lb or kg, lengths go with it; hands: 24 or 12; theme: auto, light, dark or sun."""

    degrees: Literal["F", "C"] = "F"
    mass: Literal["lb", "kg"] = "lb"
    hands: str = "24"
    theme: str = "auto"

    @classmethod
    def of(cls, prefs: Mapping[str, Any]) -> Preferences:
        """From what is kept of a person; whatever is not known is as usual."""
        usual = asdict(cls())
        allowed = {"degrees": DEGREES, "mass": MASSES, "hands": HANDS, "theme": THEMES}
        chosen: dict[str, Any] = {key: prefs.get(key) for key in usual}
        return cls(**{key: value if value in allowed[key] else usual[key] for key, value in chosen.items()})

    @property
    def prefs(self) -> dict[str, str]:
        """What is kept."""
        return asdict(self)

    def temperature(self, value_c: float) -> str:
        """Rounded to a degree."""
        return format_temperature(value_c, self.degrees)

    def warm(self, quantiles: Quantiles) -> str:
        """Median and 5 to 95 % of a temperature; a dash where it is not known."""
        if not quantiles.known:
            return "–"
        low, mid, high = (self.temperature(value) for value in (quantiles.p05, quantiles.p50, quantiles.p95))
        return mid if low == high else f"{mid} ({low[:-3].strip()} to {high[:-3].strip()})"

    def weight(self, mass_kg: float) -> str:
        """As scales show it."""
        return format_mass(mass_kg, self.mass)

    def length(self, length_m: float) -> str:
        """To 1/16 in, or in mm."""
        return format_length(length_m, "in" if self.mass == "lb" else "mm")


@dataclass(frozen=True, slots=True)
class ClockWords:
    """Clock times of a cook, as one person reads them."""

    zone: ZoneInfo
    now: datetime
    preferences: Preferences

    def __call__(self, at: datetime) -> str:
        """To the minute, with the day when it is another one."""
        return format_clock(at, self.zone, seen_from=self.now, twelve_hour=self.preferences.hands == "12")

    def in_words(self, at: datetime) -> str:
        """How far off: ``in 40 min``, ``12 min ago``, ``now``."""
        minutes = int(round_half_up((at - self.now).total_seconds() / 60.0))
        if minutes == 0:
            return "now"
        hours, rest = divmod(abs(minutes), 60)
        long = f"{hours} h {rest:02d} min" if hours else f"{rest} min"
        if hours >= 24:
            long = f"{hours // 24} d {hours % 24} h"
        return f"in {long}" if minutes > 0 else f"{long} ago"
