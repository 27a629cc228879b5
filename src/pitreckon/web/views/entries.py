"""Entries of the ledger as a person reads them."""

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.events import PHOTO
from pitreckon.ledger.store import Correction, StoredEntry
from pitreckon.text.said import Said, retold
from pitreckon.units import format_duration
from pitreckon.web.views.reader import ClockWords, Preferences


@dataclass(frozen=True, slots=True)
class LineView:
    """One entry of the ledger in words. gone: a correction holds for it; may_go: it can be taken back.

    photos: names of those that its note tells of; local: its time as a browser's own field of dates has it
    """

    seq: int
    id: str
    at: str
    kind: str
    on: str
    words: str
    by: str
    aside: str
    gone: bool
    may_go: bool
    photos: tuple[str, ...] = ()
    local: str = ""


def lines_of(found: Iterable[StoredEntry], clock: ClockWords) -> Iterator[LineView]:
    """Entries as a person reads them, the newest first; of several corrections of one entry the latest holds."""
    corrected: set[str] = set()
    for stored in found:
        line = line_view(stored, clock)
        if isinstance(stored.event, Correction):
            line = replace(line, gone=stored.event.of_id in corrected)
            corrected.add(stored.event.of_id)
        yield line


def line_view(stored: StoredEntry, clock: ClockWords) -> LineView:
    """One entry as a person reads it; one that puts another in its place is told as what holds now."""
    event, preferences = stored.event, clock.preferences
    if not isinstance(event, Correction):
        return _line(stored, event, clock)
    say = preferences.say
    if event.event is None:
        words = say("takes back an entry: {why}", why=say(event.why)) if event.why else say("takes back an entry")
        at = clock(stored.recorded_utc)
        return LineView(stored.seq, stored.id, at, "correction", "", words, stored.by, "", False, False)
    line = _line(stored, event.event, clock)
    why = f"; {say(event.why)}" if event.why else ""
    return replace(line, id=event.of_id, kind="correction", words=f"{line.words}{why}")


def _line(stored: StoredEntry, event: Reading | Look | Act, clock: ClockWords) -> LineView:
    gone = stored.corrected_by is not None
    on = event.on if event.piece is None else clock.preferences.say("{item}, piece {n}", item=event.on, n=event.piece)
    return LineView(
        stored.seq,
        stored.id,
        clock(event.at_utc),
        type(event).__name__.casefold(),
        on,
        event_words(event, clock.preferences),
        stored.by,
        clock.of_task(getattr(event, "rejected", None) or ""),
        gone,
        not gone,
        tuple(PHOTO.findall(getattr(event, "note", ""))),
        event.at_utc.astimezone(clock.zone).strftime("%Y-%m-%dT%H:%M"),
    )


TO: Final = "{doing} to {value}"
PLACES: Final = re.compile(r"meat(?: \d\.\d+,\d\.\d+)+ white \d\.\d+,\d\.\d+")
"""As a note has the places of a photo that were tapped (``photo.words``)."""


def event_words(event: Reading | Look | Act, preferences: Preferences) -> str:
    """What an entry says, without its time and place."""
    say = preferences.say
    if isinstance(event, Reading):
        return f"{say(event.channel)} {'–' if math.isnan(event.value_c) else preferences.temperature(event.value_c)}"
    if isinstance(event, Look):
        value = _look_value(event, preferences)
        told = retold(value, say, str) if isinstance(value, Said) else say(value)
        return f"{say(event.kind)} {told}" + _noted(event.note)
    words = say(event.act)
    if event.detail and event.act == "moved":
        words = say("{doing} to {where}", doing=words, where=event.detail)
    elif event.detail:
        words = say("{doing} in {wrap}", doing=words, wrap=say(event.detail))
    if event.air_c is not None:
        warm = preferences.temperature(event.air_c)
        words = say("{doing} at {value}" if event.act == "hold" else TO, doing=words, value=warm)
    if event.duration_s is not None:
        words = say("{doing} for {span}", doing=words, span=format_duration(event.duration_s))
    if event.fuel_kg is not None:
        words = say("{doing} with {mass}", doing=words, mass=preferences.weight(event.fuel_kg))
    return words + _noted(event.note)


def _noted(note: str) -> str:
    """A note in brackets, without the names of photos and the places in them that were measured."""
    words = PLACES.sub("", PHOTO.sub("", note)).strip("; ")
    return f" ({words})" if words else ""


def _look_value(look: Look, preferences: Preferences) -> str:
    if math.isnan(look.value):
        return "–"
    return LOOK_KINDS[look.kind].show(look.value, look.text, preferences.degrees, preferences.mass)
