"""An outlook as one JSON object; ``docs/reference/outlook-json.md`` is generated from it."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Annotated, Any

from pydantic import (
    AliasChoices,
    AliasGenerator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    model_validator,
)

from pitreckon.reckon.outlook import ItemOutlook, Outlook
from pitreckon.reckon.quantiles import LEVEL_NAMES, Quantiles

OF = {
    "item": "label",
    "no_sooner_than": "from_utc",
    "no_later_than": "by_utc",
    "be_back_by": "be_back_utc",
    "effective": "ess",
    "tempered": "tempering_exponent",
}
"""Fields whose value has another name in the outlook; a unit at the end of a name is no other name."""


def _read_from(field: str) -> AliasChoices:
    return AliasChoices(field, f"{field}_s", f"{field}_utc", OF.get(field, field))


class _Part(BaseModel):
    """Made of a record by its attributes, or read back from JSON."""

    model_config = ConfigDict(frozen=True, extra="forbid", alias_generator=AliasGenerator(validation_alias=_read_from))


def _number(value: float | None, places: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, places)


def _milliseconds(at: datetime | str | None) -> datetime | str | None:
    return at.replace(microsecond=at.microsecond // 1000 * 1000) if isinstance(at, datetime) else at


def _quantiles(value: object, places: int) -> object:
    if not isinstance(value, Quantiles):
        return value
    return {name: _number(getattr(value, name), places) for name in LEVEL_NAMES}


Share = Annotated[float, BeforeValidator(partial(_number, places=4))]
Count = Annotated[float, BeforeValidator(partial(_number, places=1))]
Instant = Annotated[datetime, BeforeValidator(_milliseconds)]


class TimeDocument(_Part):
    """A moment with its spread. A quantile that lies beyond the horizon is null."""

    p05_s: float | None = Field(description="5 % quantile [s since put-on]")
    p50_s: float | None = Field(description="median [s since put-on]")
    p95_s: float | None = Field(description="95 % quantile [s since put-on]")
    p05: datetime | None = Field(description="5 % quantile as an ISO 8601 instant, UTC")
    p50: datetime | None = Field(description="median as an ISO 8601 instant, UTC")
    p95: datetime | None = Field(description="95 % quantile as an ISO 8601 instant, UTC")
    reached: Share = Field(description="share of the members that get there at all, 0 to 1")

    @model_validator(mode="before")
    @classmethod
    def _of_quantiles(cls, value: object, info: ValidationInfo) -> object:
        """Of an item's quantiles [s], whose zero is the context."""
        if not isinstance(value, Quantiles) or info.context is None:
            return value
        seconds = {name: _number(getattr(value, name), 1) for name in LEVEL_NAMES}
        at = {name: None if s is None else info.context + timedelta(seconds=s) for name, s in seconds.items()}
        return {**{f"{name}_s": s for name, s in seconds.items()}, **at, "reached": value.reached}


class NumberDocument(_Part):
    """A number with its spread."""

    p05: float | None = Field(description="5 % quantile; null where nothing is known")
    p50: float | None = Field(description="median; null where nothing is known")
    p95: float | None = Field(description="95 % quantile; null where nothing is known")


TwoPlaces = Annotated[NumberDocument, BeforeValidator(partial(_quantiles, places=2))]
ThreePlaces = Annotated[NumberDocument, BeforeValidator(partial(_quantiles, places=3))]
FourPlaces = Annotated[NumberDocument, BeforeValidator(partial(_quantiles, places=4))]


class StageDocument(_Part):
    """One stage of an item's course."""

    kind: str = Field(description="open, wrapped, sauced, rest or hold")
    until: str = Field(description="what ends it, in words")
    wrap: str | None = Field(description="key of the wrap on the piece")
    begins: TimeDocument = Field(description="when it begins")
    ends: TimeDocument = Field(description="when it ends")
    done: bool = Field(description="the ledger says that it is over")
    now: Share = Field(description="chance that the item is in this stage now, 0 to 1")


class MarksDocument(_Part):
    """The moments that matter."""

    colour_set: TimeDocument = Field(description="the colour is set")
    tender: TimeDocument = Field(
        description="the probe slides in; for cuts done by temperature (poultry, loin), their core is done"
    )
    glaze_set: TimeDocument = Field(description="the glaze has set")
    ready: TimeDocument = Field(description="the course is through, holds apart: it can be served")
    past_best: TimeDocument = Field(description="too soft, too dark, or cooled below 60 degC (140 degF) while standing")


class WindowDocument(_Part):
    """When an act on an item can be done, and when it is too late for it."""

    act: str = Field(description="put on, wrap, unwrap, sauce, put back, take off or hold")
    wrap: str | None = Field(description="key of the wrap that comes on the piece, for wrap")
    until: str = Field(description="what to wait for, in words; empty for put on")
    opens: TimeDocument = Field(description="from when it can be done")
    closes: TimeDocument = Field(description="from when it is too late, at the rates before it opened")
    closes_by: str = Field(description="what makes it too late; empty when nothing does")
    open_now: Share = Field(description="chance that it can be done by now, too late or not, 0 to 1")
    too_late_now: Share = Field(description="chance that it is too late by now, 0 to 1")


