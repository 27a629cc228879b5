"""What a study answers."""

from pydantic import Field

from pitreckon.cli.schema.part import Part, Spread


class KeptAnswer(Spread):
    """Of one thing that was kept."""

    column: str = Field(description="of the results, its unit at its end: `_s` is seconds since put-on")
    yes: bool = Field(description="it is a yes or a no: reached is the share of yes, and so are the quantiles")
    reached: float = Field(description="share of the pieces that got there")


class GroupAnswer(Part):
    """Pieces of settings that have something in common."""

    setting: str | None = Field(description="column of the results (case: one setting by itself); null: all pieces")
    low: float | str | None = Field(description="its value in the column's unit, or the least of what was drawn")
    high: float | str | None = Field(description="the same, or the most of what was drawn")
    settings: int
    kept: list[KeptAnswer]


class StudyAnswer(Part):
    """``pitreckon study``."""

    name: str
    item: str
    settings: int
    members: int = Field(description="simulated pieces of each setting")
    folder: str
    results: str = Field(description="Parquet file, a row for each simulated piece")
    of_settings: str = Field(description="Parquet file, a row for each setting")
    pictures: list[str]
    went_on: int = Field(description="chunks that an earlier run had finished")
    made: int = Field(description="chunks that this run made")
    groups: list[GroupAnswer]
