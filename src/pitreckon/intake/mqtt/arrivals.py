"""When each undated message of a broker came first, so that its second delivery makes the same entry.

A broker delivers a message again, marked so and under the same number, until it is acknowledged. A number is used
again for another message only after that, and then without the mark.
"""

import hashlib
import json
import os
import uuid
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, NamedTuple

from pitreckon.errors import InputError, Place

MOST_LINES: Final = 5000


class Arrival(NamedTuple):
    """A message as it came: the broker's number of it, a digest of what it says, and whether it is marked as again."""

    number: int
    digest: str
    again: bool


def digest_of(topic: str, payload: bytes) -> str:
    """What tells a message from another."""
    return hashlib.sha256(topic.encode("utf-8", "replace") + b"\0" + payload).hexdigest()[:32]


class ArrivalNotes:
    """The first arrival of each number that may still be delivered again.

    path: where they are kept over a restart; None: in memory only

    Raises InputError: the file cannot be written.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self._first: dict[int, tuple[str, str, datetime]] = {}
        self._lines = 0
        if path is not None:
            self._read(path)
            self._write_anew(path)

    def first_arrivals(self, arrivals: Iterable[Arrival], now_utc: datetime) -> list[tuple[str, datetime]]:
        """A mark of each message and when it came first; on disk before this returns."""
        found, fresh = [], []
        for arrival in arrivals:
            known = self._first.get(arrival.number)
            if known is None or known[0] != arrival.digest or not arrival.again:
                known = (arrival.digest, uuid.uuid4().hex, now_utc)
                self._first[arrival.number] = known
                fresh.append(arrival.number)
            found.append((known[1], known[2]))
        if fresh and self.path is not None:
            if self._lines + len(fresh) > MOST_LINES + len(self._first):
                self._write_anew(self.path)
            else:
                self._append(self.path, fresh)
        return found

    def _read(self, path: Path) -> None:
        try:
            lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return
        except OSError as error:
            raise _no_notes(path, error) from None
        for line in lines:
            try:
                number, digest, mark, at = json.loads(line)
                self._first[int(number)] = (str(digest), str(mark), datetime.fromtimestamp(float(at), UTC))
            except (ValueError, TypeError, OverflowError, OSError, RecursionError):
                continue  # a line that was half written when the power went: its message was not taken in either

    def _line(self, number: int) -> str:
        digest, mark, at_utc = self._first[number]
        return json.dumps((number, digest, mark, at_utc.timestamp())) + "\n"

    def _append(self, path: Path, numbers: list[int]) -> None:
        try:
            with path.open("a", encoding="utf-8") as out:
                out.writelines(self._line(number) for number in numbers)
                out.flush()
                os.fsync(out.fileno())
        except OSError as error:
            raise _no_notes(path, error) from None
        self._lines += len(numbers)

    def _write_anew(self, path: Path) -> None:
        beside = path.with_name(path.name + ".new")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with beside.open("w", encoding="utf-8") as out:
                out.writelines(self._line(number) for number in self._first)
                out.flush()
                os.fsync(out.fileno())
            beside.replace(path)
        except OSError as error:
            raise _no_notes(path, error) from None
        self._lines = len(self._first)


def _no_notes(path: Path, error: OSError) -> InputError:
    return InputError(
        f"the notes of the broker's messages cannot be kept ({error.strerror or error})",
        "Give a file in a folder that may be written, in notes",
        Place(str(path)),
    )
