"""The form of a catalog file, written beside each dataclass field, and the strict reader that follows it.

A field declared with `number(...)`, `text(...)` and so on carries its parser; `build` walks a dataclass and
a table side by side and refuses what is missing, unknown, without a source or out of range.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from pitreckon.catalog.figure import COMMON_PRACTICE, COMPUTED, FITTED, FROM_MEMORY, Figure
from pitreckon.errors import InputError, Place
from pitreckon.text.file import read_text
from pitreckon.text.toml import Lines, parse_toml
from pitreckon.text.words import did_you_mean


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file. Only `refuse` looks at the text again, so a good file costs one parse."""

    path: Path
    text: str
    table: Mapping[str, Any]

    def line_of(self, field: str) -> int | None:
        """Line [1..] on which a dotted field (`course.2.until`) or the nearest table above it stands."""
        steps = [int(step) - 1 if step.isdigit() else step for step in field.split(".")]
        return Lines(self.text).of(tuple(steps)) if steps[0] in self.table else None

    def refuse(self, field: str, trouble: str, remedy: str) -> InputError:
        """The error for a fault in `field`, its place filled in."""
        return InputError(trouble, remedy, Place(str(self.path), self.line_of(field), field or None))


def read_document(path: Path) -> Document:
    """Read a TOML file; anything that keeps it from being read is an `InputError`."""
    text = read_text(path)
    return Document(path, text, parse_toml(text, str(path)))


T = TypeVar("T")

SOURCE_REMEDY = (
    'Give source = "...": a citation in short words, or exactly '
    f'"{COMMON_PRACTICE}", or "{FROM_MEMORY}", or "{FITTED}", or "{COMPUTED}..."'
)


Read = Callable[[object, Document, str], Any]
"""Turns one raw TOML value into the value of a field, whose dotted name is given, or refuses it."""


@dataclass(frozen=True, slots=True)
class FieldParser:
    """How a field is read. required: it may not be left out."""

    read: Read
    required: bool


def _field(read: Read, **default: Any) -> Any:
    return dataclasses.field(**default, metadata={"read": FieldParser(read, not default)})


def _read_number(low: float, high: float, needs_sd: bool, raw: object, document: Document, field: str) -> Figure:
    if not isinstance(raw, Mapping):
        bare = _is_number(raw)
        trouble = f"the number {raw} stands without its source" if bare else f"{raw!r} is not a sourced number"
        example = raw if bare else f"{(low + high) / 2:.3g}"
        raise document.refuse(field, trouble, f'Write {{ value = {example}, source = "..." }}. {SOURCE_REMEDY}')
    for key in raw:
        if key not in {"value", "sd", "source"}:
            raise document.refuse(field, f"unknown key '{key}' in a number", "Use value, sd and source only")
    value = _real(raw.get("value"), "value", document, field)
    if not low <= value <= high:
        raise document.refuse(field, f"{value:g} is out of range", f"Give a value from {low:g} to {high:g}")
    source = read_source(raw.get("source"), document, field)
    if "sd" not in raw:
        if needs_sd:
            raise document.refuse(field, "the sd is missing", "Give sd = ..., the spread in the unit of the value")
        return Figure(value, None, source)
    sd, most = _real(raw["sd"], "sd", document, field), high - low
    if not 0.0 < sd <= most:
        remedy = f"Give a sd above 0 and at most {most:g}, in the unit of the value"
        raise document.refuse(field, f"sd = {sd:g} is out of range", remedy)
    return Figure(value, sd, source)


def _real(raw: object, key: str, document: Document, field: str) -> float:
    if not _is_number(raw):
        trouble = f"the {key} is missing" if raw is None else f"{key} = {raw!r} is not a number"
        raise document.refuse(field, trouble, f"Give {key} = ..., a plain number")
    return float(raw)  # type: ignore[arg-type]


def _read_text(allowed: tuple[str, ...], raw: object, document: Document, field: str) -> str:
    if not isinstance(raw, str) or not raw.strip():
        raise document.refuse(field, f"{raw!r} is not a text", "Give a text in double quotes")
    if allowed and raw not in allowed:
        raise document.refuse(field, f"'{raw}' is not known here", f"Use one of {', '.join(allowed)}")
    return raw


def _read_texts(raw: object, document: Document, field: str) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(each, str) and each.strip() for each in raw):
        raise document.refuse(field, f"{raw!r} is not a list of texts", 'Write ["one", "another"]')
    return tuple(raw)


def _read_flag(raw: object, document: Document, field: str) -> bool:
    if not isinstance(raw, bool):
        raise document.refuse(field, f"{raw!r} is neither true nor false", "Write true or false, without quotes")
    return raw


def _read_table(cls: type, raw: object, document: Document, field: str) -> Any:
    return build(cls, _table(raw, document, field), document, field)


