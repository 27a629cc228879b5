"""Answers about what is ahead: a plan, what could be done, what to be told."""

from datetime import datetime

from pydantic import Field

from pitreckon.cli.schema.part import Moments, Part, Spread


class PlannedPitAnswer(Part):
    """One pit of a planned day."""

    pit: str
    set_c: float = Field(description="[°C]")
    lit_utc: datetime | None
    off_utc: datetime
    fuel_kg: float = Field(description="[kg]")


class ReadyAnswer(Part):
    """When it is ready: 5, 50 and 95 %."""

    p05: datetime
    p50: datetime
    p95: datetime


class PlannedItemAnswer(Part):
    """One item of a planned day."""

    item: str
    cut: str
    pieces: int
    mass_kg: float = Field(description="of one piece [kg]")
    pit: str
    wrapped: bool
    put_on_utc: datetime
    ready_utc: ReadyAnswer
    hold_s: float = Field(description="planned [s]")
    held_s: float = Field(description="at the middle of what is foreseen [s]")
    hold_c: float = Field(description="[°C]")
    chance: float = Field(description="ready, done and still good when it is served [-]")


class CallAnswer(Part):
    """One thing to do."""

    on: str
    act: str
    note: str


class PlannedTripAnswer(Part):
    """One walk to the pit."""

    at_utc: datetime
    acts: list[CallAnswer]


class AloneAnswer(Part):
    """A fire that nobody is with."""

    pit: str
    from_utc: datetime
    until_utc: datetime
    words: str
    counts_on: str = Field(description="what the chance counts on, where its fuel does not last so long")


class ScheduleAnswer(Part):
    """The day."""

    chance: float = Field(description="that all of it is ready to serve together [-]")
    fuel_kg: float = Field(description="[kg]")
    pits: list[PlannedPitAnswer]
    items: list[PlannedItemAnswer]
    trips: list[PlannedTripAnswer]
    alone: list[AloneAnswer]
    notes: list[str]


class ChangeAnswer(Part):
    """A change that was tried. does: it makes the day possible; chance: then [-]"""

    what: str
    does: bool
    chance: float | None


class SolvingAnswer(Part):
    """How the choice was made."""

    status: str
    gap: float | None
    scenarios: int


class PlanAnswer(Part):
    """``pitreckon plan``."""

    name: str
    serve_utc: datetime
    asked: float = Field(description="the chance that was asked for [-]")
    possible: bool = Field(description="as it was asked")
    schedule: ScheduleAnswer | None = Field(description="as asked, or the nearest that can be done")
    why_not: list[str]
    changes: list[ChangeAnswer]
    timed_out: bool
    written: str | None = Field(description="the file that the cook was written to")
    notes: list[str]
    solving: SolvingAnswer
    caution: str


class ActAnswer(Part):
    """What it would add to the ledger."""

    at: datetime
    on: str
    act: str
    detail: str
    air_c: float | None = Field(description="[°C]")


class ItemThenAnswer(Part):
    """One item if it were done."""

    item: str
    ready: Moments
    on_time: float | None = Field(description="chance of being ready, done and still good when it is served [-]")
    done: float = Field(description="chance that it is done then [-]")
    colour: Spread
    loss_fraction: Spread = Field(description="of its weight, as water [-]")


class TogetherAnswer(Part):
    """When all of it is ready, the last piece too, with so much chance; null: never so likely, or not to be told."""

    p05: datetime | None
    p50: datetime | None
    p95: datetime | None


class OptionAnswer(Part):
    """One thing that could be done now."""

    what: str
    on: str
    acts: list[ActAnswer]
    on_time: float | None = Field(description="chance for all items together [-]")
    fuel_kg: float | None = Field(description="from now on [kg]; null: not weighed")
    moved_s: float = Field(description="of the median of ready, later positive [s]")
    helps: bool = Field(description="it makes all of supper surer, or sooner where it is likelier late than not")
    all_ready: TogetherAnswer = Field(description="null where something comes off before it is done")
    how: str
    brings: list[str]
    costs: list[str]
    items: list[ItemThenAnswer]


class SupposeAnswer(Part):
    """``pitreckon suppose``."""

    cook: str
    now: datetime
    members: int
    seed: int
    options: list[OptionAnswer] = Field(description="the best first")
    all_ready: TogetherAnswer = Field(description="if it is left as it is")
    caution: str


class AlertAnswer(Part):
    """One message."""

    kind: str
    on: str
    title: str
    text: str
    at: datetime
    keys: list[str] = Field(description="one for each occasion that it tells of")


class AlertsAnswer(Part):
    """``pitreckon alerts``."""

    cook: str
    now: datetime
    alerts: list[AlertAnswer]
    sent: int | None = Field(description="how many went out; null: none was to be sent")
