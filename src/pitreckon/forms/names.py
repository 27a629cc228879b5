"""The names that a cook may use: those of the catalog for cuts, pits and wraps, the cook's own for pits and items."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from pitreckon.errors import InputError, Place
from pitreckon.text.words import did_you_mean, resolve, spellings
from pitreckon.units import shown

UNWRAPPED = "none"
"""What a cook writes where a piece is to have no wrap; it is no wrap of the catalog."""


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Every spelling of every cut, pit and wrap, and the catalog key that it stands for."""

    cuts: Mapping[str, str] = field(default_factory=dict)
    pits: Mapping[str, str] = field(default_factory=dict)
    wraps: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def from_catalog(cls) -> KnownNames:
        """The names of the catalog as it is now, the user's own files included."""
        from pitreckon import catalog  # noqa: PLC0415  reading it is work that tests and forms can do without

        return cls(
            spellings(catalog.cuts().values()), spellings(catalog.pits().values()), spellings(catalog.wraps().values())
        )

    def cut(self, text: str) -> str:
        """The catalog key of a cut. Raises InputError with the nearest names."""
        return resolve(text, self.cuts, "cut", listing="; 'pitreckon cuts' lists all")

    def pit(self, text: str) -> str:
        """The catalog key of a pit. Raises InputError with the nearest names."""
        return resolve(text, self.pits, "kind of pit", listing="; 'pitreckon pits' lists all")

    def wrap(self, text: str) -> str:
        """The catalog key of a wrap, or ``none``. Raises InputError with the nearest names."""
        return resolve(text, {**self.wraps, UNWRAPPED: UNWRAPPED}, "wrap")


def by_any_case(labels: Iterable[str]) -> dict[str, str]:
    """The cook's own labels of pits or items, as :func:`label_of` looks for them."""
    return {label.casefold(): label for label in labels}


def label_of(text: str, labels: Mapping[str, str], what: str, field: str | None = None) -> str:
    """The label that is meant, in any case. what: pit or item. Raises InputError about the field, with the nearest."""
    found = labels.get(text.strip().casefold())
    if found is not None:
        return found
    trouble = f"{shown(text)} is no {what} of this cook" if text.strip() else f"the {what} is not named"
    remedy = did_you_mean(text, tuple(labels.values())) if labels else f"Write a [[{what}]] first"
    raise InputError(trouble, remedy, Place(field=field))
