"""How commands answer: one JSON object, or a sheet read in the scale that was asked for."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import Paper
from pitreckon.sheets.writers.write import ENDINGS, require_for
from pitreckon.units import Scale

PAPERS: Final = tuple(kind for kind in ENDINGS if kind != ".ics")
"""Endings of what can be read, a calendar apart."""


def print_json(document: Mapping[str, Any]) -> None:
    """An answer as one JSON object on standard output."""
    print(json.dumps(document, indent=2, ensure_ascii=False))  # noqa: T201  the answer itself


def reader_of(zone: str, degrees: Scale, *, twelve_hour: bool = False) -> Reader:
    """Who reads a sheet: weights go with the scale of temperatures, F or C."""
    return Reader(zone, degrees, "lb" if degrees == "F" else "kg", twelve_hour)


def paper_of(degrees: Scale, asked: Paper | None = None) -> Paper:
    """The size of paper that was asked for; else US Letter with F, A4 with C."""
    return asked or ("letter" if degrees == "F" else "a4")


def ending_of(output: Path | None, kinds: Sequence[str], what: str) -> str | None:
    """The ending of what is to be written, asked for before anything is reckoned.

    Raises InputError: none of them
    Raises MissingExtraError: what writes it is not installed
    """
    if output is None:
        return None
    ending = output.suffix.lower()
    if ending not in kinds:
        trouble, remedy = f"'{ending}' is no kind of {what}", f"End the name in one of: {', '.join(kinds)}"
        raise InputError(trouble, remedy, Place(str(output)))
    require_for(ending)
    return ending
