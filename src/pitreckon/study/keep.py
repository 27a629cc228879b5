"""The folder of a study: what was asked, and each finished chunk under its label and the hash of its content."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pitreckon.errors import InputError, Place

ASKED: Final = "study.json"
CHUNKS: Final = "chunks"
LOCK: Final = ".running"
PART: Final = ".part"
_CHUNK: Final = re.compile(r"(?P<label>[a-z0-9-]+)\.(?P<hash>[0-9a-f]{16})\.parquet")
MOST_TOLD: Final = 6


def hash_of(content: bytes) -> str:
    """What a chunk's name says of its content."""
    return hashlib.sha256(content).hexdigest()[:16]


@dataclass(frozen=True)
class Folder:
    """Where a study is kept."""

    path: Path

    @property
    def chunks(self) -> Path:
        """The folder of the chunks."""
        return self.path / CHUNKS

    def begin(self, asked: Mapping[str, Any]) -> None:
        """Make the folder for what is asked, or see that it is the same.

        asked: settings and their values as text, in a fixed order

        Raises InputError: another study is kept there (which settings differ); the folder cannot be written
        """
        place = self.path / ASKED
        try:
            self.path.mkdir(parents=True, exist_ok=True)
            for left in [*self.path.glob(f".*{PART}"), *self.chunks.glob(f".*{PART}")]:
                left.unlink(missing_ok=True)  # of a run that was killed while it wrote
        except OSError as fault:
            raise _unwritten(self.path, "the folder", fault) from fault
        before = self._before(place)
        if before is None:
            self.write(ASKED, (json.dumps(asked, indent=1, ensure_ascii=False) + "\n").encode(), "what is asked")
        elif others := differences(before, asked):
            more = f" and {len(others) - MOST_TOLD} more" if len(others) > MOST_TOLD else ""
            raise InputError(
                f"another study is kept there: {'; '.join(others[:MOST_TOLD])}{more}",
                "Name another folder, or ask for the same as then",
                Place(str(place)),
            )

    def _before(self, place: Path) -> dict[str, Any] | None:
        try:
            found = json.loads(place.read_text("utf-8"))
        except FileNotFoundError:
            if any(self.path.rglob("*.parquet")):
                raise InputError(
                    "something is kept there, and nothing says of what study",
                    "Name another folder",
                    Place(str(self.path)),
                ) from None
            return None
        except (OSError, ValueError) as fault:
            raise InputError(
                f"what is kept there cannot be read ({fault})", "Name another folder", Place(str(place))
            ) from fault
        return found if isinstance(found, dict) else {}

    def done(self, labels: Mapping[str, int]) -> dict[int, Path]:
        """The finished chunks whose content is what their name says, by number; one that is not is removed.

        labels: the number of each chunk by its label
        """
        found: dict[int, Path] = {}
        self.make(CHUNKS)
        for path in sorted(self.chunks.iterdir()):
            name = _CHUNK.fullmatch(path.name)
            if name is None or name["label"] not in labels:
                continue
            if hash_of(path.read_bytes()) == name["hash"]:
                found[labels[name["label"]]] = path
            else:
                path.unlink()
        return found

    def make(self, name: str) -> None:
        """Have a folder of this name in it. Raises InputError: it cannot be made."""
        try:
            (self.path / name).mkdir(exist_ok=True)
        except OSError as fault:
            raise _unwritten(self.path / name, "the folder", fault) from fault

    def drop(self, chunks: Iterable[Path]) -> None:
        """Chunks that are wanted no more, and their folder, where nothing else is in it."""
        for path in chunks:
            path.unlink(missing_ok=True)
        with suppress(OSError):
            self.chunks.rmdir()

    def keep(self, label: str, content: bytes) -> Path:
        """Keep a finished chunk, whole or not at all. Raises InputError: it cannot be written."""
        return self.write(f"{CHUNKS}/{label}.{hash_of(content)}.parquet", content, "a finished chunk")

    def write(self, name: str, content: bytes, what: str) -> Path:
        """Write a file in one step; on the disk before it has its name. Raises InputError: it cannot be written."""
        with self.written(name, what) as part:
            part.write_bytes(content)
        return self.path / name

    @contextmanager
    def written(self, name: str, what: str) -> Iterator[Path]:
        """A name to write to, that becomes the file when all went well; else nothing is left of it.

        Raises InputError: it cannot be written.
        """
        path = self.path / name
        part = path.with_name(f".{path.name}{PART}")
        try:
            yield part
            with part.open("rb+") as out:
                os.fsync(out.fileno())
            part.replace(path)
        except OSError as fault:
            raise _unwritten(path, what, fault) from fault
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Keep others out while a run is at it; a run that is killed lets go. Raises InputError: one is at it."""
        import fcntl  # noqa: PLC0415  of POSIX alone

        try:
            self.path.mkdir(parents=True, exist_ok=True)
            lock = (self.path / LOCK).open("w")
        except OSError as fault:
            raise _unwritten(self.path, "the folder", fault) from fault
        with lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                raise InputError(
                    "another run is at this study", "Wait for it, or name another folder", Place(str(self.path))
                ) from None
            yield


def differences(before: Mapping[str, Any], asked: Mapping[str, Any]) -> list[str]:
    """Which settings are otherwise, each in words."""
    found = []
    for key in dict.fromkeys([*before, *asked]):
        was, now = before.get(key, "left out"), asked.get(key, "left out")
        if was != now:
            found.append(f"{key} was {_short(was)}, is {_short(now)}")
    return found


def _short(value: Any, longest: int = 60) -> str:
    told = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return told if len(told) <= longest else told[: longest - 3] + "..."


def _unwritten(path: Path, what: str, fault: OSError) -> InputError:
    return InputError(
        f"{what} cannot be written: {fault.strerror or fault}",
        "Make room, or name a folder of your own, and begin again: what is finished is kept",
        Place(str(path)),
    )