def _read_kinds(kinds: Mapping[str, type], raw: object, document: Document, field: str) -> Any:
    table = dict(_table(raw, document, field))
    kind = table.pop("kind", None)
    if kind not in kinds:
        trouble = "the kind is missing" if kind is None else f"the kind {kind!r} is not known"
        raise document.refuse(f"{field}.kind", trouble, f"Use one of {', '.join(kinds)}")
    return build(kinds[kind], table, document, field)


def _read_tables(cls: type, raw: object, document: Document, field: str) -> tuple[Any, ...]:
    if not isinstance(raw, list) or not raw:
        raise document.refuse(field, "there is no entry", f"Write at least one [[{field}]]")
    return tuple(_read_table(cls, each, document, f"{field}.{n}") for n, each in enumerate(raw, start=1))


def number(low: float, high: float, *, sd: bool = False) -> Any:
    """A sourced number from `low` to `high`; `sd=True` where a spread must be given."""
    return _field(partial(_read_number, low, high, sd))


def text(*allowed: str) -> Any:
    """A text; with `allowed`, one of those."""
    return _field(partial(_read_text, allowed))


def optional_text(*allowed: str) -> Any:
    """A text that may be left out (then "")."""
    return _field(partial(_read_text, allowed), default="")


def optional_number(low: float, high: float, *, sd: bool = False) -> Any:
    """A sourced number that may be left out (then None)."""
    return _field(partial(_read_number, low, high, sd), default=None)


def texts() -> Any:
    """A list of texts, left out when empty."""
    return _field(_read_texts, default=())


def flag() -> Any:
    """true or false."""
    return _field(_read_flag)


def source() -> Any:
    """Where something that is not a number comes from."""
    return _field(read_source)


def table(cls: type) -> Any:
    """A table of the form `cls`."""
    return _field(partial(_read_table, cls))


def optional_table(cls: type) -> Any:
    """A table of the form `cls` that may be left out (then None)."""
    return _field(partial(_read_table, cls), default=None)


def kinds(**forms: type) -> Any:
    """A table with a `kind`, whose form depends on it."""
    return _field(partial(_read_kinds, forms))


def tables(cls: type) -> Any:
    """An array of tables of the form `cls`, at least one."""
    return _field(partial(_read_tables, cls))


def optional_tables(cls: type) -> Any:
    """An array of tables of the form `cls` that may be left out (then empty)."""
    return _field(partial(_read_tables, cls), default=())


def build(cls: type[T], raw: Mapping[str, Any], document: Document, field: str = "") -> T:
    """A `cls` from a table, or an `InputError` that names the file, the line and the field."""
    prefix = f"{field}." if field else ""
    parsers: dict[str, FieldParser] = {
        each.name: each.metadata["read"]
        for each in dataclasses.fields(cls)  # type: ignore[arg-type]
        if "read" in each.metadata
    }
    for key in raw:
        if key not in parsers:
            raise document.refuse(f"{prefix}{key}", "this key is not known", did_you_mean(key, list(parsers)))
    held: dict[str, Any] = {}
    for name, parser in parsers.items():
        if name in raw:
            held[name] = parser.read(raw[name], document, f"{prefix}{name}")
        elif parser.required:
            remedy = "Add it; a file of the same kind that came with it shows how"
            raise document.refuse(f"{prefix}{name}", f"'{name}' is missing", remedy)
    return cls(**held)


def read_source(raw: object, document: Document, field: str) -> str:
    """A source in one of the allowed forms."""
    if raw is None:
        raise document.refuse(field, "the source is missing", SOURCE_REMEDY)
    if not isinstance(raw, str) or len(raw.strip()) < 4 or not any(c.isalpha() for c in raw):
        raise document.refuse(field, f"{raw!r} is not a source", SOURCE_REMEDY)
    low = raw.lower()
    sham = low.startswith(("todo", "tbd", "unknown", "none", "n/a"))
    loose = (
        (low.startswith("common practice") and raw != COMMON_PRACTICE)
        or (low.startswith("fitted") and raw != FITTED)
        or (low.startswith("computed") and not (raw.startswith(COMPUTED) and len(raw) > len(COMPUTED)))
        or (low.startswith("from memory") and not raw.startswith(FROM_MEMORY))
    )
    if sham or loose:
        raise document.refuse(field, f"{raw!r} is not one of the set forms of a source", SOURCE_REMEDY)
    return raw


def _is_number(raw: object) -> bool:
    return isinstance(raw, int | float) and not isinstance(raw, bool) and math.isfinite(raw)


def _table(raw: object, document: Document, field: str) -> Mapping[str, Any]:
    if not isinstance(raw, Mapping):
        raise document.refuse(field, f"{raw!r} is not a table", f"Write a line [{field}] and its keys below it")
    return raw
