"""One table of what was typed, in a file or at a form: its values by key, its faults placed on their lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import Any, TypeVar

from pitreckon.errors import InputError, Place
from pitreckon.text.toml import Lines, Path, parse_toml
from pitreckon.text.words import did_you_mean

T = TypeVar("T")


class Fields:
    """A table of a file, or of what was filled in at a form.

    raw: what the table holds
    path: where it is in the file
    title: what it is called in messages: ``item 2``
    around: what its values may be read by, a zone or the known names, say; the tables inside it have the same
    lines: None: it is of no file
    """

    def __init__(
        self, raw: Mapping[str, Any], path: Path, title: str, file: str, lines: Lines | None, around: Any = None
    ) -> None:
        self.raw = raw
        self.path = path
        self.title = title
        self.file = file
        self.lines = lines
        self.around = around

    @classmethod
    def of_text(cls, text: str, file: str, title: str = "file", *, empty: str | None = None) -> Fields:
        """The whole of a TOML text; ``file`` is its name for messages. empty: what to write where it holds nothing.

        Raises InputError: it is not TOML, or empty.
        """
        raw = parse_toml(text, file)
        if not raw and empty is not None:
            raise InputError("the file is empty", empty, Place(file, 1))
        return cls(raw, (), title, file, Lines(text))

    @classmethod
    def of_tables(cls, raw: Mapping[str, Any], where: str, title: str = "file") -> Fields:
        """What was filled in; ``where`` is its name for messages."""
        return cls(raw, (), title, where, None)

    def place(self, key: str, entry: tuple[str, int] | None = None) -> Place:
        """File, line and field of a key of this table, or of one of several tables: the third item, say."""
        path = self.path if entry is None else entry
        title = self.title if entry is None else f"{entry[0]} {entry[1] + 1}"
        return Place(self.file, None if self.lines is None else self.lines.of((*path, key)), f"{title}: {key}")

    def fault(self, key: str, trouble: str, remedy: str) -> InputError:
        """An InputError placed at a key."""
        return InputError(trouble, remedy, self.place(key))

    def only(self, *known: str, heads: bool = False) -> None:
        """Refuse every key that is not known, with the nearest that is. heads: the known ones are heads of tables."""
        for key, value in self.raw.items():
            if key not in known:
                trouble = f"'{key[:40]}' is no key of {self.title.split(' ')[0]}"
                if heads and not isinstance(value, Mapping | list):
                    raise self.fault(key, trouble, f"Write it below the head of its table, one of: {', '.join(known)}")
                raise self.fault(key, trouble, did_you_mean(key, known, "Write any of"))

    def parsed(self, key: str, text: str, parse: Callable[[str, Any], T]) -> T:
        """What a text under a key means. parse: given the text and ``around``."""
        try:
            return parse(text, self.around)
        except InputError as error:
            raise error.put(self.place(key)) from None

    def text(self, key: str, how: str) -> str:
        """The text of a key as written, a number or a date as its text. how: the remedy where it is neither."""
        value = self.raw[key]
        if isinstance(value, str):
            return value
        if isinstance(value, bool) or not isinstance(value, int | float | datetime | date | time):
            raise self.fault(key, f"{key} is not a text", how)
        try:
            return value.isoformat() if isinstance(value, date | time) else str(value)
        except ValueError:  # an integer of thousands of digits
            raise self.fault(key, f"{key} is a huge number", how) from None

    def build(self, make: Callable[[], T]) -> T:
        """Make a record; its own complaint about a field is placed on that field's line."""
        try:
            return make()
        except InputError as error:
            if error.place.file is not None:  # a value inside it is at fault, and already placed
                raise
            raise error.put(self.place(error.place.field or "name", error.place.entry)) from None

    def table(self, key: str) -> Fields | None:
        """A table that stands once; None: not at all. Raises InputError: it is no single table."""
        raw = self.raw.get(key)
        if raw is None:
            return None
        if not isinstance(raw, Mapping):
            raise self.fault(key, f"{key} is not one table", f"Head it with [{key}]")
        return Fields(raw, (*self.path, key), key, self.file, self.lines, self.around)

    def need_table(self, key: str, remedy: str) -> Fields:
        """A table that must be there."""
        found = self.table(key) if isinstance(self.raw.get(key), Mapping) else None
        if found is None:
            raise self.fault(key, f"there is no [{key}]", remedy)
        return found

    def tables(self, key: str, title: str = "") -> list[Fields]:
        """The entries of an array of tables, none when it is left out. title: of one, as the key says if left out."""
        raw = self.raw.get(key, [])
        if not isinstance(raw, list | tuple) or not all(isinstance(entry, Mapping) for entry in raw):
            header = ".".join([*(step for step in self.path if isinstance(step, str)), key])
            raise self.fault(key, f"'{key}' is not a list of tables", f"Head each one with [[{header}]]")
        return [
            Fields(entry, (*self.path, key, n), f"{title or key} {n + 1}", self.file, self.lines, self.around)
            for n, entry in enumerate(raw)
        ]
