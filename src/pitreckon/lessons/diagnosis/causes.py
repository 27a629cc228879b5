"""The causes that are weighed, and the changes that are tried; their shares and words are data."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from pitreckon.catalog.foods import read_table


@dataclass(frozen=True, slots=True)
class Cause:
    """key; share: of all bad plates, before anything is told [-]; words; signs: faults that the trade ties to it."""

    key: str
    share: float
    words: str
    signs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """key; words, with places for numbers; against: the faults that it may help against."""

    key: str
    words: str
    against: tuple[str, ...]


@cache
def causes() -> Mapping[str, Cause]:
    """Every cause by key, in the order of the file; the shares add up to 1."""
    rows = read_table("pitreckon.lessons", "causes.csv")
    total = sum(float(row["share"]) for row in rows)
    made = [Cause(r["key"], float(r["share"]) / total, r["words"], _listed(r["signs"])) for r in rows]
    return MappingProxyType({each.key: each for each in made})


@cache
def changes() -> Mapping[str, Change]:
    """Every change by key, in the order of the file."""
    rows = read_table("pitreckon.lessons", "changes.csv")
    return MappingProxyType({r["key"]: Change(r["key"], r["words"], _listed(r["against"])) for r in rows})


def _listed(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())
