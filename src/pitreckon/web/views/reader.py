"""How one person reads numbers and texts: degrees, weights, lengths, clocks, language, and on what ground."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from pitreckon.reckon.quantiles import Quantiles
from pitreckon.text.quoted import metric
from pitreckon.text.said import Said, Value, measured, retold
from pitreckon.units import (
    format_clock,
    format_length,
    format_mass,
    format_temperature,
    round_half_up,
)
from pitreckon.web.texts import LANGUAGES, Texts, texts_of

DEGREES: Final = ("F", "C")
MASSES: Final = ("lb", "kg")
HANDS: Final = ("24", "12")
_HANDS: Final = re.compile(r"(?<![\d:.-])([01]\d|2[0-3]):([0-5]\d)(?![\d:])")
THEMES: Final = ("auto", "light", "dark", "sun")


@dataclass(frozen=True, slots=True)
class Preferences:
    """degrees: F or C; mass: lb or kg, lengths go with it; hands: 24 or 12; theme: auto, light, dark or sun.

    language: one of ``LANGUAGES``
    """

    degrees: Literal["F", "C"] = "F"
    mass: Literal["lb", "kg"] = "lb"
    hands: str = "24"
    theme: str = "auto"
    language: str = "en"

    @classmethod
    def of(cls, prefs: Mapping[str, Any]) -> Preferences:
        """From what is kept of a person; whatever is not known is as usual."""
        usual = asdict(cls())
        allowed = {"degrees": DEGREES, "mass": MASSES, "hands": HANDS, "theme": THEMES, "language": (*LANGUAGES,)}
        chosen: dict[str, Any] = {key: prefs.get(key) for key in usual}
        return cls(**{key: value if value in allowed[key] else usual[key] for key, value in chosen.items()})

    @property
    def prefs(self) -> dict[str, str]:
        """What is kept."""
        return asdict(self)

    @property
    def say(self) -> Texts:
        """The messages of their language."""
        return texts_of(self.language)

    def temperature(self, value_c: float) -> str:
        """Rounded to a degree."""
        return format_temperature(value_c, self.degrees)

    def warm(self, quantiles: Quantiles) -> str:
        """Median and 5 to 95 % of a temperature; a dash where it is not known."""
        if not quantiles.known:
            return "–"
        low, mid, high = (self.temperature(value) for value in (quantiles.p05, quantiles.p50, quantiles.p95))
        return mid if low == high else f"{mid} ({low[:-3].strip()} {self.say('to')} {high[:-3].strip()})"

    def weight(self, mass_kg: float) -> str:
        """As scales show it."""
        return format_mass(mass_kg, self.mass)

    def length(self, length_m: float) -> str:
        """To 1/16 in, or in mm."""
        return format_length(length_m, "in" if self.mass == "lb" else "mm")


def _by_halves(hand: re.Match[str]) -> str:
    return f"{int(hand[1]) % 12 or 12}:{hand[2]} {'pm' if hand[1] >= '12' else 'am'}"


@dataclass(frozen=True, slots=True)
class Moment:
    """A clock time in its parts. hand: ``5:30`` or ``17:30``; half: am, pm or ""; day: "" for today."""

    hand: str
    half: str
    day: str


@dataclass(frozen=True, slots=True)
class ClockWords:
    """Clock times of a cook, as one person reads them."""

    zone: ZoneInfo
    now: datetime
    preferences: Preferences

    def parts(self, at: datetime) -> Moment:
        """A time in its parts."""
        text = format_clock(at, self.zone, seen_from=self.now, twelve_hour=self.preferences.hands == "12")
        words = text.split(" ")
        half = next((word for word in words if word in {"am", "pm"}), "")
        hand = next(n for n, word in enumerate(words) if ":" in word)
        mark = " ".join(word for word in words[hand + 1 :] if word != half)
        return Moment(f"{words[hand]} {mark}".strip(), half, self._day(at, " ".join(words[:hand])))

    def _day(self, at: datetime, weekday: str) -> str:
        say = self.preferences.say
        away = (at.astimezone(self.zone).date() - self.now.astimezone(self.zone).date()).days if weekday else 0
        if away in {-1, 1}:
            return say("tomorrow") if away == 1 else say("yesterday")
        name, _, date = weekday.partition(" ")
        return f"{say(name)} {date}".strip() if weekday else ""

    def __call__(self, at: datetime) -> str:
        """To the minute, with the day when it is another one: ``14:05``, ``tomorrow 1:05 am``."""
        each = self.parts(at)
        return " ".join(part for part in (each.day, each.hand, each.half) if part)

    def short(self, at: datetime) -> str:
        """The same without the minutes of a whole hour, where the clock has halves: ``6 pm``."""
        return self(at).replace(":00 ", " ") if self.preferences.hands == "12" else self(at)

    def between(self, low: datetime, high: datetime) -> str:
        """From one time to another; day and half of the day are said once where they are the same.

        ``1:20 to 2:15 am``, ``5:20 pm to tomorrow 1:05 am``
        """
        first, last = self.parts(low), self.parts(high)
        same_day = first.day == last.day
        half = "" if same_day and first.half == last.half else first.half
        head = " ".join(part for part in (first.day, first.hand, half) if part)
        tail = " ".join(part for part in ("" if same_day else last.day or self._today, last.hand, last.half) if part)
        return f"{head} {self.preferences.say('to')} {tail}"

    def retold(self, text: str) -> str:
        """A text that was made once for all readers, in this one's language, degrees and hours.

        Of one that has lost its message the hours alone are theirs.
        """
        if isinstance(text, Said):
            return retold(text, self.preferences.say.found, self.written)
        known = self.preferences.say.gettext(text)
        return _HANDS.sub(_by_halves, known) if self.preferences.hands == "12" else known

    def of_task(self, text: str) -> str:
        """What a cook file has to be done beside the meat: what a plan wrote there in English is told as its reader has
        it, and what somebody typed stays, but for its degrees and hours.
        """
        told = self.preferences.say.found(text)
        told = metric(told) if self.preferences.degrees == "C" else told
        return _HANDS.sub(_by_halves, told) if self.preferences.hands == "12" else told

    def written(self, value: Value) -> str:
        """A number of such a text."""
        if value.kind == "instant":
            return self(value.raw)
        return measured(value, self.preferences.degrees, self.preferences.mass)

    @property
    def _today(self) -> str:
        return self.preferences.say("today")

    def span(self, seconds: float) -> str:
        """A stretch of time in whole minutes: ``12 min``, ``1 h 05 min``, ``1 d 6 h``."""
        hours, rest = divmod(int(round_half_up(abs(seconds) / 60.0)), 60)
        if hours >= 24:
            return f"{hours // 24} d {hours % 24} h"
        return f"{hours} h {rest:02d} min" if hours else f"{rest} min"

    def in_words(self, at: datetime) -> str:
        """How far off: ``in 40 min``, ``12 min ago``, ``now``."""
        say, seconds = self.preferences.say, (at - self.now).total_seconds()
        if int(round_half_up(seconds / 60.0)) == 0:
            return say("now")
        return say("in {span}" if seconds > 0 else "{span} ago", span=self.span(seconds))