class TaskDocument(_Part):
    """One thing to do on a trip, to all pieces of an item or to a pit."""

    item: str = Field(description="the cook's name for the item, or for the pit whose fire it is done to")
    pieces: int = Field(description="how many")
    act: str = Field(description="as of its window; of a fire: light, feed, water, ash or shut down")
    wrap: str | None = Field(description="key of the wrap that comes on the piece, for wrap")
    pit: str | None = Field(description="whose lid has to be opened; null: none")
    until: str = Field(description="what to wait for, in words; empty for put on and for a fire")
    open: Share = Field(description="chance that it can be done at the trip's time, 0 to 1")
    again: Instant | None = Field(description="when to come again if it cannot; null: it almost surely can")
    planned: Instant | None = Field(description="when the plan has it; null: it does not say")
    note: str = Field(description="how it is done, in words; empty where that goes without saying")
    every_s: float | None = Field(description="how often it is done again, until then [s]; null: once")


class TripDocument(_Part):
    """One walk to the pit, with everything to be done on it."""

    at: Instant = Field(description="its one time, the same on every page and sheet")
    no_sooner_than: Instant = Field(description="from when a look is worth it")
    no_later_than: Instant = Field(description="last time after it that is about as good")
    tasks: list[TaskDocument] = Field(description="what to do")


class NextLookDocument(_Part):
    """What a look, or two, at an item would buy."""

    kinds: list[str] = Field(description="kinds of looks, all at each time")
    at: list[Instant] = Field(description="when: one time or two, ISO 8601, UTC")
    width_s: Count = Field(description="5 to 95 % of the running stage's end as it is known now [s]")
    after_s: Count = Field(description="the same, expected once the looks are told [s]")


class ItemDocument(_Part):
    """One item: where it is and where it is heading."""

    item: str = Field(description="the cook's name for it")
    cut: str = Field(description="catalog key")
    pieces: int = Field(description="how many")
    put_on: datetime = Field(description="zero of its seconds, ISO 8601, UTC")
    put_on_planned: bool = Field(description="true: no ledger says that it is on yet")
    stages: list[StageDocument] = Field(description="its course")
    windows: list[WindowDocument] = Field(description="of the acts to come, in their order")
    next_look: NextLookDocument | None = Field(
        default=None, description="the look that would narrow its next window most; null: none buys a tenth"
    )
    marks: MarksDocument = Field(description="marks with their spread")
    core_c: TwoPlaces = Field(description="temperature now where a cook puts the probe [degC]")
    loss_fraction: FourPlaces = Field(description="water lost by now, share of the raw weight, 0 to 1")
    colour: ThreePlaces = Field(description="colour by now on the colour scale: 0 raw, 1 set, 1.3 too dark")
    pit_c: TwoPlaces = Field(description="air at the grate now [degC]")
    grate_k: TwoPlaces = Field(description="how far the air round the piece lies over the pit's readout [K]")
    first_ready: TimeDocument = Field(description="the first of its pieces is ready")
    last_ready: TimeDocument = Field(description="the last of its pieces is ready")
    on_time: Share | None = Field(description="chance to be ready and not past its best at serving, 0 to 1")
    ready_by: Share | None = Field(description="chance that all its pieces are ready by serving, 0 to 1")
    at_best: Share | None = Field(description="chance that it is not past its best at serving, 0 to 1")
    spoils_by: str = Field(description="what likeliest makes it past its best by then; empty when nothing does")
    served: Instant | None = Field(description="when it was served, as recorded; null: it is not")
    least_core: Share = Field(
        description="share of the members whose core reaches the official minimum temperature before ready"
    )
    effective: Count = Field(description="members that still count after looks and probe readings")
    tempered: Share = Field(description="share of the evidence's force that was used; below 1 it disagreed")
    notes: list[str] = Field(description="what the cook should know")


def _items(items: Sequence[Any]) -> list[Any]:
    """Each with its own zero; what is read back is an item already."""
    if not all(isinstance(item, ItemOutlook) for item in items):
        return list(items)
    return [ItemDocument.model_validate(item, from_attributes=True, context=item.put_on_utc) for item in items]


Items = Annotated[list[ItemDocument], BeforeValidator(_items)]


class OutlookDocument(_Part):
    """One outlook: everything reckoned at one moment."""

    cook: str = Field(description="name of the cook")
    zone: str = Field(description="IANA zone of its clock times")
    now: datetime = Field(description="the moment of the outlook, ISO 8601, UTC")
    serve: datetime | None = Field(description="when it is to be served, ISO 8601, UTC")
    members: int = Field(description="size of the ensemble")
    seed: int = Field(description="seed of every draw")
    free_until: Instant | None = Field(description="until when the cook is free; null: no trip is to come")
    be_back_by: Instant | None = Field(description="by when to be back; null: no trip is to come")
    trips: list[TripDocument] = Field(description="trips to the pit, in order; the later ones as planned")
    items: Items = Field(description="one for each item")
    rejected: list[str] = Field(description="entries of the ledger that were kept and not used, and why")


def document_of(outlook: Outlook) -> OutlookDocument:
    """The JSON object of an outlook."""
    return OutlookDocument.model_validate(outlook, from_attributes=True)
