"""Answers that are papers too: a sheet, a recipe card, a safety record."""

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import Field

from pitreckon.cli.schema.part import Part
from pitreckon.lessons.answers.kept import KeptCardDocument


class StepAnswer(Part):
    """One thing to do."""

    what: str
    do: str
    look_for: str
    sure: str
    note: str


class RowAnswer(Part):
    """One row of a timetable."""

    key: str
    at_utc: datetime
    from_utc: datetime
    until_utc: datetime
    steps: list[StepAnswer]
    where: str
    kind: str
    hands: int | None
    free_until_utc: datetime | None


class LineAnswer(Part):
    """Something with its amount and why."""

    what: str
    amount: str
    why: str


class FigureAnswer(Part):
    """A name with its figure."""

    name: str
    value: str
    note: str


class SheetStageAnswer(Part):
    """One line of a recipe."""

    do: str
    look_for: str
    takes: str
    note: str


class HeadingAnswer(Part):
    """A heading."""

    block: Literal["heading"]
    text: str
    level: int


class TextAnswer(Part):
    """A paragraph."""

    block: Literal["text"]
    text: str
    weight: str


class TimetableAnswer(Part):
    """What is to be done when."""

    block: Literal["timetable"]
    rows: list[RowAnswer]
    write: list[str]


class TableAnswer(Part):
    """A plain table."""

    block: Literal["table"]
    head: list[str]
    rows: list[list[str]]
    align: list[str]


class ChecklistAnswer(Part):
    """Lines to tick off."""

    block: Literal["checklist"]
    lines: list[LineAnswer]


class CautionAnswer(Part):
    """What can hurt."""

    block: Literal["caution"]
    title: str
    texts: list[str]


class KeyFiguresAnswer(Part):
    """The few figures that matter most."""

    block: Literal["keyfigures"]
    figures: list[FigureAnswer]


class BlankAnswer(Part):
    """A table to fill in by hand."""

    block: Literal["blank"]
    title: str
    head: list[str]
    lines: int


class StagesAnswer(Part):
    """What is done one after the other."""

    block: Literal["stages"]
    stages: list[SheetStageAnswer]


Block = Annotated[
    HeadingAnswer
    | TextAnswer
    | TimetableAnswer
    | TableAnswer
    | ChecklistAnswer
    | CautionAnswer
    | KeyFiguresAnswer
    | BlankAnswer
    | StagesAnswer,
    Field(discriminator="block"),
]


class SheetAnswer(Part):
    """``pitreckon sheet``: the sheet as it is printed, block by block, its texts in the degrees that were asked for."""

    title: str
    subtitle: str
    name: str
    zone: str
    made_utc: datetime
    foot: str
    blocks: list[Block]
    written: str | None = Field(description="the file that it was written to")


class CardLineAnswer(Part):
    """One stage of a card."""

    do: str
    wrap: str | None
    until: str | None
    value: float | None
    by_clock: bool
    from_s: float | None
    middle_s: float | None
    to_s: float | None
    took_s: float | None


class ShareAnswer(Part):
    """A share of so many."""

    share: float
    of: int


class CardChangeAnswer(Part):
    """A change to the script that was tried."""

    key: str
    line: int | None
    words: str
    share: float
    gain: float


class CardRowAnswer(Part):
    """The times where something is otherwise."""

    otherwise: str
    value: float
    line_s: list[float | None]
    total_s: list[float | None]


class SinceAnswer(Part):
    """What was otherwise from one time to the next."""

    cook: str
    put_on: datetime
    otherwise: list[str]
    on_the_pit_s: float
    before_s: float


class CookedAnswer(Part):
    """How often the cut was cooked, and what was otherwise from time to time."""

    times: int
    changes: list[SinceAnswer]


class CardAnswer(Part):
    """``pitreckon card``."""

    title: str
    cook: str
    item: str
    cut: str
    pieces: int
    piece_kg: float
    serves: int
    set_c: float
    set_by: str
    lines: list[CardLineAnswer]
    readers: int
    simulated: int
    cooked: CookedAnswer | None = Field(description="null: nothing is known of earlier times")
    how_it_was: list[str] = Field(description="in the words of those who ate")
    seed: int
    right: float = Field(description="share of readers who get this plate [-]")
    error: float
    faults: dict[str, float]
    by_pit: dict[str, ShareAnswer]
    change: str | None
    changes: list[CardChangeAnswer]
    table: list[CardRowAnswer]
    heads: list[str]
    begin_s: float
    notes: list[str]
    card: KeptCardDocument = Field(description="the card as its readers' answers are taken in with it")
    jsonld: dict[str, Any] = Field(description="a schema.org Recipe")
    written: str | None = Field(description="the file that it was written to")


class RecordAnswer(Part):
    """``pitreckon record``: the record as its .json file has it, which is what its seal and its signature are of."""

    record: dict[str, Any]
    written: str | None = Field(description="the file that it was written to")


class DifferenceAnswer(Part):
    """What differs. fault: it speaks against the record"""

    fault: bool
    words: str


class RecordCheckAnswer(Part):
    """``pitreckon record`` with ``--check``."""

    holds: bool
    found: list[DifferenceAnswer]
    signer: str | None = Field(description="the key of the house that signed it, in short")
