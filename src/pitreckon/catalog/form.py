"""The form of a catalog file, written beside each dataclass field, and the strict reader that follows it.

A field declared with `number(...)`, `text(...)` and so on carries its reader; `build` walks a dataclass and
a table side by side and refuses what is missing, unknown, without a source or out of range.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from pitreckon.catalog.document import Document
from pitreckon.catalog.figure import COMMON_PRACTICE, COMPUTED, FITTED, FROM_MEMORY, Figure

T = TypeVar("T")

SOURCE_REMEDY = (
    'Give source = "...": a citation in short words, or exactly '
    f'"{COMMON_PRACTICE}", or "{FROM_MEMORY}", or "{FITTED}", or "{COMPUTED}..."'
)


class FieldParser(Protocol):
    """Turns one raw TOML value into the field's value, or refuses it."""

    required: bool

    def read(self, raw: object, document: Document, field: str) -> Any: ...


@dataclass(frozen=True, slots=True)
class _Number:
    low: float
    high: float
    sd: bool
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> Figure:
        if not isinstance(raw, Mapping):
            bare = _is_number(raw)
            trouble = f"the number {raw} stands without its source" if bare else f"{raw!r} is not a sourced number"
            example = raw if bare else _between(self.low, self.high)
            raise document.refuse(field, trouble, f'Write {{ value = {example}, source = "..." }}. {SOURCE_REMEDY}')
        for key in raw:
            if key not in {"value", "sd", "source"}:
                raise document.refuse(field, f"unknown key '{key}' in a number", "Use value, sd and source only")
        value = self._real(raw.get("value"), "value", document, field)
        if not self.low <= value <= self.high:
            raise document.refuse(
                field, f"{value:g} is out of range", f"Give a value from {self.low:g} to {self.high:g}"
            )
        source = read_source(raw.get("source"), document, field)
        if "sd" not in raw:
            if self.sd:
                raise document.refuse(field, "the sd is missing", "Give sd = ..., the spread in the unit of the value")
            return Figure(value, None, source)
        sd = self._real(raw["sd"], "sd", document, field)
        if not 0.0 < sd <= self.high - self.low:
            raise document.refuse(
                field,
                f"sd = {sd:g} is out of range",
                f"Give a sd above 0 and at most {self.high - self.low:g}, in the unit of the value",
            )
        return Figure(value, sd, source)

    @staticmethod
    def _real(raw: object, key: str, document: Document, field: str) -> float:
        if raw is None:
            raise document.refuse(field, f"the {key} is missing", f"Give {key} = ..., a plain number")
        if not _is_number(raw):
            raise document.refuse(field, f"{key} = {raw!r} is not a number", f"Give {key} = ..., a plain number")
        return float(raw)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class _Text:
    allowed: tuple[str, ...]
    required: bool

    def read(self, raw: object, document: Document, field: str) -> str:
        if not isinstance(raw, str) or not raw.strip():
            raise document.refuse(field, f"{raw!r} is not a text", "Give a text in double quotes")
        if self.allowed and raw not in self.allowed:
            raise document.refuse(field, f"'{raw}' is not known here", f"Use one of {', '.join(self.allowed)}")
        return raw


@dataclass(frozen=True, slots=True)
class _Texts:
    required: bool = False

    def read(self, raw: object, document: Document, field: str) -> tuple[str, ...]:
        if not isinstance(raw, list) or not all(isinstance(each, str) and each.strip() for each in raw):
            raise document.refuse(field, f"{raw!r} is not a list of texts", 'Write ["one", "another"]')
        return tuple(raw)


@dataclass(frozen=True, slots=True)
class _Flag:
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> bool:
        if not isinstance(raw, bool):
            raise document.refuse(field, f"{raw!r} is neither true nor false", "Write true or false, without quotes")
        return raw


@dataclass(frozen=True, slots=True)
class _Source:
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> str:
        return read_source(raw, document, field)


@dataclass(frozen=True, slots=True)
class _Table:
    cls: type
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> Any:
        return build(self.cls, _table(raw, document, field), document, field)


