"""An outlook as one JSON object; ``docs/reference/outlook-json.md`` is generated from it."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from pydantic import BaseModel, ConfigDict, Field

from pitreckon.reckon.outlook import MARK_NAMES, ItemOutlook, Outlook, StageOutlook, Task, Trip, Window
from pitreckon.reckon.quantiles import Quantiles


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class TimeDocument(_Part):
    """A moment with its spread. A quantile that lies beyond the horizon is null."""

    p05_s: float | None = Field(description="5 % quantile [s since put-on]")
    p50_s: float | None = Field(description="median [s since put-on]")
    p95_s: float | None = Field(description="95 % quantile [s since put-on]")
    p05: datetime | None = Field(description="5 % quantile as an ISO 8601 instant, UTC")
    p50: datetime | None = Field(description="median as an ISO 8601 instant, UTC")
    p95: datetime | None = Field(description="95 % quantile as an ISO 8601 instant, UTC")
    reached: float = Field(description="share of the members that get there at all, 0 to 1")


class NumberDocument(_Part):
    """A number with its spread."""

    p05: float | None = Field(description="5 % quantile; null where nothing is known")
    p50: float | None = Field(description="median; null where nothing is known")
    p95: float | None = Field(description="95 % quantile; null where nothing is known")


class StageDocument(_Part):
    """One stage of an item's course."""

    kind: str = Field(description="open, wrapped, sauced, rest or hold")
    until: str = Field(description="what ends it, in words")
    wrap: str | None = Field(description="key of the wrap on the piece")
    begins: TimeDocument = Field(description="when it begins")
    ends: TimeDocument = Field(description="when it ends")
    done: bool = Field(description="the ledger says that it is over")
    now: float = Field(description="chance that the item is in this stage now, 0 to 1")


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
    open_now: float = Field(description="chance that it can be done by now, too late or not, 0 to 1")
    too_late_now: float = Field(description="chance that it is too late by now, 0 to 1")


class TaskDocument(_Part):
    """One thing to do on a trip, to all pieces of an item."""

    item: str = Field(description="the cook's name for it")
    pieces: int = Field(description="how many")
    act: str = Field(description="as of its window")
    wrap: str | None = Field(description="key of the wrap that comes on the piece, for wrap")
    pit: str | None = Field(description="whose lid has to be opened; null: none")
    until: str = Field(description="what to wait for, in words; empty for put on")
    open: float = Field(description="chance that it can be done at the trip's time, 0 to 1")
    again: datetime | None = Field(description="when to come again if it cannot; null: it almost surely can")


class TripDocument(_Part):
    """One walk to the pit, with everything to be done on it."""

    at: datetime = Field(description="the time of the least expected cost")
    no_sooner_than: datetime = Field(description="first time before it that is about as good")
    no_later_than: datetime = Field(description="last time after it that is about as good")
    tasks: list[TaskDocument] = Field(description="what to do")


class ItemDocument(_Part):
    """One item: where it is and where it is heading."""

    item: str = Field(description="the cook's name for it")
    cut: str = Field(description="catalog key")
    pieces: int = Field(description="how many")
    put_on: datetime = Field(description="zero of its seconds, ISO 8601, UTC")
    put_on_planned: bool = Field(description="true: no ledger says that it is on yet")
    stages: list[StageDocument] = Field(description="its course")
    windows: list[WindowDocument] = Field(description="of the acts to come, in their order")
    marks: MarksDocument = Field(description="marks with their spread")
    core_c: NumberDocument = Field(description="temperature now where a cook puts the probe [degC]")
    loss_fraction: NumberDocument = Field(description="water lost by now, share of the raw weight, 0 to 1")
    colour: NumberDocument = Field(description="colour by now on the colour scale: 0 raw, 1 set, 1.3 too dark")
    pit_c: NumberDocument = Field(description="air at the grate now [degC]")
    grate_k: NumberDocument = Field(description="how far the air round the piece lies over the pit's readout [K]")
    first_ready: TimeDocument = Field(description="the first of its pieces is ready")
    last_ready: TimeDocument = Field(description="the last of its pieces is ready")
    on_time: float | None = Field(description="chance to be ready and not past its best at serving, 0 to 1")
    least_core: float = Field(
        description="share of the members whose core reaches the official minimum temperature before ready"
    )
    effective: float = Field(description="members that still count after looks and probe readings")
    tempered: float = Field(description="share of the evidence's force that was used; below 1 it disagreed")
    notes: list[str] = Field(description="what the cook should know")


