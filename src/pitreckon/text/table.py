"""The shape of a table that a logger or a spreadsheet wrote: encoding, separator, header, first rows of data."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from pitreckon.errors import InputError, Place


class UnsureError(InputError):
    """Something has to be asked before a file can be read.

    option: name of the answer (unit, dates, start, or a column's name); choices: what it can be, empty: free
    """

    def __init__(
        self, trouble: str, remedy: str, option: str, choices: tuple[str, ...], place: Place | None = None
    ) -> None:
        super().__init__(trouble, remedy, place)
        self.option = option
        self.choices = choices

    def at(self, *, file: str | None = None, line: int | None = None, field: str | None = None) -> UnsureError:
        """The same with its place filled in."""
        placed = super().at(file=file, line=line, field=field)
        return UnsureError(self.trouble, self.remedy, self.option, self.choices, placed.place)


SEPARATORS: Final = (",", ";", "\t", "|")
_DATE: Final = r"(?:[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}|[0-9]{1,2}[-/.][0-9]{1,2}[-/.](?:[0-9]{4}|[0-9]{2}))"
_CLOCK: Final = r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]{1,9})?)?(?:\s*[ap]\.?m\.?)?"
DATE: Final = re.compile(_DATE)
CLOCK: Final = re.compile(_CLOCK, re.IGNORECASE)
MOMENT: Final = re.compile(rf"({_DATE})(?:T|,?\s+)({_CLOCK})\s*(Z|[+-][0-9]{{2}}(?::?[0-9]{{2}})?)?", re.IGNORECASE)
_NUMBER: Final = re.compile(r"([+-]?[0-9]{1,15}(?:[.,][0-9]{0,15})?)\s*(?:(?:°|º|˚|deg)?\s*([FC]))?", re.IGNORECASE)
NO_VALUE: Final = re.compile(r"-*|n/?a|null|none|nan|err(?:or)?|off|open", re.IGNORECASE)
_LOOKED_AT: Final = 60
_HEADER_WITHIN: Final = 40


@dataclass(frozen=True, slots=True)
class Shape:
    """How a table is written.

    separator, decimal_comma: between cells, and inside numbers
    header: a name for each column, "column 3" where the file has none; header_text: its line as written, "" for none
    first_line: of the data, from 1
    rows: the first of them, split into cells
    """

    separator: str
    decimal_comma: bool
    header: tuple[str, ...]
    header_text: str
    first_line: int
    rows: tuple[tuple[str, ...], ...]


def decode_table(raw: bytes, file: str) -> str:
    """The text of a file in UTF-8 or UTF-16, or else in the usual eight bits of western loggers.

    Raises InputError: it holds zero bytes, so it is no text.
    """
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        text = raw.decode("utf-16", "replace")
    else:
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = raw.decode("cp1252", "replace")
    if "\0" in text:
        raise InputError("the file is not text", "Export the log as CSV", Place(file))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def cells_of(line: str, separator: str) -> tuple[str, ...]:
    """The cells of one line, without blanks round them; a quote that is not closed ends with the line."""
    try:
        row = next(csv.reader([line], delimiter=separator), [])
    except csv.Error:
        row = line.split(separator)
    return tuple(cell.strip().strip("\ufeff") for cell in row)


def number_of(cell: str, *, decimal_comma: bool) -> tuple[float, str] | None:
    """The number in a cell, and its scale F or C if it has one there ("" if not); None: no number."""
    found = _NUMBER.fullmatch(cell)
    if found is None or ("," in cell and not decimal_comma) or ("." in found[1] and decimal_comma):
        return None
    return float(found[1].replace(",", ".")), (found[2] or "").upper()


def shape_of(text: str, file: str) -> Shape:
    """How a table is written, from its first lines.

    Raises InputError: there is no table in it.
    """
    lines = list(_lines(text))
    if not lines:
        raise InputError("the file is empty", "Give a log with rows in it, or wait for its first row", Place(file))
    best: tuple[int, int, str] | None = None
    for separator in SEPARATORS:
        rows = [cells_of(line, separator) for _, line in lines]
        good = [row for row in rows if is_data(row)]
        score = (len(good), max((len(row) for row in good), default=0), separator)
        if good and (best is None or score[:2] > best[:2]):
            best = score
    if best is None:
        raise InputError(
            "no row has a time and a number beside it",
            "Give a table with one row a time, its cells parted by commas, semicolons or tabs",
            Place(file, lines[0][0]),
        )
    return _shape(lines, best[2], file)


def _shape(lines: list[tuple[int, str]], separator: str, file: str) -> Shape:
    first = next(n for n, (_, line) in enumerate(lines) if is_data(cells_of(line, separator)))
    rows = tuple(row for _, line in lines[first:] if is_data(row := cells_of(line, separator)))
    width = max(len(row) for row in rows)
    header_text = ""
    header: tuple[str, ...] = ()
    for _, line in reversed(lines[max(0, first - _HEADER_WITHIN) : first]):
        cells = cells_of(line, separator)
        if 2 <= len(cells) <= width + 1 and sum(bool(cell) for cell in cells) >= 2:
            header_text, header = line, cells
            break
    names = tuple((header[n][:60] if n < len(header) else "") or f"column {n + 1}" for n in range(width))
    inside = [
        cell for row in rows for cell in row if re.fullmatch(r"[+-]?[0-9]+[.,][0-9]+(?:\s*°?\s*[FC])?", cell, re.I)
    ]
    commas = sum("," in cell for cell in inside)
    if commas and commas < len(inside):
        raise InputError(
            "some numbers have a decimal comma and some a point", "Write all of them the same way", Place(file)
        )
    return Shape(separator, commas > 0, names, header_text, lines[first][0], rows)


def _lines(text: str) -> Iterator[tuple[int, str]]:
    found = 0
    for n, line in enumerate(text.split("\n"), start=1):
        if line.strip():
            found += 1
            yield n, line
        if found >= _LOOKED_AT:
            return


def is_data(row: Iterable[str]) -> bool:
    """A time of some kind or a number of seconds, and a number or a sign for none beside it."""
    cells = tuple(row)
    if len(cells) < 2:
        return False
    times = sum(bool(MOMENT.fullmatch(c) or DATE.fullmatch(c) or CLOCK.fullmatch(c)) for c in cells)
    numbers = sum(bool(_NUMBER.fullmatch(c)) for c in cells)
    nothing = sum(bool(NO_VALUE.fullmatch(c)) for c in cells)
    return (times >= 1 and numbers + nothing >= 1) or (numbers >= 2 and times + numbers + nothing == len(cells))
