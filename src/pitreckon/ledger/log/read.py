"""A ledger file (CSV) to a :class:`pitreckon.ledger.events.Ledger`.

Its form is in ``docs/reference/ledger-file.md``.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from operator import itemgetter
from pathlib import Path
from typing import Final, NamedTuple

from pitreckon.cook.labels import Labels
from pitreckon.cook.plan import Cook
from pitreckon.errors import ErrorKind, InputError, Place
from pitreckon.forms.names import KnownNames
from pitreckon.ledger.events import ACTS, CHANNELS, LOOKS, PIT_ACTS, PIT_LOOKS, Act, Ledger, Look, Reading
from pitreckon.ledger.log.acts import ActReader
from pitreckon.ledger.log.clock import LogClock
from pitreckon.ledger.log.dates import Dates
from pitreckon.ledger.log.table import HEADER_EXAMPLE, Table, decimal_points, with_day, year_first
from pitreckon.ledger.log.values import Measured, look, no_value, temperature
from pitreckon.text.file import read_bytes
from pitreckon.text.table import decode_table
from pitreckon.text.words import did_you_mean, plain
from pitreckon.units import shown

_WHAT: Final = {"reading": CHANNELS, "look": LOOKS, "act": ACTS}
_OF_PIT: Final = {"reading": ("pit air",), "look": PIT_LOOKS, "act": PIT_ACTS}


def read_log(
    path: Path,
    cook: Cook,
    known: KnownNames | None = None,
    *,
    set_aside: bool = False,
    dates: Dates | None = None,
    told: Callable[[str], None] | None = None,
) -> Ledger:
    """The ledger that a log file holds.

    cook: the cook that it belongs to: its zone, its pits, its items
    known: names of wraps; None: those of the catalog
    set_aside: keep rows with a fault code (999, NaN, blank) as rejected instead of refusing them

    dates: what comes first in local dates; None: found from them; told: hears of columns that are not read

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field). UnsureError: day and
    month cannot be told apart.
    """
    text = decode_table(read_bytes(path), str(path))
    return log_from_text(text, str(path), cook, known, set_aside=set_aside, dates=dates, told=told)


def log_from_text(
    text: str,
    file: str,
    cook: Cook,
    known: KnownNames | None = None,
    *,
    set_aside: bool = False,
    dates: Dates | None = None,
    told: Callable[[str], None] | None = None,
) -> Ledger:
    """The ledger that the text of a log holds; ``file`` is its name for messages, the rest as in ``read_log``.

    Raises InputError: something in it is wrong (file, line and field). UnsureError: day and month cannot be told apart.
    """
    if not text:
        raise InputError("the log is empty (0 bytes)", f"{HEADER_EXAMPLE}, or leave the log out", Place(file))
    reader = _LogReader(file, cook, known or KnownNames.from_catalog(), set_aside=set_aside)
    table = Table(text, file)
    if table.ignored and told is not None:
        names = ", ".join(f"'{each[:40]}'" for each in table.ignored)
        told(f"{file}: {'the column' if len(table.ignored) == 1 else 'the columns'} {names} of your own: not read.")
    return reader.read(list(_rows(table, cook, dates)))


class _Row(NamedTuple):
    line: int
    time: str
    kind: str
    on: str
    what: str
    value: str
    piece: str
    note: str


class _LogReader:
    def __init__(self, file: str, cook: Cook, known: KnownNames, *, set_aside: bool) -> None:
        self.file = file
        self.cook = cook
        self.set_aside = set_aside
        self.clock = LogClock(cook.zone_info)
        self.labels = Labels.of(cook)
        self.act_reader = ActReader(cook, known, self.labels.pits)
        self.readings: list[Reading] = []
        self.looks: list[Look] = []
        self.acts: list[Act] = []
        # Rows of the instant now being read: who spoke, and what they said. Times never run backwards, so
        # twins can only be among these.
        self._spoke: set[tuple[str, ...]] = set()
        self._said: dict[tuple[str, ...], int] = {}

    def read(self, rows: Iterable[_Row]) -> Ledger:
        for row in rows:
            self._take(row)
        return Ledger(tuple(self.readings), tuple(self.looks), tuple(self.acts))

    def _take(self, row: _Row) -> None:
        column = "kind"
        try:
            kind = row.kind if row.kind in _WHAT else _word(row.kind, tuple(_WHAT), "kind of row")
            column = "what"
            what = row.what if row.what in _WHAT[kind] else _word(row.what, _WHAT[kind], kind)
            column = "on"
            of_pit = what in _OF_PIT[kind]
            on = self.labels.label(row.on or None, of_pit=of_pit)
            column = "piece"
            piece = self.labels.piece(row.piece, on, of_pit=of_pit)
            column = "time"
            at_utc = self._time(row, (kind, on, what, row.piece))
            column = "value"
            if kind == "reading":
                value, rejected = self._measured(row, what)
                self.readings.append(Reading(at_utc, what, on, piece, value, rejected, row.line))
            elif kind == "look":
                value, rejected = self._measured(row, what, a_look=True)
                self.looks.append(Look(at_utc, on, piece, what, value, row.value, rejected, row.line, row.note))
            else:
                self.acts.append(
                    self.act_reader.read(at_utc, on, what, row.value, piece=piece, line=row.line, note=row.note)
                )
        except InputError as error:
            raise error.at(file=self.file, line=row.line, field=column) from None

    def _measured(self, row: _Row, what: str, *, a_look: bool = False) -> Measured:
        try:
            return look(what, row.value) if a_look else temperature(row.value, what)
        except InputError as error:
            if error.kind is not ErrorKind.NO_VALUE or not self.set_aside:
                raise
            return no_value(row.value)

    def _time(self, row: _Row, who: tuple[str, ...]) -> datetime:
        possible = self.clock.read(row.time)
        at_utc = possible[0]
        if len(possible) > 1 and at_utc == self.clock.now_utc and who in self._spoke:
            at_utc = possible[1]  # it spoke at this time already: the repeated hour has begun its second pass
        if at_utc != self.clock.now_utc:
            self._spoke, self._said = set(), {}
            self.clock.now_utc = at_utc
        said = (*who, row.value)
        twin = self._said.setdefault(said, row.line)
        if twin != row.line:
            raise InputError(
                f"this row says the same as line {twin}",
                "Delete one of them, or give their times to the second",
            )
        self._spoke.add(who)
        return at_utc


def _word(text: str, known: tuple[str, ...], what: str) -> str:
    """A word of a closed list, whatever its case and hyphens."""
    found = {plain(each): each for each in known}.get(plain(text))
    if found is None:
        trouble = f"{shown(text)} is no {what} that we know" if text else "it is blank"
        raise InputError(trouble, did_you_mean(text, known))
    return found


def _rows(table: Table, cook: Cook, dates: Dates | None) -> Iterator[_Row]:
    """The rows of a log, their dates year first and their decimals with a point."""
    in_order = itemgetter(*(table.columns.get(name, table.width) for name in _Row._fields[1:]))
    # The blank behind the last cell stands for every column that the file leaves out.
    cells = [(line, row + [""] * (table.width + 1 - len(row))) for line, row in table.rows()]
    at, day, value = (table.columns.get(name, table.width) for name in ("time", "date", "value"))
    for _, row in cells:
        row[at] = with_day(row[day], row[at])
    pointed = decimal_points([row[value] for _, row in cells], table.separator, table.file)
    written = year_first([row[at] for _, row in cells], cook, dates, table.file)
    for line, row in cells:
        try:
            row[at], row[value] = written(row[at]), pointed(row[value])
        except InputError as fault:
            raise fault.at(file=table.file, line=line, field="time") from None
        yield _Row(line, *in_order(row))