@dataclass(frozen=True, slots=True)
class _Kinds:
    """A table whose `kind` says which form the rest of it has."""

    kinds: Mapping[str, type]
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> Any:
        table = dict(_table(raw, document, field))
        kind = table.pop("kind", None)
        if kind not in self.kinds:
            trouble = "the kind is missing" if kind is None else f"the kind {kind!r} is not known"
            raise document.refuse(f"{field}.kind", trouble, f"Use one of {', '.join(self.kinds)}")
        return build(self.kinds[kind], table, document, field)


@dataclass(frozen=True, slots=True)
class _Tables:
    cls: type
    required: bool = True

    def read(self, raw: object, document: Document, field: str) -> tuple[Any, ...]:
        if not isinstance(raw, list) or not raw:
            raise document.refuse(field, "there is no entry", f"Write at least one [[{field}]]")
        return tuple(
            build(self.cls, _table(each, document, f"{field}.{n}"), document, f"{field}.{n}")
            for n, each in enumerate(raw, start=1)
        )


def number(low: float, high: float, *, sd: bool = False) -> Any:
    """A sourced number from `low` to `high`; `sd=True` where a spread must be given."""
    return dataclasses.field(metadata={"read": _Number(low, high, sd)})


def text(*allowed: str) -> Any:
    """A text; with `allowed`, one of those."""
    return dataclasses.field(metadata={"read": _Text(allowed, required=True)})


def optional_text(*allowed: str) -> Any:
    """A text that may be left out (then "")."""
    return dataclasses.field(default="", metadata={"read": _Text(allowed, required=False)})


def optional_number(low: float, high: float, *, sd: bool = False) -> Any:
    """A sourced number that may be left out (then None)."""
    return dataclasses.field(default=None, metadata={"read": _Number(low, high, sd, required=False)})


def texts() -> Any:
    """A list of texts, left out when empty."""
    return dataclasses.field(default=(), metadata={"read": _Texts()})


def flag() -> Any:
    """true or false."""
    return dataclasses.field(metadata={"read": _Flag()})


def source() -> Any:
    """Where something that is not a number comes from."""
    return dataclasses.field(metadata={"read": _Source()})


def table(cls: type) -> Any:
    """A table of the form `cls`."""
    return dataclasses.field(metadata={"read": _Table(cls)})


def optional_table(cls: type) -> Any:
    """A table of the form `cls` that may be left out (then None)."""
    return dataclasses.field(default=None, metadata={"read": _Table(cls, required=False)})


def kinds(**forms: type) -> Any:
    """A table with a `kind`, whose form depends on it."""
    return dataclasses.field(metadata={"read": _Kinds(forms)})


def tables(cls: type) -> Any:
    """An array of tables of the form `cls`, at least one."""
    return dataclasses.field(metadata={"read": _Tables(cls)})


def optional_tables(cls: type) -> Any:
    """An array of tables of the form `cls` that may be left out (then empty)."""
    return dataclasses.field(default=(), metadata={"read": _Tables(cls, required=False)})


def build(cls: type[T], raw: Mapping[str, Any], document: Document, field: str = "") -> T:
    """A `cls` from a table, or an `InputError` that names the file, the line and the field."""
    prefix = f"{field}." if field else ""
    readers: dict[str, FieldParser] = {
        each.name: each.metadata["read"]
        for each in dataclasses.fields(cls)  # type: ignore[arg-type]
        if "read" in each.metadata
    }
    for key in raw:
        if key not in readers:
            raise document.refuse(f"{prefix}{key}", "this key is not known", _nearest(key, list(readers)))
    held: dict[str, Any] = {}
    for name, reader in readers.items():
        if name in raw:
            held[name] = reader.read(raw[name], document, f"{prefix}{name}")
        elif reader.required:
            raise document.refuse(
                f"{prefix}{name}",
                f"'{name}' is missing",
                "Add it; a file of the same kind that came with it shows how",
            )
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


def _between(low: float, high: float) -> str:
    return f"{(low + high) / 2:.3g}"


def _table(raw: object, document: Document, field: str) -> Mapping[str, Any]:
    if not isinstance(raw, Mapping):
        raise document.refuse(field, f"{raw!r} is not a table", f"Write a line [{field}] and its keys below it")
    return raw


def _nearest(key: str, known: list[str]) -> str:
    import difflib  # noqa: PLC0415  only a fault needs it

    near = difflib.get_close_matches(key, known, n=2, cutoff=0.6)
    return f"The nearest is {' or '.join(near)}" if near else f"Known here are {', '.join(known)}"
