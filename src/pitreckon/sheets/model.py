"""What a sheet is made of, without any presentation: a title and blocks in their order.

Instants stay UTC and are said by the sheet's ``Reader``; every other number is already text, written with
:mod:`pitreckon.units`. Each writer shows every block; what it cannot draw it says in words.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Final, Literal, TypeVar, cast

from pitreckon.sheets.reader import Reader
from pitreckon.text.said import said
from pitreckon.units import seconds_between

T = TypeVar("T")

KINDS: Final = ("trip", "job", "serve")
UNTOLD: Final = {"key", "kind", "weight", "align", "svg"}
"""Parts that name something for programs, in no language."""
TELLING_S: Final = 180.0
"""A shorter window round a time is no news to somebody at a pit."""
Align = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading. level: 2 for a part of the sheet, 3 for a part of that."""

    text: str
    level: Literal[2, 3] = 2


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph. weight: lead is read first, fine may be small."""

    text: str
    weight: Literal["lead", "plain", "fine"] = "plain"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do on a row of a timetable.

    what: to what; do: what is done; look_for: what has to be seen or felt first, "" for nothing
    sure: how sure that is by the row's time, and when to look again; note: anything else
    """

    what: str
    do: str
    look_for: str = ""
    sure: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a timetable: a walk to the pit, a job elsewhere, the serving.

    key: names it within its sheet, the same when its time moves
    at_utc: the best time; from_utc, until_utc: those round it that are about as good
    where: the place, "" for none; hands: how many it takes, None: not said
    free_until_utc: nothing is to be done from this row until then; None: not worth saying
    """

    key: str
    at_utc: datetime
    from_utc: datetime
    until_utc: datetime
    steps: tuple[Step, ...]
    where: str = ""
    kind: str = "trip"
    hands: int | None = None
    free_until_utc: datetime | None = None

    def __post_init__(self) -> None:
        for at in (self.from_utc, self.at_utc, self.until_utc, self.free_until_utc):
            if at is not None and (at.utcoffset() is None or at.utcoffset()):
                raise ValueError(f"row {self.key}: {at} is not in UTC")
        if not self.from_utc <= self.at_utc <= self.until_utc:
            raise ValueError(f"row {self.key}: its times are not in order")
        if not self.steps or self.kind not in KINDS:
            raise ValueError(f"row {self.key}: nothing to do, or {self.kind} is no kind of row")

    @property
    def lasts_s(self) -> float:
        """From its first time to its last [s]."""
        return seconds_between(self.from_utc, self.until_utc)


@dataclass(frozen=True, slots=True)
class Timetable:
    """What is to be done when. write: what the cook fills in beside each row."""

    rows: tuple[Row, ...]
    write: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if any(later.from_utc < earlier.from_utc for earlier, later in pairwise(self.rows)):
            raise ValueError("the rows of a timetable are not in order of time")
        if len({row.key for row in self.rows}) < len(self.rows):
            raise ValueError("two rows of a timetable have one key")


@dataclass(frozen=True, slots=True)
class Table:
    """A plain table. align: of each column; empty: all to the left."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: tuple[Align, ...] = ()

    def __post_init__(self) -> None:
        if any(len(row) != len(self.head) for row in self.rows) or len(self.align) not in {0, len(self.head)}:
            raise ValueError(f"a row of the table {self.head} has too few or too many cells")

    @property
    def aligned(self) -> tuple[Align, ...]:
        """The alignment of every column."""
        return self.align or tuple("left" for _ in self.head)


@dataclass(frozen=True, slots=True)
class Line:
    """Something with an amount and the reason for it: to buy, to burn, to find room for."""

    what: str
    amount: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Checklist:
    """Lines to tick off, in no order of time."""

    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt, and what to do about it. title: of what; texts: whole sentences."""

    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """A name with its figure."""

    name: str
    value: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class KeyFigures:
    """The few figures that matter most."""

    figures: tuple[KeyFigure, ...]


@dataclass(frozen=True, slots=True)
class Blank:
    """A table to fill in by hand, so many empty rows of it; left out where nobody can write."""

    title: str
    head: tuple[str, ...]
    lines: int = 5


@dataclass(frozen=True, slots=True)
class Stage:
    """One line of a recipe. do: what is done; look_for: what to go on until, "" where only time tells

    takes: how long it takes, in words; note: anything else
    """

    do: str
    look_for: str
    takes: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Stages:
    """What is done one after the other, without clock times."""

    stages: tuple[Stage, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing. svg: one element, whose words are in the reader's language already; said: what it shows, in words"""

    svg: str
    said: str


Block = Heading | Text | Timetable | Table | Checklist | Caution | KeyFigures | Blank | Stages | Picture


@dataclass(frozen=True, slots=True)
class Sheet:
    """One document.

    name: of the occasion, the same in every edition of the sheet
    made_utc: when this edition was made; foot: what stands on every page
    """

    title: str
    subtitle: str
    blocks: tuple[Block, ...]
    reader: Reader
    name: str
    made_utc: datetime
    foot: str = ""

    def rows(self) -> Iterator[Row]:
        """Every row of its timetables, in order."""
        for block in self.blocks:
            if isinstance(block, Timetable):
                yield from block.rows


def told_to(sheet: Sheet) -> Sheet:
    """The sheet with all its texts in its reader's language."""
    return _told(sheet, sheet.reader) if sheet.reader.retells else sheet


def _told(thing: T, reader: Reader) -> T:
    if isinstance(thing, str):
        return cast("T", reader.told(thing))
    if isinstance(thing, tuple):
        return cast("T", tuple(_told(each, reader) for each in thing))
    if is_dataclass(thing) and not isinstance(thing, Reader | type):
        own = UNTOLD | ({"name"} if isinstance(thing, Sheet) else set())
        found = {x.name: _told(getattr(thing, x.name), reader) for x in fields(thing) if x.name not in own}
        return cast("T", replace(thing, **found))
    return thing


def row_times(row: Row, reader: Reader) -> tuple[str, str]:
    """The best time of a row, and the window round it ("" when that is too short to tell from it)."""
    return reader.clock(row.at_utc), "" if row.lasts_s < TELLING_S else reader.window(row.from_utc, row.until_utc)


def by_day(rows: tuple[Row, ...], reader: Reader) -> Iterator[tuple[str, tuple[Row, ...]]]:
    """The rows day by day of the reader's zone, by their best times, with the day's name."""
    day: str | None = None
    group: list[Row] = []
    for row in rows:
        its = reader.day(row.at_utc)
        if its != day and day is not None:
            yield day, tuple(group)
            group = []
        day = its
        group.append(row)
    if day is not None:
        yield day, tuple(group)


def free_words(row: Row, reader: Reader) -> str:
    """``then nothing until 15:20`` for a row that leaves the cook free, else ""."""
    if row.free_until_utc is None:
        return ""
    return reader.told(said("then free until {at}", at=reader.clock(row.free_until_utc, seen_from=row.at_utc)))


def hands_words(row: Row, reader: Reader) -> str:
    """``2 pairs of hands`` where more than one is needed, else ""."""
    return reader.told(said("{n} pairs of hands", n=row.hands)) if row.hands is not None and row.hands > 1 else ""
