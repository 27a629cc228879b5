"""A table of any logger to entries, whole or as its rows come; what its columns mean is guessed, shown, or asked."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.intake.reading import measured, reading_id
from pitreckon.intake.table.columns import Answers, ValueColumn, value_columns
from pitreckon.intake.table.tail import Follower, Line
from pitreckon.intake.table.time import RowClock, TimeColumns, time_columns
from pitreckon.ledger.events import Reading
from pitreckon.ledger.store.records import Entry
from pitreckon.text.table import NO_VALUE, Shape, UnsureError, cells_of, is_data, number_of, shape_of
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


_WAITED_FOR = 200
"""Lines that may stand in front of the first row of data."""


class TableFollower:
    """Gives the entries of a growing table; read again from its beginning, it gives the same ids.

    answers: what the cook has said about its columns; set it and poll again after an UnsureError
    columns: what they are taken for; None until the first row of data is there
    """

    def __init__(self, path: Path, cook: Cook, by: str, answers: Answers | None = None) -> None:
        self.path = path
        self.cook = cook
        self.by = by
        self.answers = answers or Answers()
        self.columns: ColumnMap | None = None
        self._follower = Follower(path)
        self._reader: TableReader | None = None
        self._waiting: list[Line] = []

    def poll(self) -> tuple[list[Entry], list[InputError]]:
        """What has come since the last time, and the rows that cannot be read: they are passed over.

        Raises UnsureError: something about the columns has to be asked. InputError: the file cannot be read, or
        there is no table in it.
        """
        for line in self._follower.poll():
            if line.anew:
                self._begin_anew(line)
            self._waiting.append(line)
        if self._reader is None and not self._begin():
            return [], []
        assert self._reader is not None
        entries: list[Entry] = []
        faults: list[InputError] = []
        for line in self._waiting:
            try:
                entries += self._reader.entries(line.text, line.number)
            except InputError as fault:
                faults.append(fault.at(file=str(self.path)))
        self._waiting = []
        return entries, faults

    def close(self) -> None:
        """Let go of the file."""
        self._follower.close()

    def _begin_anew(self, line: Line) -> None:
        """The logger has begun another file: under the same header, or with rows at once, it is read on."""
        if self.columns is None:
            return
        shape = self.columns.shape
        cells = cells_of(line.text, shape.separator)
        goes_on = len(cells) == len(shape.header) and is_data(cells)
        if not goes_on and line.text.strip() != shape.header_text.strip():
            self.columns = self._reader = None

    def _begin(self) -> bool:
        text = "\n".join(line.text for line in self._waiting)
        if not text.strip():
            return False
        try:
            self.columns = guess_map(text, str(self.path), self.cook, self.answers)
        except UnsureError:
            raise
        except InputError:
            if len(self._waiting) < _WAITED_FOR:
                return False  # a header alone, so far
            raise
        self._reader = TableReader(self.columns, self.cook, self.by)
        self._waiting = self._waiting[self.columns.shape.first_line - 1 :]
        return True
