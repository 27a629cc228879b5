"""How commands answer: one JSON object, or a sheet read in the scale that was asked for."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Literal, cast

from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import Paper


def print_json(document: Mapping[str, Any]) -> None:
    """An answer as one JSON object on standard output."""
    print(json.dumps(document, indent=2, ensure_ascii=False))  # noqa: T201  the answer itself


def reader_of(zone: str, degrees: str, *, twelve_hour: bool = False) -> Reader:
    """Who reads a sheet: weights go with the scale of temperatures, F or C."""
    return Reader(zone, cast(Literal["F", "C"], degrees), "lb" if degrees == "F" else "kg", twelve_hour)


def paper_of(degrees: str, asked: str | None = None) -> Paper:
    """The size of paper that was asked for; else US Letter with F, A4 with C."""
    return cast(Paper, asked or ("letter" if degrees == "F" else "a4"))
