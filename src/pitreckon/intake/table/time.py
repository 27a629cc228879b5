"""Which columns of a logger's table hold its time, how it is written, and what instant a row has."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.ledger.log.clock import LogClock
from pitreckon.ledger.log.dates import Dates, day_of, order_of
from pitreckon.text.table import CLOCK, DATE, MOMENT, Shape, UnsureError, number_of
from pitreckon.units import instants_reading, parse_clock, shown

_TIME_WORDS: Final = re.compile(r"time|date|stamp|clock|elapsed|sec|min|epoch|unix|zeit|datum", re.IGNORECASE)
_MINUTES: Final = re.compile(r"min", re.IGNORECASE)
_EPOCH: Final = (1e9, 4.1e9)


@dataclass(frozen=True, slots=True)
class TimeColumns:
    """Where the time is.

    kind: moment (day and clock in one cell), date and clock (two cells), clock (no day), epoch (since 1970), or
        elapsed (since the logger was started)
    at: index of the column, or of the two
    dates: order of a written date; seconds: of one step of a number [s]
    start_utc: of elapsed times, or the day of the first clock time
    """

    kind: Literal["moment", "date and clock", "clock", "epoch", "elapsed"]
    at: tuple[int, ...]
    dates: Dates = "year first"
    seconds: float = 1.0
    start_utc: datetime | None = None

    @property
    def words(self) -> str:
        """How it is written, for a person."""
        order = f", {self.dates}" if self.kind in {"moment", "date and clock"} else ""
        step = {1.0: " in seconds", 60.0: " in minutes", 0.001: " in milliseconds"}.get(self.seconds, "")
        return self.kind + order + (step if self.kind in {"epoch", "elapsed"} else "")


def time_columns(shape: Shape, cook: Cook, dates: Dates | None, start_utc: datetime | None) -> TimeColumns:
    """The time columns of a table.

    dates, start_utc: what the cook has said already

    Raises InputError: there are none. UnsureError: the order of day and month, or the start, has to be asked.
    """
    columns = [[row[n] if n < len(row) else "" for row in shape.rows] for n in range(len(shape.header))]
    moments = _first(columns, lambda c: MOMENT.fullmatch(c) is not None)
    if moments is not None:
        days = [MOMENT.fullmatch(c)[1] for c in columns[moments] if c]  # type: ignore[index]
        return TimeColumns("moment", (moments,), dates or order_of(days, cook))
    clock = _first(columns, lambda c: CLOCK.fullmatch(c) is not None)
    day = _first(columns, lambda c: DATE.fullmatch(c) is not None)
    if clock is not None and day is not None:
        return TimeColumns("date and clock", (day, clock), dates or order_of([c for c in columns[day] if c], cook))
    if clock is not None:
        return TimeColumns("clock", (clock,), start_utc=start_utc or _ask_start("the times have no day"))
    for n, cells in enumerate(columns):
        numbers = [found[0] for c in cells if (found := number_of(c, decimal_comma=shape.decimal_comma))]
        if len(numbers) < len([c for c in cells if c]) or not numbers:
            continue
        for seconds in (1.0, 0.001):
            if all(_EPOCH[0] <= number * seconds <= _EPOCH[1] for number in numbers):
                return TimeColumns("epoch", (n,), seconds=seconds)
        if _TIME_WORDS.search(shape.header[n]) and numbers == sorted(numbers):
            seconds = 60.0 if _MINUTES.search(shape.header[n]) else 1.0
            start = start_utc or _ask_start("the times count from when the logger was started")
            return TimeColumns("elapsed", (n,), seconds=seconds, start_utc=start)
    raise InputError("no column holds a time", "Give a log with a column of times", None)


def _first(columns: Sequence[Sequence[str]], fits: object) -> int | None:
    for n, cells in enumerate(columns):
        said = [c for c in cells if c]
        if said and len(said) * 2 > len(cells) and all(fits(c) for c in said):  # type: ignore[operator]
            return n
    return None


def _ask_start(why: str) -> datetime:
    raise UnsureError(why, "Say when the first row was, as in 2026-10-10 13:00", "start", ())


class RowClock:
    """Turns the time of each row into an instant, row after row."""

    def __init__(self, columns: TimeColumns, cook: Cook, *, decimal_comma: bool) -> None:
        self.columns = columns
        self.zone = cook.zone_info
        self.decimal_comma = decimal_comma
        self._clock = LogClock(cook.zone_info)
        self._first: float | None = None
        self._last_utc: datetime | None = None
        if columns.kind == "clock" and columns.start_utc is not None:
            self._clock.now_utc = columns.start_utc

    def instant(self, cells: Sequence[str]) -> datetime:
        """The instant of a row. Raises InputError: it has none."""
        said = [cells[n] if n < len(cells) else "" for n in self.columns.at]
        if not all(said):
            raise InputError("the row has no time", "Delete the row")
        kind = self.columns.kind
        if kind in {"epoch", "elapsed"}:
            return self._counted(said[0])
        if kind == "clock":
            at_utc = self._clock.read(said[0].replace(",", "."))[0]
            self._clock.now_utc = at_utc
            return at_utc
        if kind == "moment":
            found = MOMENT.fullmatch(said[0])
            if found is None:
                raise InputError(f"{shown(said[0])} is not a date and time", "Write it as the rows before")
            return self._written(found[1], found[2], found[3] or "")
        return self._written(said[0], said[1], "")

    def _written(self, day_text: str, clock_text: str, offset: str) -> datetime:
        day = day_of(day_text, self.columns.dates) if DATE.fullmatch(day_text) else None
        if day is None:
            raise InputError(f"{shown(day_text)} is no day", f"Write it {self.columns.dates}, as the rows before")
        clock = parse_clock(re.sub(r"([.,][0-9]{6})[0-9]+", r"\1", clock_text).replace(",", "."))
        possible = instants_reading(f"{day.isoformat()} {clock.isoformat()}{offset}", self.zone)
        # In the hour that autumn repeats, a row that would run backwards is in its second pass.
        onward = [at for at in possible if self._last_utc is None or at >= self._last_utc]
        self._last_utc = (onward or possible)[0]
        return self._last_utc

    def _counted(self, text: str) -> datetime:
        found = number_of(text, decimal_comma=self.decimal_comma)
        if found is None:
            raise InputError(f"{shown(text)} is no count of time", "Write a number, as the rows before")
        seconds = found[0] * self.columns.seconds
        if self.columns.kind == "epoch":
            if not _EPOCH[0] <= seconds <= _EPOCH[1]:
                raise InputError(f"{shown(text)} is no time in our days", "Write seconds since 1970")
            return datetime.fromtimestamp(seconds, UTC)
        if self._first is None:
            self._first = seconds
        start = self.columns.start_utc
        if start is None or not 0.0 <= seconds - self._first <= 30 * 86400.0:
            raise InputError(f"{shown(text)} is before the first row or a month after it", "Give one log at a time")
        return start + timedelta(seconds=seconds - self._first)
