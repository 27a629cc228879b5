"""The names that a cook may use for cuts, pits and wraps."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from pitreckon.errors import InputError
from pitreckon.units import shown

UNWRAPPED = "none"
"""What a cook writes where a piece is to have no wrap; it is no wrap of the catalog."""


class _Named(Protocol):
    @property
    def key(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def also(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Every spelling of every cut, pit and wrap, and the catalog key that it stands for."""

    cuts: Mapping[str, str]
    pits: Mapping[str, str]
    wraps: Mapping[str, str]

    @classmethod
    def from_catalog(cls) -> KnownNames:
        """The names of the catalog as it is now, the user's own files included."""
        from pitreckon import catalog  # noqa: PLC0415  reading it is work that tests and forms can do without

        return cls(
            _spellings(catalog.cuts().values()),
            _spellings(catalog.pits().values()),
            _spellings(catalog.wraps().values()),
        )

    def cut(self, text: str) -> str:
        """The catalog key of a cut. Raises InputError with the nearest names."""
        return _resolve(text, self.cuts, "cut", "; 'pitreckon cuts' lists all")

    def pit(self, text: str) -> str:
        """The catalog key of a pit. Raises InputError with the nearest names."""
        return _resolve(text, self.pits, "kind of pit", "; 'pitreckon pits' lists all")

    def wrap(self, text: str) -> str:
        """The catalog key of a wrap, or ``none``. Raises InputError with the nearest names."""
        return _resolve(text, {**self.wraps, UNWRAPPED: UNWRAPPED}, "wrap", "")


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())


def _spellings(entries: Iterable[_Named]) -> dict[str, str]:
    """Keys win over names and names over other spellings, so that no addition can hide a key."""
    listed = list(entries)
    spellings = {also: entry.key for entry in listed for also in entry.also}
    spellings |= {entry.name: entry.key for entry in listed}
    return spellings | {entry.key: entry.key for entry in listed}


def _resolve(text: str, known: Mapping[str, str], what: str, listing: str) -> str:
    if text in known:
        return known[text]
    plain = {_plain(spelling): spelling for spelling in known}
    wanted = _plain(text)
    if wanted in plain:
        return known[plain[wanted]]
    near = list(dict.fromkeys(known[plain[p]] for p in difflib.get_close_matches(wanted, plain, n=6, cutoff=0.5)))
    keys = near[:4] or sorted(set(known.values()))
    raise InputError(f"{shown(text)} is no {what} that we know", f"Write {' or '.join(keys)}{listing if near else ''}")


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like a mistyped one, if any is."""
    close = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return close[0] if close else None
