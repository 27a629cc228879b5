"""A table of any logger to entries: what its columns mean is guessed, shown, and asked for where it is not sure."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.intake.reading import measured, reading_id
from pitreckon.intake.table.columns import Answers, ValueColumn, value_columns
from pitreckon.intake.table.shape import NO_VALUE, Shape, cells_of, number_of, shape_of
from pitreckon.intake.table.time import RowClock, TimeColumns, time_columns
from pitreckon.ledger.events import Reading
from pitreckon.ledger.store.records import Entry
from pitreckon.units import Scale, shown


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How a table is read."""

    shape: Shape
    time: TimeColumns
    columns: tuple[ValueColumn, ...]

    @property
    def words(self) -> tuple[tuple[str, str], ...]:
        """Each column's header and what it is taken for, in the order of the file."""
        said = dict.fromkeys(self.time.at, f"time: {self.time.words}")
        for each in self.columns:
            piece = f" {each.piece}" if each.piece is not None else ""
            said[each.at] = (
                f"left out: {each.why}"
                if each.channel is None
                else f"{each.channel} of {each.on}{piece} in {each.unit}"
            )
        return tuple((self.shape.header[n], said[n]) for n in sorted(said))


def guess_map(text: str, file: str, cook: Cook, answers: Answers | None = None) -> ColumnMap:
    """What the columns of a table mean.

    text: the file, or its beginning; file: its name for messages

    Raises InputError: there is no table in it, or an answer fits nothing. UnsureError: something has to be asked.
    """
    answers = answers or Answers()
    try:
        shape = shape_of(text, file)
        time = time_columns(shape, cook, answers.dates, answers.start_utc)
        columns = value_columns(shape, time, cook, answers)
    except InputError as fault:
        raise fault.at(file=file) from None
    return ColumnMap(shape, time, columns)


class TableReader:
    """Turns the lines of a table into entries, line after line; ``by`` names the logger.

    Raises InputError from :meth:`entries`: a row cannot be read (line and column); the next can be tried.
    """

    def __init__(self, columns: ColumnMap, cook: Cook, by: str) -> None:
        self.columns = columns
        self.by = by
        self._clock = RowClock(columns.time, cook, decimal_comma=columns.shape.decimal_comma)
        self._header = columns.shape.header_text.strip()

    def entries(self, line: str, number: int) -> list[Entry]:
        """The entries of one line; none for a blank line or a header that comes again. ``number``: from 1."""
        text = line.strip().lstrip("\ufeff").strip()
        if not text or text == self._header:
            return []
        shape = self.columns.shape
        cells = cells_of(line, shape.separator)
        column = self.columns.shape.header[self.columns.time.at[0]]
        entries = []
        try:
            at_utc = self._clock.instant(cells)
            for each in self.columns.columns:
                column = each.header
                cell = cells[each.at] if each.at < len(cells) else ""
                if each.channel is None or not cell or NO_VALUE.fullmatch(cell):
                    continue
                found = number_of(cell, decimal_comma=shape.decimal_comma)
                if found is None:
                    raise InputError(f"{shown(cell)} is no number", "Correct the cell or leave it blank")  # noqa: TRY301
                unit: Scale = each.unit if not found[1] else ("F" if found[1] == "F" else "C")
                value_c, rejected = measured(each.channel, found[0], unit)
                reading = Reading(
                    at_utc, each.channel, each.on, each.piece, value_c, rejected, number if number else None
                )
                entries.append(Entry(reading_id(self.by, reading), reading, self.by))
        except InputError as fault:
            raise fault.at(line=number, field=column) from None
        return entries


def table_entries(text: str, file: str, columns: ColumnMap, cook: Cook, by: str) -> Iterator[Entry]:
    """The entries of a whole table, from its first row of data on.

    Raises InputError: a row cannot be read (file, line and column).
    """
    reader = TableReader(columns, cook, by)
    for number, line in data_lines(text.split("\n"), columns.shape):
        try:
            yield from reader.entries(line, number)
        except InputError as fault:
            raise fault.at(file=file) from None


def data_lines(lines: Iterable[str], shape: Shape) -> Iterator[tuple[int, str]]:
    """The lines from the first row of data on, each with its number."""
    for number, line in enumerate(lines, start=1):
        if number >= shape.first_line:
            yield number, line
