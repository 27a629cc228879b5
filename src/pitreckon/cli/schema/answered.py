"""The answer of ``pitreckon card take-in``."""

from pydantic import Field

from pitreckon.cli.schema.part import Part
from pitreckon.lessons.answers.kept import KeptCardDocument


class RangeAnswer(Part):
    """A share, and between what it lies nine times in ten."""

    middle: float
    low: float
    high: float


class CostAnswer(RangeAnswer):
    """What share more would get the plate if a line was ended when it is really there."""

    line: int


class RefusedAnswer(Part):
    """What was thrown out."""

    file: str
    line: int | None
    why: str


class WhomAnswer(Part):
    """Readers who have something in common."""

    what: str = Field(description="pit, altitude or thickness")
    key: str = Field(description="kind of pit; low, middle or high; thinner, usual or thicker")
    answers: int
    got: int
    share: RangeAnswer
    cost: RangeAnswer | None = Field(description="what the weak line costs them; null: there is none")


class LineTimesAnswer(Part):
    """How long a line takes."""

    from_s: float
    middle_s: float
    to_s: float


class AnswersAnswer(Part):
    """``pitreckon card take-in``."""

    code: str
    title: str
    files: int
    answers: int = Field(description="that can be")
    refused: list[RefusedAnswer]
    promised: float = Field(description="share of readers who get the plate, as the card had it [-]")
    got: RangeAnswer = Field(description="of the answers")
    share: RangeAnswer = Field(description="of all readers of the card")
    weak_line: int | None = Field(description="from 1; null: no line costs much")
    costs: list[CostAnswer]
    whom: list[WhomAnswer]
    change: str | None = Field(description="what was changed of its lines; null: only the times")
    others: list[str]
    card: KeptCardDocument = Field(description="the changed card")
    by_pit: dict[str, list[LineTimesAnswer]]
    notes: list[str]
    seed: int
    written: str | None = Field(description="the file that it was written to")
