"""What of a ledger cannot be used as it stands, and why: kept, said, and left out of the reckoning."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pitreckon.cook import Cook
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.events import CHECKS
from pitreckon.text.said import clock_time, said
from pitreckon.units import format_duration

HOUR_S, CLOCK_SLACK_S = 3600.0, 300.0
"""A clock that is put back falls by an hour, give or take what lies between two readings."""


@dataclass(frozen=True)
class SetAside:
    """An entry that is not used, and why in plain words."""

    event: Reading | Look | Act
    why: str


@dataclass(frozen=True)
class Sifted:
    """The ledger that is reckoned with, and what was set aside."""

    ledger: Ledger
    aside: tuple[SetAside, ...]


def sift(cook: Cook, ledger: Ledger) -> Sifted:
    """Part a ledger into what can be used and what cannot; entries that intake has rejected stay where they are."""
    aside: list[SetAside] = []
    labels = {item.label for item in cook.items}
    pits = {pit.label for pit in cook.pits}
    put_on = {label: _put_on(ledger, label) for label in labels}
    for event in ledger.events:
        why = _why(cook, event, labels, pits, put_on)
        if why is not None:
            aside.append(SetAside(event, why))
    aside += _acts_that_cannot_be(cook, Ledger.of(_without(ledger, aside)), labels)
    aside += _clock_put_back(cook, ledger)
    return Sifted(Ledger.of(_without(ledger, aside)), tuple(aside))


def _without(ledger: Ledger, aside: Sequence[SetAside]) -> list[Reading | Look | Act]:
    out = {id(each.event) for each in aside}
    return [event for event in ledger.events if id(event) not in out]


def _put_on(ledger: Ledger, label: str) -> datetime | None:
    return next((act.at_utc for act in ledger.acts(label) if act.act == "put on"), None)


def _why(
    cook: Cook,
    event: Reading | Look | Act,
    labels: set[str],
    pits: set[str],
    put_on: dict[str, datetime | None],
) -> str | None:
    if isinstance(event, Reading | Look) and event.rejected is not None:
        return None
    if event.on not in labels | pits:
        return said("this cook has no '{name}'", name=event.on)
    if isinstance(event, Look) and event.kind not in CHECKS and LOOK_KINDS[event.kind].of_pit != (event.on in pits):
        what = said("an item" if event.on in pits else "a pit")
        return said("'{look}' is a look at {what}", look=said(event.kind), what=what)
    if event.on not in labels:
        return None
    item = cook.item(event.on)
    if event.piece is not None and not 1 <= event.piece <= item.pieces:
        return said("there is no piece {n} of {item}: it has {all}", n=event.piece, item=item.label, all=item.pieces)
    on = put_on[event.on]
    if isinstance(event, Look) and on is not None and event.at_utc < on and not _of_before(event, on):
        at = clock_time(on, cook.zone_info, event.at_utc)
        return said("it was looked at before it went on at {at}", at=at)
    if isinstance(event, Act) and on is not None and event.act != "put on" and event.at_utc < on:
        at = clock_time(on, cook.zone_info, event.at_utc)
        return said("'{act}' comes before it went on at {at}", act=said(event.act), at=at)
    return None


BEFORE_S = 1800.0
"""A spot temperature of so soon before put-on tells how the meat came [s]."""


def _of_before(look: Look, on: datetime) -> bool:
    """Does it belong before put-on? A thermometer's check does, and what the middle was a moment before."""
    return look.kind in CHECKS or (look.kind == "spot temperature" and (on - look.at_utc).total_seconds() <= BEFORE_S)


def _acts_that_cannot_be(cook: Cook, ledger: Ledger, labels: set[str]) -> list[SetAside]:
    """Acts that contradict the ones before: what is wrapped cannot be wrapped again, what is off not be sauced."""
    aside = []
    for label in sorted(labels):
        state: dict[int | None, tuple[str, datetime]] = {}
        for act in ledger.acts(label):
            was, since = state.get(act.piece, state.get(None, ("", act.at_utc)))
            why = _clash(act, was, since, cook)
            if why is not None:
                aside.append(SetAside(act, why))
            elif act.act != "moved":
                state[act.piece] = (act.act, act.at_utc)
    return aside


_OFF = {"took off", "rest", "hold", "served"}
_ON_PIT = {"wrapped", "unwrapped", "sauced", "moved"}


def _clash(act: Act, was: str, since: datetime, cook: Cook) -> str | None:
    at = clock_time(since, cook.zone_info, act.at_utc)
    if act.act == "put on" and was:
        return said("it went on already: '{act}' was at {at}; the first one counts", act=said(was), at=at)
    if act.act == was and act.act in {"wrapped", "unwrapped", "took off", "served"} and not act.detail:
        return said("'{act}' was at {at} already; the first one counts", act=said(was), at=at)
    if act.act == "unwrapped" and was in {"", "put on"}:
        return said("it was not wrapped")
    if was == "served":
        return said("it was served at {at}", at=at)
    if was in _OFF and act.act in _ON_PIT:
        return said("it was off the pit since {at} ('{act}')", at=at, act=said(was))
    return None


def _clock_put_back(cook: Cook, ledger: Ledger) -> list[SetAside]:
    """Readings that a logger wrote twice over one hour because its clock was put back: those written later."""
    aside = []
    series: dict[tuple[str, str], list[Reading]] = {}
    for reading in ledger.all_readings:
        if reading.source_line is not None and reading.rejected is None:
            series.setdefault((reading.channel, reading.on), []).append(reading)
    for readings in series.values():
        aside += _fallen_back(cook, sorted(readings, key=lambda r: r.source_line or 0))
    return aside


def _fallen_back(cook: Cook, as_written: Sequence[Reading]) -> list[SetAside]:
    aside: list[SetAside] = []
    latest = as_written[0].at_utc
    doubled_until: datetime | None = None
    fell_s = 0.0
    for reading in as_written[1:]:
        back_s = (latest - reading.at_utc).total_seconds()
        if doubled_until is None and abs(back_s - HOUR_S) <= CLOCK_SLACK_S:
            doubled_until, fell_s = latest, back_s
        if doubled_until is not None and reading.at_utc <= doubled_until:
            until = clock_time(doubled_until, cook.zone_info, reading.at_utc)
            span = format_duration(fell_s)
            why = said("the clock of its readings fell back by {span}; not used until {at}", span=span, at=until)
            aside.append(SetAside(reading, why))
            continue
        doubled_until = None
        latest = max(latest, reading.at_utc)
    return aside


def unused_words(cook: Cook, sifted: Sifted, now: datetime) -> tuple[str, ...]:
    """A line for every entry that was kept and not used."""
    lines = [
        f"{entry.on}: {entry.rejected}" + (f" (line {entry.source_line})" if entry.source_line else "")
        for entry in sifted.ledger.rejected
    ]
    alike: dict[tuple[str, str], list[datetime]] = {}
    for each in sifted.aside:
        alike.setdefault((each.event.on, each.why), []).append(each.event.at_utc)
    for (label, why), when in alike.items():
        at = clock_time(when[0], cook.zone_info, now)
        if len(when) > 1:
            n = len(when) - 1
            lines.append(said("{item} at {at} and {n} more: {why}; kept, not used", item=label, at=at, n=n, why=why))
        else:
            lines.append(said("{item} at {at}: {why}; kept, not used", item=label, at=at, why=why))
    return tuple(lines)