class OutlookDocument(_Part):
    """One outlook: everything reckoned at one moment."""

    cook: str = Field(description="name of the cook")
    zone: str = Field(description="IANA zone of its clock times")
    now: datetime = Field(description="the moment of the outlook, ISO 8601, UTC")
    serve: datetime | None = Field(description="when it is to be served, ISO 8601, UTC")
    members: int = Field(description="size of the ensemble")
    seed: int = Field(description="seed of every draw")
    free_until: datetime | None = Field(description="until when the cook is free; null: no trip is to come")
    be_back_by: datetime | None = Field(description="by when to be back; null: no trip is to come")
    trips: list[TripDocument] = Field(description="trips to the pit, in order; the later ones as planned")
    items: list[ItemDocument] = Field(description="one for each item")
    rejected: list[str] = Field(description="entries of the ledger that were kept and not used, and why")


def _number(value: float, places: int) -> float | None:
    return round(value, places) if math.isfinite(value) else None


def _time(quantiles: Quantiles, zero: datetime) -> TimeDocument:
    at: dict[str, datetime | None] = {}
    seconds: dict[str, float | None] = {}
    for name in ("p05", "p50", "p95"):
        value = _number(getattr(quantiles, name), 1)
        seconds[f"{name}_s"] = value
        at[name] = None if value is None else zero + timedelta(seconds=value)
    return TimeDocument(**seconds, **at, reached=round(quantiles.reached, 4))  # type: ignore[arg-type]


def _plain(quantiles: Quantiles, places: int = 3) -> NumberDocument:
    return NumberDocument(
        p05=_number(quantiles.p05, places), p50=_number(quantiles.p50, places), p95=_number(quantiles.p95, places)
    )


def _stage(stage: StageOutlook, zero: datetime) -> StageDocument:
    return StageDocument(
        kind=stage.kind,
        until=stage.until,
        wrap=stage.wrap,
        begins=_time(stage.begins_s, zero),
        ends=_time(stage.ends_s, zero),
        done=stage.done,
        now=round(stage.now, 4),
    )


def _window(window: Window, zero: datetime) -> WindowDocument:
    return WindowDocument(
        act=window.act,
        wrap=window.wrap,
        until=window.until,
        opens=_time(window.opens_s, zero),
        closes=_time(window.closes_s, zero),
        closes_by=window.closes_by,
        open_now=round(window.open_now, 4),
        too_late_now=round(window.too_late_now, 4),
    )


def _milliseconds(at: datetime) -> datetime:
    return at.replace(microsecond=at.microsecond // 1000 * 1000)


def _task(task: Task) -> TaskDocument:
    return TaskDocument(
        item=task.item,
        pieces=task.pieces,
        act=task.act,
        wrap=task.wrap,
        pit=task.pit,
        until=task.until,
        open=round(task.open, 4),
        again=task.again_utc and _milliseconds(task.again_utc),
    )


def _trip(trip: Trip) -> TripDocument:
    return TripDocument(
        at=_milliseconds(trip.at_utc),
        no_sooner_than=_milliseconds(trip.from_utc),
        no_later_than=_milliseconds(trip.by_utc),
        tasks=[_task(task) for task in trip.tasks],
    )


def _item(item: ItemOutlook) -> ItemDocument:
    zero = item.put_on_utc
    return ItemDocument(
        item=item.label,
        cut=item.cut,
        pieces=item.pieces,
        put_on=zero,
        put_on_planned=item.put_on_planned,
        stages=[_stage(stage, zero) for stage in item.stages],
        windows=[_window(window, zero) for window in item.windows],
        marks=MarksDocument(**{name: _time(item.marks[name], zero) for name in MARK_NAMES}),
        core_c=_plain(item.core_c, 2),
        loss_fraction=_plain(item.loss_fraction, 4),
        colour=_plain(item.colour),
        pit_c=_plain(item.pit_c, 2),
        grate_k=_plain(item.grate_k, 2),
        first_ready=_time(item.first_ready, zero),
        last_ready=_time(item.last_ready, zero),
        on_time=None if item.on_time is None else round(item.on_time, 4),
        least_core=round(item.least_core, 4),
        effective=round(item.ess, 1),
        tempered=round(item.tempering_exponent, 4),
        notes=list(item.notes),
    )


def document_of(outlook: Outlook) -> OutlookDocument:
    """The JSON object of an outlook."""
    return OutlookDocument(
        cook=outlook.cook,
        zone=outlook.zone,
        now=outlook.now_utc,
        serve=outlook.serve_utc,
        members=outlook.members,
        seed=outlook.seed,
        free_until=outlook.free_until_utc and _milliseconds(outlook.free_until_utc),
        be_back_by=outlook.be_back_utc and _milliseconds(outlook.be_back_utc),
        trips=[_trip(trip) for trip in outlook.trips],
        items=[_item(item) for item in outlook.items],
        rejected=list(outlook.rejected),
    )
