"""A log as a spreadsheet has written it: any separator, local dates, decimal commas, columns of the cook's own."""

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger.log.cells import unguarded
from pitreckon.ledger.log.dates import Dates, day_of, order_of
from pitreckon.text.table import DATE, MOMENT, SEPARATORS
from pitreckon.text.words import did_you_mean, plain
from pitreckon.units import parse_clock, shown

REQUIRED: Final = ("time", "kind", "on", "what", "value")
OPTIONAL: Final = ("piece", "note", "date")
HEADER_EXAMPLE: Final = "Begin with the line: time,kind,on,piece,what,value,note"
_COMMA: Final = re.compile(r"(?<=[0-9]),(?=[0-9])")
_POINT: Final = re.compile(r"[0-9]\.[0-9]")
_SAYS_SEPARATOR: Final = re.compile(r"sep=.")
"""A first line that some spreadsheets write for themselves."""
Row = tuple[int, list[str]]


class Table:
    """The rows of a log below its header.

    columns: name of each known column -> where it stands; ignored: headers of the cook's own columns
    """

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        first, end, rest = text.partition("\n")
        if _SAYS_SEPARATOR.fullmatch(first.strip("\r").casefold()):
            text = end + rest  # its line still counts
        self.separator = separator_of(text)
        self._rows = self._split(text)
        line, header = next(self._rows, (0, []))
        if not header:
            raise InputError("the header is missing", HEADER_EXAMPLE, Place(file, 1))
        self.columns, self.ignored = _columns(header, file, line)
        self.width = len(header)

    def rows(self) -> Iterator[Row]:
        """Line and cells of each row that is not blank, as many cells as the header has.

        Raises InputError: a row that is longer, or cannot be split (file and line).
        """
        for line, row in self._rows:
            cells = row
            while len(cells) > self.width and not cells[-1]:
                cells = cells[:-1]
            if len(cells) > self.width:
                raise InputError(
                    f"the row has {len(cells)} cells under a header of {self.width}",
                    "Put a text that has a comma in it between double quotes",
                    Place(self.file, line),
                )
            yield line, cells

    def _split(self, text: str) -> Iterator[Row]:
        lines = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=self.separator)
        before = 0
        try:
            for cells in lines:
                line, before = before + 1, lines.line_num
                row = [unguarded(cell.strip()) for cell in cells]
                if any(row):
                    yield line, row
        except csv.Error as error:
            raise InputError(
                f"the row cannot be split into columns ({error})",
                "Close every double quote",
                Place(self.file, before + 1),
            ) from None


def separator_of(text: str) -> str:
    """What stands between the cells: that by which the header has the most columns that are known."""
    for line in text.split("\n", 40)[:40]:
        if not line.strip():
            continue
        known = {s: len({c.strip().strip('"').casefold() for c in line.split(s)} & set(REQUIRED)) for s in SEPARATORS}
        return max(SEPARATORS, key=lambda separator: known[separator])
    return SEPARATORS[0]


def _columns(cells: Sequence[str], file: str, line: int) -> tuple[dict[str, int], list[str]]:
    names = [cell.strip().casefold() for cell in cells]
    if not set(names) & set(REQUIRED):
        raise InputError("the header is missing", f"{HEADER_EXAMPLE} (commas between)", Place(file, line))
    columns, ignored = dict[str, int](), list[str]()
    for at, name in enumerate(names):
        if name in columns:
            raise InputError(f"two columns are headed '{name}'", "Delete one", Place(file, line, name))
        if name in REQUIRED + OPTIONAL:
            columns[name] = at
        elif name:
            _refuse_slip(cells[at], name, set(names), Place(file, line, name[:40]))
            ignored.append(cells[at])
    for name in REQUIRED:
        if name not in names:
            raise InputError(f"the column '{name}' is missing", HEADER_EXAMPLE, Place(file, line, name))
    return columns, ignored


def _refuse_slip(header: str, name: str, there: set[str], place: Place) -> None:
    """A column of the cook's own is left alone; one that is nearly called like one that is missing is a slip."""
    missing = tuple(each for each in REQUIRED + OPTIONAL if each not in there)
    remedy = did_you_mean(name, missing, "Use only") if missing else ""
    if any(f"'{each}'" in remedy and plain(each)[:1] == plain(name)[:1] for each in missing):
        raise InputError(f"{shown(header)} is no column that we know", remedy, place)


def decimal_points(values: Sequence[str], separator: str, file: str) -> Callable[[str], str]:
    """What makes points of decimal commas; nothing where there are none, or where commas part the cells.

    Raises InputError: some numbers have a comma and some a point.
    """
    if separator == "," or not any(_COMMA.search(value) for value in values):
        return str
    if any(_POINT.search(value) for value in values):
        raise InputError(
            "some numbers have a decimal comma and some a point", "Write all of them the same way", Place(file)
        )
    return lambda value: _COMMA.sub(".", value)


def year_first(times: Sequence[str], cook: Cook, dates: Dates | None, file: str) -> Callable[[str], str]:
    """What writes a local date year first; nothing where all of them are.

    dates: what the cook has said of them

    Raises InputError: they are no days. UnsureError: it has to be asked which part is the day.
    """
    local = [found[1] for time in times if (found := MOMENT.fullmatch(time)) and not _is_plain(time)]
    if not local:
        return str
    try:
        same = all(day_of(day, "day first") == day_of(day, "month first") for day in local)  # 10/10: and no row follows
        order = dates or ("day first" if same and day_of(local[0], "day first") else order_of(local, cook))
    except InputError as fault:
        raise fault.at(file=file, field="time") from None

    def written(time: str) -> str:
        found = MOMENT.fullmatch(time)
        if found is None or _is_plain(time):
            return time
        day = day_of(found[1], order)
        if day is None:
            raise InputError(f"{shown(found[1])} is no day", f"Write it {order}, as the other rows")
        clock = parse_clock(found[2].replace(",", "."))
        return f"{day.isoformat()} {clock.isoformat()}{found[3] or ''}"

    return written


def _is_plain(time: str) -> bool:
    return time[4:5] == "-" and time[7:8] == "-"


def with_day(date: str, time: str) -> str:
    """Day and clock time of two columns as one; a day alone says nothing."""
    return f"{date} {time}" if date and DATE.fullmatch(date) and time else time
