"""Answers about what went wrong and what is left over."""

from datetime import datetime

from pydantic import Field

from pitreckon.cli.schema.part import Part, Spread


class CauseAnswer(Part):
    """A cause."""

    key: str
    words: str
    chance: float = Field(description="of all causes [-]")
    without_photo: float | None = Field(default=None, description="as if no colour had been measured [-]")


class TriedAnswer(Part):
    """A change that was tried."""

    key: str
    words: str
    again: float = Field(description="chance of the same fault again [-]")
    other: float = Field(description="chance of another fault [-]")
    helps: bool


class WhyAnswer(Part):
    """``pitreckon why``."""

    came_out: list[str]
    causes: list[CauseAnswer]
    again: float = Field(description="chance of the same fault again with nothing changed [-]")
    change: str | None = Field(description="key of the one to try; null: none helps by much")
    changes: list[TriedAnswer]
    cautions: list[str]


class LimitAnswer(Part):
    """Whose limit."""

    name: str
    source: str
    status: str


class GrowthAnswer(Part):
    """Growth in powers of ten; an advice that overrules no limit."""

    p50: float | None
    p95_worst: float | None
    worst: float | None
    known: float | None
    words: str
    advice_only: bool


class WayAnswer(Part):
    """One way to cool."""

    way: str
    form: str
    place: str
    depth_m: float | None
    likely: bool
    makes_both: float
    makes_70_f: float
    makes_plants: float
    to_70_f_s: Spread = Field(description="from 135 °F (57 °C) on [s]")
    to_41_f_s: Spread
    perfringens_log10: GrowthAnswer
    ice_kg: float | None


class GrowthOfAnswer(Part):
    """What the growth is of."""

    of: str
    source: str
    holds_for: str


class CoolAnswer(Part):
    """``pitreckon cool``."""

    limit: LimitAnswer
    also: LimitAnswer
    ways: list[WayAnswer] = Field(description="the least work first")
    growth: GrowthOfAnswer
    notes: list[str]


class AgainstStageAnswer(Part):
    """A stage of a run, by the time since put-on."""

    do: str
    from_min: float
    until_min: float


class RunAnswer(Part):
    """One of the two."""

    cook: str
    item: str
    cut: str
    put_on: datetime
    on_the_pit_min: float
    pit_c: float
    stages: list[AgainstStageAnswer]


class WorthAnswer(Part):
    """A difference and what it was worth; null where too few of the simulated got there."""

    key: str
    what: str
    minutes: float | None = Field(description="longer on the pit, likeliest")
    p05: float | None
    p95: float | None


class AgainstAnswer(Part):
    """``pitreckon against``."""

    this: RunAnswer
    last: RunAnswer
    longer_min: float = Field(description="this time on the pit beyond last time")
    differences: list[WorthAnswer] = Field(description="each by itself, the largest first")
    together: WorthAnswer | None
    rest_min: float = Field(description="what the differences leave")
    caution: str


class SpreadAnswer(Part):
    """Of the simulated pieces; null: too few of them got there."""

    p05: float | None
    p50: float | None
    p95: float | None


class BandAnswer(Part):
    """A curve with its band, a value at each of ``minutes``."""

    p05: list[float | None]
    p50: list[float | None]
    p95: list[float | None]


class ExplainStageAnswer(Part):
    """A stage."""

    do: str
    wrap: str | None
    from_min: float
    until_min: float


class EventAnswer(Part):
    """What was done or seen."""

    min: float
    what: str
    value: str


class MomentAnswer(Part):
    """The piece at a moment; coldest and hottest of the section's cells, in the middle member."""

    name: str
    min: float
    core_c: SpreadAnswer
    surface_c: SpreadAnswer
    water_lost: SpreadAnswer
    collagen_turned: SpreadAnswer
    coldest_c: float | None
    hottest_c: float | None


class OtherwiseAnswer(Part):
    """One thing otherwise, against all as it was."""

    key: str
    what: str
    minutes: SpreadAnswer = Field(description="longer on the pit")
    water_lost: SpreadAnswer = Field(description="more of the raw weight")
    colour_level: SpreadAnswer = Field(description="further on the colour scale")


class ExplainAnswer(Part):
    """``pitreckon explain``."""

    cook: str
    item: str
    cut: str
    piece: int | None = Field(description="whose story it is; null: that of all pieces")
    put_on: datetime
    on_the_pit_min: float
    end_min: float = Field(description="eaten, or its course was over")
    stages: list[ExplainStageAnswer]
    events: list[EventAnswer]
    minutes: list[float] = Field(description="of the curves, since put-on")
    curves: dict[str, BandAnswer]
    moments: list[MomentAnswer]
    otherwise: list[OtherwiseAnswer]
    caution: str
    written: str | None


class LookAnswer(Part):
    """``pitreckon look``. item, recorded, forecast: only where a cook was named"""

    step: str = Field(description="word of the colour scale")
    level: float = Field(description="on the colour scale [-]")
    sd: float
    set_chance: float
    dark_chance: float
    lab: list[float] = Field(description="CIELAB")
    lab_sd: list[float]
    places: list[list[float]]
    left_out: list[int] = Field(description="numbers of the places in glare or shade")
    item: str | None = None
    recorded: bool | None = Field(default=None, description="null: it was recorded before, or no cook was named")
    forecast: list[str] = Field(default=[], description="how it moves the forecast, in sentences")
    tapped: str = Field(default="", description="what somebody tapped of it at about that time")
