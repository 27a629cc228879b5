"""One TOML file of the catalog: its table, and where in the text a field stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pitreckon.errors import InputError, Place

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.\-]+)\s*\]")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-]+)\s*=")
_SYNTAX_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file. Only `refuse` looks at the text again, so a good file costs one parse."""

    path: Path
    text: str
    table: Mapping[str, Any]

    def line_of(self, field: str) -> int | None:
        """Line [1..] on which a dotted field (`course.2.until`) or the nearest table above it stands."""
        lines = _lines(self.text)
        while field:
            if field in lines:
                return lines[field]
            field = field.rpartition(".")[0]
        return None

    def refuse(self, field: str, trouble: str, remedy: str) -> InputError:
        """The error for a fault in `field`, its place filled in."""
        return InputError(trouble, remedy, Place(str(self.path), self.line_of(field), field or None))


def read_document(path: Path) -> Document:
    """Read a TOML file; anything that keeps it from being read is an `InputError`."""
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(
            f"the file is not UTF-8 (byte {fault.start})", "Save it as UTF-8 text", Place(str(path))
        ) from fault
    except OSError as fault:
        raise InputError(
            f"the file cannot be read ({fault.strerror})",
            "Check that it is there and may be read",
            Place(str(path)),
        ) from fault
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        message = str(fault)
        where = _SYNTAX_LINE.search(message)
        line = int(where[1]) if where and where[1] else None
        trouble = f"this is not TOML: {_SYNTAX_LINE.sub('', message)}"
        raise InputError(
            trouble, "Write one 'key = value' a line, texts in double quotes", Place(str(path), line)
        ) from fault
    return Document(path, text, table)


def _lines(text: str) -> dict[str, int]:
    """Line of every dotted field; the entries of an array of tables are numbered from 1."""
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    prefix = ""
    for number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            name = header[2]
            if header[1] == "[[":
                lines.setdefault(name, number)
                counts[name] = counts.get(name, 0) + 1
                name = f"{name}.{counts[name]}"
            lines.setdefault(name, number)
            prefix = f"{name}."
            continue
        key = _KEY.match(line)
        if key:
            lines.setdefault(f"{prefix}{key[1]}", number)
    return lines
