"""The keys of a record: how each is called in a file, read, written and shown by an example, in one table.

A reader makes the record of a table of a file or form, a writer the table of the record, both by the same keys.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from pitreckon.forms.fields import Fields
from pitreckon.forms.toml_write import Value
from pitreckon.text.words import known_word, meanings, resolve

T = TypeVar("T")
_NOTHING: Any = object()


@dataclass(frozen=True, slots=True)
class Form:
    """How a value is typed.

    read: of a key that is there; write: with what it may be written by, as a zone; None: it is left out
    """

    read: Callable[[Fields, Key], Any]
    write: Callable[[Any, Any], Value]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table.

    key: as it stands in the file; form: how its value is typed; example: as TOML has it
    field: of the record, if it is not called the same
    said: field of the record that tells whether it was in the file; a value that was not is not written
    needed: it cannot be left out; unsaid: the value that is not written, because it is what is meant without it
    """

    key: str
    form: Form
    example: str
    field: str = ""
    needed: bool = False
    unsaid: Any = _NOTHING
    said: str = ""

    @property
    def how(self) -> str:
        """The remedy when it is missing or of the wrong kind."""
        return f"Write it as in {self.key} = {self.example}"

    def read(self, fields: Fields) -> Any:
        """Its value in a table; None where it is left out. Raises InputError: it is needed, or wrong."""
        if fields.raw.get(self.key) is not None:
            return self.form.read(fields, self)
        if self.needed:
            raise fields.fault(self.key, f"{self.key} is missing", self.how)
        return None

    def write(self, record: object, around: Any) -> Value:
        """Its value in a record, as the file has it; None: it is left out."""
        if self.said and not getattr(record, self.said):
            return None
        value = getattr(record, self.field or self.key)
        return None if value is None or value == self.unsaid else self.form.write(value, around)


class Keys(Generic[T]):
    """A record's table.

    make: the record of its fields; keys: in the order in which they are written; inside: keys of tables in it
    """

    def __init__(self, make: Callable[..., T], *keys: Key, inside: tuple[str, ...] = ()) -> None:
        self.make = make
        self.keys = keys
        self.names = tuple(key.key for key in keys)
        self.inside = inside

    def said(self, fields: Fields) -> dict[str, Any]:
        """What a table says, by the fields of the record. Raises InputError: a key is unknown, missing or wrong."""
        fields.only(*self.names, *self.inside)
        found = [(key, key.read(fields)) for key in self.keys]
        flags = {key.said: value is not None for key, value in found if key.said}
        return flags | {key.field or key.key: value for key, value in found if value is not None}

    def read(self, fields: Fields, **more: Any) -> T:
        """The record. more: fields of it that are not in the table, or are usual where the table does not say."""
        said = self.said(fields)
        return fields.build(lambda: self.make(**more | said))

    def write(self, record: T, around: Any = None) -> dict[str, Value]:
        """The table of a record."""
        written = ((key.key, key.write(record, around)) for key in self.keys)
        return {name: value for name, value in written if value is not None}


def text_within(parse: Callable[[str, Any], Any], write: Callable[[Any, Any], Value]) -> Form:
    """A text that is read and written by what is around it."""
    return Form(lambda fields, key: fields.parsed(key.key, fields.text(key.key, key.how), parse), write)


def text(parse: Callable[[str], Any] = str.strip, write: Callable[[Any], Value] = str) -> Form:
    """A text."""
    return text_within(lambda text, _: parse(text), lambda value, _: write(value))


def word(allowed: Iterable[str] | Mapping[str, Any], what: str, write: Callable[[Any], Value] = str) -> Form:
    """A word out of a short list, or what it stands for. what: what any other text is: ``no kind of sides``."""
    return text(lambda text: known_word(text, allowed, what), write)


def name(known: Iterable[str] | Callable[[], Mapping[str, str]], what: str) -> Form:
    """A name that may be written in several ways; else the nearest are said. known: or what tells what they mean."""
    return text(lambda text: resolve(text, known() if callable(known) else meanings(known), what))


def several(form: Form, *, lone: bool = True) -> Form:
    """A list of texts, each of this form. lone: or one text by itself."""

    def read(fields: Fields, key: Key) -> tuple[Any, ...]:
        raw = fields.raw[key.key]
        if not isinstance(raw, list | tuple):
            if not lone:
                raise fields.fault(key.key, f"{key.key} is not a list of texts", key.how)
            return (form.read(fields, key),)
        if not all(isinstance(each, str) for each in raw):
            raise fields.fault(key.key, f"{key.key} has something that is not a text", key.how)
        return tuple(form.read(_of_one(fields, key.key, each), key) for each in raw)

    return Form(read, lambda values, around: tuple(str(form.write(each, around)) for each in values) or None)


def _of_one(fields: Fields, key: str, value: str) -> Fields:
    return Fields({key: value}, fields.path, fields.title, fields.file, fields.lines, fields.around)


def _whole(fields: Fields, key: Key) -> int:
    value = fields.raw[key.key]
    if isinstance(value, bool) or not isinstance(value, int):
        raise fields.fault(key.key, f"{key.key} is not a whole number", f"{key.how}, without quotes")
    if abs(value) > 10**9:
        raise fields.fault(key.key, f"{key.key} is a huge number", key.how)
    return value


def _number(fields: Fields, key: Key) -> float:
    value = fields.raw[key.key]
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9 or math.isnan(value):
        raise fields.fault(key.key, f"{key.key} is not a number", f"{key.how}, without quotes")
    return float(value)


def _flag(fields: Fields, key: Key) -> bool:
    value = fields.raw[key.key]
    if not isinstance(value, bool):
        raise fields.fault(
            key.key, f"{key.key} is neither true nor false", f"Write {key.key} = true, without quotes, or leave it out"
        )
    return value


WHOLE = Form(_whole, lambda value, _: int(value))
NUMBER = Form(_number, lambda value, _: float(value))
FLAG = Form(_flag, lambda value, _: bool(value))
