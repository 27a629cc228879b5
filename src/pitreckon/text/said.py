"""Texts that are made once and read by many: English, and still knowing their message and what was put into it.

Such a text is a ``str`` like any other, so that records, files and comparisons are as they would be. A door that
speaks another language, or shows degrees and hours otherwise, takes its message from its own catalogue and writes what
was put in as its reader reads it.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any, Literal
from zoneinfo import ZoneInfo

from pitreckon.units import Scale, format_bulk, format_clock, format_difference, format_mass, format_temperature

Masses = Literal["lb", "kg"]
Kind = Literal["instant", "temperature", "difference", "bulk", "weight"]


class Value(str):
    """A number in its English words.

    raw: the instant (UTC), the temperature [degC], the difference of two [K] or the mass [kg]
    """

    kind: Kind
    raw: Any

    @classmethod
    def of(cls, kind: Kind, raw: Any, words: str) -> "Value":
        """Words and number of one thing."""
        made = cls(words)
        made.kind, made.raw = kind, raw
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Value.of, (self.kind, self.raw, str(self))


class Said(str):
    """A text with its message and fields. capital: it begins a sentence."""

    message: str
    fields: Mapping[str, object]
    capital: bool

    @classmethod
    def of(cls, message: str, fields: Mapping[str, object], *, capital: bool = False) -> "Said":
        """``said``, from a mapping."""
        words = message.format(**fields) if fields else message
        made = cls(words[:1].upper() + words[1:] if capital else words)
        made.message, made.fields, made.capital = message, fields, capital
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.message, self.fields, self.capital)


def _again(message: str, fields: Mapping[str, object], capital: bool) -> Said:
    return Said.of(message, fields, capital=capital)


def said(message: str, /, **fields: object) -> str:
    """A text of a message. What is a word of the language among the fields is itself ``said``; names are not.

    >>> said("its core may not reach {least}", least=temperature(62.8))
    'its core may not reach 145 °F'
    """
    return Said.of(message, fields)


def retold(text: str, say: Callable[[str], str], write: Callable[[Value], str]) -> str:
    """A text as somebody else reads it; one that has lost its message stays as it is.

    say: a message in their language; write: a number as they write it
    """
    if not isinstance(text, Said):
        return text

    def put_in(value: object) -> object:
        if isinstance(value, Said):
            return retold(value, say, write)
        return write(value) if isinstance(value, Value) else value

    words = say(text.message)
    if text.fields:
        words = words.format(**{name: put_in(value) for name, value in text.fields.items()})
    return words[:1].upper() + words[1:] if text.capital else words


def measured(value: Value, scale: Scale, masses: Masses) -> str:
    """A temperature, a difference or a mass as somebody reads it; not a clock time."""
    if value.kind == "temperature":
        return format_temperature(value.raw, scale)
    if value.kind == "difference":
        return format_difference(value.raw, scale).lstrip("+")
    return format_bulk(value.raw, masses) if value.kind == "bulk" else format_mass(value.raw, masses)


def in_units(text: str, scale: Scale) -> str:
    """An English text in degrees of a scale and the weights that go with it; clock times stay as they are.

    >>> in_units(said("steady at {set}", set=temperature(121.11)), "C")
    'steady at 121 °C'
    """
    masses: Masses = "lb" if scale == "F" else "kg"
    return retold(text, str, lambda value: str(value) if value.kind == "instant" else measured(value, scale, masses))


def joined(between: str, parts: Iterable[str]) -> str:
    """Texts one after the other.

    >>> joined("; ", ["one", said("two")])
    'one; two'
    """
    fields = {f"part{n}": part for n, part in enumerate(parts)}
    return Said.of(between.replace("{", "{{").replace("}", "}}").join(f"{{{name}}}" for name in fields), fields)


def capital(text: str) -> str:
    """The text as a sentence begins."""
    if isinstance(text, Said):
        return Said.of(text.message, text.fields, capital=True)
    return text[:1].upper() + text[1:]


def instant(at: datetime, words: str) -> str:
    """A clock time."""
    return Value.of("instant", at, words)


def clock_time(at: datetime, zone: ZoneInfo, seen_from: datetime) -> str:
    """A clock time as ``format_clock`` has it."""
    return instant(at, format_clock(at, zone, seen_from=seen_from))


def temperature(temp_c: float, words: str = "", scale: Scale = "F") -> str:
    """A temperature [degC]. words: where they are not those of ``format_temperature`` in its scale"""
    return Value.of("temperature", temp_c, words or format_temperature(temp_c, scale))


def difference(size_k: float, words: str) -> str:
    """A difference of temperatures [K], without a sign."""
    return Value.of("difference", size_k, words)


def bulk(mass_kg: float) -> str:
    """A mass [kg] as ``format_bulk`` has it: fuel."""
    return Value.of("bulk", mass_kg, format_bulk(mass_kg))


def weight(mass_kg: float) -> str:
    """A mass [kg] as scales show it."""
    return Value.of("weight", mass_kg, format_mass(mass_kg))
