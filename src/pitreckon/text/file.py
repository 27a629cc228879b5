"""Text out of a file that a person gave us, or one clear reason why not."""

import sys
from collections.abc import MutableMapping
from pathlib import Path
from typing import Final
from weakref import WeakKeyDictionary

from pitreckon.errors import InputError, Place

STANDARD_INPUT: Final = "-"


_READ: Final[MutableMapping[object, bytes]] = WeakKeyDictionary()
"""What a stream gave: it can be read but once, and a command may want it twice."""


def read_text(path: Path) -> str:
    """The text of a UTF-8 file, without the mark that some programs put in front of it.

    Raises InputError: the file is not there, cannot be read, or is not UTF-8 (with the line and the byte).
    """
    return decode(read_bytes(path), str(path))


def read_bytes(path: Path) -> bytes:
    """What a file holds, ``-`` standard input. Raises InputError: it is not there, or cannot be read."""
    if str(path) == STANDARD_INPUT:
        if sys.stdin not in _READ:
            _READ[sys.stdin] = sys.stdin.buffer.read()
        return _READ[sys.stdin]
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError("there is no such file", "Check its name and folder", Place(str(path))) from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        reason = getattr(error, "strerror", None) or error
        raise InputError(
            f"the file cannot be read ({reason})", "Check that it is a file and may be read", Place(str(path))
        ) from None


def decode(raw: bytes, file: str) -> str:
    """UTF-8 bytes as text; ``file`` is the name for messages.

    Raises InputError: not UTF-8, with the line and the byte.
    """
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"the file is not UTF-8: byte {error.start + 1} of the file is 0x{raw[error.start]:02x}",
            "Save it again as plain text in UTF-8",
            Place(file, line),
        ) from None
