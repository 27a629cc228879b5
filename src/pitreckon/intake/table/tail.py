"""Following a file that a logger writes: whole lines as they come, over rotation and over half-written lines."""

import os
from io import BufferedReader
from pathlib import Path
from typing import Final, NamedTuple

from pitreckon.errors import InputError, Place

LONGEST_LINE: Final = 1 << 20
_AT_ONCE: Final = 1 << 20
_HEAD: Final = 4096


class Line(NamedTuple):
    """A whole line: its number in its file from 1, its text, and whether it is the first of a file begun anew."""

    number: int
    text: str
    anew: bool


class Follower:
    """Gives the whole lines of a growing file, from its beginning.

    A line without its end is held back until the rest comes. When the file is replaced (another file of that name)
    or cut short, what is left of the old one is read first and then the new one from its beginning. While there is
    no file it gives nothing.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file: BufferedReader | None = None
        self._half = b""
        self._number = 0
        self._anew = False
        self._head = b""

    def poll(self) -> list[Line]:
        """The lines that have come since the last time.

        Raises InputError: the file cannot be read, or a line does not end within a megabyte.
        """
        try:
            return self._poll()
        except InputError:
            self.close()
            self._begin()
            raise
        except OSError as error:
            raise InputError(
                f"the file cannot be read ({error.strerror or error})",
                "Check that it is a file and may be read",
                Place(str(self.path)),
            ) from None

    def close(self) -> None:
        """Let go of the file."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def _poll(self) -> list[Line]:
        lines: list[Line] = []
        if self._file is not None:
            if self._cut_short(self._file):
                self._file.seek(0)
                self._begin()
                return self._rest(self._file)
            replaced = self._replaced(self._file)
            lines += self._rest(self._file)  # of a file that was moved away, what was still written into it
            if not replaced:
                return lines
            self.close()
            self._begin()
        if self.path.is_file():
            self._file = self.path.open("rb")
            lines += self._rest(self._file)
        elif self.path.exists():
            raise InputError("it is not a file", "Give the file that the logger writes", Place(str(self.path)))
        return lines

    def _begin(self) -> None:
        self._head, self._half, self._number, self._anew = b"", b"", 0, True

    def _cut_short(self, file: BufferedReader) -> bool:
        """It is shorter than we have read, or was written on since: then it does not begin as it did."""
        there = os.fstat(file.fileno())
        return there.st_size < file.tell() or os.pread(file.fileno(), len(self._head), 0) != self._head

    def _replaced(self, file: BufferedReader) -> bool:
        ours = os.fstat(file.fileno())
        try:
            there = self.path.stat()
        except FileNotFoundError:
            return False  # moved away, and the new one is not there yet: more may still come into the old one
        return (ours.st_dev, ours.st_ino) != (there.st_dev, there.st_ino)

    def _rest(self, file: BufferedReader) -> list[Line]:
        lines = []
        while more := file.read(_AT_ONCE):
            self._head += more[: max(0, _HEAD - len(self._head))]
            *whole, self._half = (self._half + more).split(b"\n")
            for raw in whole:
                self._number += 1
                lines.append(Line(self._number, self._text(raw), self._anew))
                self._anew = False
            if len(self._half) > LONGEST_LINE:
                self._half = b""
                raise InputError(
                    "a line does not end within a megabyte",
                    "Follow a text file with one row a line",
                    Place(str(self.path), self._number + 1),
                )
        return lines

    def _text(self, raw: bytes) -> str:
        first = self._number == 1
        if first and raw[:2] in {b"\xff\xfe", b"\xfe\xff"}:
            where = Place(str(self.path), 1)
            raise InputError("the file is UTF-16, which is not followed", "Let the logger write UTF-8", where)
        try:
            return raw.rstrip(b"\r").decode("utf-8-sig" if first else "utf-8")
        except UnicodeDecodeError:
            return raw.rstrip(b"\r").decode("cp1252", "replace")
