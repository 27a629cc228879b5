"""A growing table of any logger to entries, as its rows come."""

from pathlib import Path

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.intake.table.columns import Answers
from pitreckon.intake.table.read import ColumnMap, TableReader, guess_map
from pitreckon.intake.table.shape import cells_of, is_data
from pitreckon.intake.table.tail import Follower, Line
from pitreckon.intake.table.unsure import UnsureError
from pitreckon.ledger.store.records import Entry

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
