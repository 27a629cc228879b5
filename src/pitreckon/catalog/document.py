"""One TOML file of the catalog: its table, and where in the text a field stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pitreckon.errors import InputError, Place
from pitreckon.text.file import read_text
from pitreckon.text.toml import Lines, parse_toml


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
