"""Looks and acts as people send them, made into entries of the ledger."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Annotated, Final, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from pitreckon.cook import Cook
from pitreckon.errors import InputError, Place
from pitreckon.forms.names import KnownNames, by_any_case
from pitreckon.intake.reading import own_id
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.ledger.events import ACTS, LOOKS, PIT_ACTS, PIT_LOOKS
from pitreckon.ledger.log.acts import ActReader
from pitreckon.ledger.log.values import look as look_value
from pitreckon.ledger.store import Correction, Entry
from pitreckon.units import shown

T = TypeVar("T")
AHEAD: Final = timedelta(minutes=2)
BEHIND: Final = timedelta(days=3)
MOST: Final = 200

Label = Annotated[str, Field(min_length=1, max_length=60)]


class EventIn(BaseModel):
    """One look, act or correction."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(
        min_length=1,
        max_length=64,
        description="made by the sender, plain characters without blanks; a retry has the same one",
        json_schema_extra={"pattern": "^[!-~]+$"},
    )
    at: str = Field(min_length=10, max_length=40, description="ISO 8601 instant with its offset, server's time")
    kind: Literal["look", "act", "correction"] = Field(description="what it is")
    on: str = Field("", max_length=60, description="the item's or pit's name; empty for a correction")
    what: str = Field("", max_length=30, description="which look or act; empty for a correction")
    value: str = Field("", max_length=60, description="as a cook writes it: mahogany, 203 F, 1/4 in, foil")
    piece: int | None = Field(None, ge=1, le=500, description="which piece, from 1; null: all, or not said")
    note: str = Field("", max_length=300, description="in the cook's words; for a correction, why")
    of: str = Field("", max_length=64, description="for a correction: id of the entry that it takes back")


class EventsIn(BaseModel):
    """Several, in the order in which they were made."""

    model_config = ConfigDict(extra="forbid")

    events: list[EventIn] = Field(min_length=1, max_length=MOST)


def entries_of(events: list[EventIn], cook: Cook, ledger: Ledger, by: str, now: datetime) -> list[Entry]:
    """The entries. Raises InputError: one is wrong, with its index and field."""
    reader = EventParser(cook, ledger, by, now)
    entries = []
    for n, event in enumerate(events):
        try:
            entries.append(reader.entry(event))
        except InputError as fault:
            place = f"events[{n}].{fault.place.field or 'value'}" if len(events) > 1 else fault.place.field or "value"
            raise fault.put(Place(field=place)) from None
    return entries


class EventParser:
    """Makes entries of one person's events, in their order."""

    def __init__(self, cook: Cook, ledger: Ledger, by: str, now: datetime) -> None:
        self._cook, self._by, self._now = cook, by, now
        self._acts = ActReader(cook, KnownNames.from_catalog(), by_any_case(pit.label for pit in cook.pits))
        for act in ledger.all_acts:
            if act.act == "put on":
                self._acts.read(act.at_utc, act.on, "put on", "", piece=None, line=0, note="")

    def entry(self, event: EventIn) -> Entry:
        """One entry. Raises InputError."""
        entry_id = _at_field("id", own_id, event.id)
        at = _at_field("at", self._instant, event.at)
        if event.kind == "correction":
            of = _at_field("of", own_id, event.of)
            return Entry(entry_id, Correction(of, None, event.note), self._by)
        known = LOOKS if event.kind == "look" else ACTS
        if event.what not in known:
            raise InputError(f"{shown(event.what)} is no {event.kind}", f"Write one of: {', '.join(known)}").at(
                field="what"
            )
        of_pit = event.what in (PIT_LOOKS if event.kind == "look" else PIT_ACTS)
        labels = [pit.label for pit in self._cook.pits] if of_pit else [item.label for item in self._cook.items]
        if event.on not in labels:
            what = "pit" if of_pit else "item"
            raise InputError(f"{shown(event.on)} is no {what} of this cook", f"Write one of: {', '.join(labels)}").at(
                field="on"
            )
        if event.piece is not None and (of_pit or event.piece > self._cook.item(event.on).pieces):
            raise InputError(f"there is no piece {event.piece} there", "Leave the piece out, or count them again").at(
                field="piece"
            )
        return Entry(entry_id, self._event(event, at), self._by)

    def _event(self, event: EventIn, at: datetime) -> Look | Act:
        value = event.value.strip()
        if event.kind == "act":
            act = self._acts.read(at, event.on, event.what, value, piece=event.piece, line=0, note=event.note.strip())
            return Act(
                *(at, act.on, act.act, act.detail, act.piece, act.air_c, act.duration_s, act.fuel_kg), note=act.note
            )
        number, rejected = look_value(event.what, value)
        return Look(at, event.on, event.piece, event.what, number, value, rejected, note=event.note.strip())

    def _instant(self, text: str) -> datetime:
        remedy = "Send the time as in 2026-10-10T18:00:00Z"
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            raise InputError(f"{shown(text)} is no time", remedy) from None
        if at.utcoffset() is None or not 1971 <= at.year <= 2198:
            raise InputError(f"{shown(text)} is no time with its offset in our days", remedy)
        at = at.astimezone(self._now.tzinfo)
        if at > self._now + AHEAD:
            raise InputError("the time is ahead of now", "Record it when it has happened")
        if at < self._now - BEHIND and at < self._cook.start_utc:
            raise InputError("the time is long before the cook", "Check the time")
        return at


def _at_field(field: str, parse: Callable[[str], T], text: str) -> T:
    try:
        return parse(text)
    except InputError as fault:
        raise fault.at(field=field) from None
