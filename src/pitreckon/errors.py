"""Everything that Pitreckon raises on purpose.

::

    PitreckonError
    ├── InputError        what a person typed or a file holds is wrong: place, trouble, remedy (exit code 2)
    │   ├── UnsureError       a table can be read in more than one way, and the person has to say which
    │   ├── MissingExtraError it needs a library that is not installed: the line that installs it
    ├── StoreError        where the ledger is kept does not do: place, trouble, remedy (exit code 2)
    ├── PaperError        a PDF cannot be made here: the system lacks what draws text
    ├── RefusalError      the page says no to a request: status, trouble, remedy
    ├── WorkerGoneError   the process that reckons for the page died again and again, or failed in it
    │   ├── WorkerDiedError   it died once: the question is asked again
    ├── GaveWayError      a question of the page was left for a more urgent one
    └── RangeError        a physical law was asked outside its published range (also a ValueError)
    Exception
    └── _CommitError      inside the store's writer alone: what it took in could not be committed

``tests/test_errors.py`` holds this against the classes that there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class PitreckonError(Exception):
    """Root of every error raised on purpose."""


@dataclass(frozen=True)
class Place:
    """Where in somebody's input a fault lies. Any part may be unknown.

    entry: of a complaint about one of several, which one it is, ``("item", 2)`` for the third; a reader knows its line
    """

    file: str | None = None
    line: int | None = None
    field: str | None = None
    entry: tuple[str, int] | None = None

    def __str__(self) -> str:
        parts = []
        if self.file is not None:
            parts.append(self.file)
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.field is not None:
            parts.append(f"field '{self.field}'")
        return ", ".join(parts)


class ErrorKind(Enum):
    """What a reader may have to tell apart; the words of a message are for people alone."""

    WRONG = "wrong"
    SLIP = "slip"
    """It is what was asked for, with a slip in how it is written: its message says more than a list of forms."""
    NO_VALUE = "no value"
    """An instrument's way to say that it has none."""


class InputError(PitreckonError):
    """One clear message: the place, what is wrong there, and what would be right.

    trouble: what is wrong, one clause without a full stop
    remedy: what would be right
    place: file, line and field as far as they are known
    kind: what a reader may decide by
    """

    def __init__(
        self, trouble: str, remedy: str, place: Place | None = None, kind: ErrorKind = ErrorKind.WRONG
    ) -> None:
        self.trouble = trouble
        self.remedy = remedy
        self.place = place or Place()
        self.kind = kind
        super().__init__(trouble, remedy, place, kind)

    def at(self, *, file: str | None = None, line: int | None = None, field: str | None = None) -> InputError:
        """The same fault with its place filled in where it was unknown."""
        place = Place(
            self.place.file if self.place.file is not None else file,
            self.place.line if self.place.line is not None else line,
            self.place.field if self.place.field is not None else field,
            self.place.entry,
        )
        return self.put(place)

    def put(self, place: Place) -> InputError:
        """The same fault at another place."""
        return InputError(self.trouble, self.remedy, place, self.kind)

    def __str__(self) -> str:
        where = str(self.place)
        head = f"{where}: " if where else ""
        return f"{head}{self.trouble}. {self.remedy}."


class StoreError(PitreckonError):
    """The store of the ledger cannot be opened, read or written; nothing of what was asked has been kept.

    trouble: what is wrong, one clause without a full stop
    remedy: what would help
    where: the file, or the address without its password
    """

    def __init__(self, trouble: str, remedy: str, where: str) -> None:
        self.trouble = trouble
        self.remedy = remedy
        self.where = where
        super().__init__(trouble, remedy, where)

    def __str__(self) -> str:
        return f"{self.where}: {self.trouble}. {self.remedy}."


class RangeError(PitreckonError, ValueError):
    """A physical law was asked for a value outside the range in which it is known to hold."""
