"""What instruments said last: the cook's own numbers, which stand before anything that is reckoned."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from pitreckon.ledger import Ledger, Look, Reading
from pitreckon.web.views.reader import ClockWords

SPOT_OLD: Final = timedelta(hours=2)
"""A temperature taken by hand says little of now after this."""
SILENT: Final = timedelta(minutes=10)
"""A number older than this may be past."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A number of the cook's own. words: what it is of, and what it said; age: when that was; old: it may be past"""

    words: str
    value: str
    age: str
    at_utc: datetime
    old: bool


def latest_pit(ledger: Ledger, pit: str, now: datetime) -> Reading | None:
    """The last usable reading of a pit's air."""
    return next((each for each in reversed(ledger.readings("pit air", pit)) if each.at_utc <= now), None)


def measured_of(ledger: Ledger, label: str, pieces: int, clock: ClockWords) -> list[Measured]:
    """The last of each probe in an item, and the last temperature taken by hand; the newest first."""
    found: list[Reading | Look] = [*_probes(ledger, label), *_spot(ledger, label, clock.now)]
    found = [each for each in found if each.at_utc <= clock.now]
    found.sort(key=lambda each: each.at_utc, reverse=True)
    return [_worded(each, pieces, clock) for each in found]


def _probes(ledger: Ledger, label: str) -> Iterator[Reading]:
    last: dict[int | None, Reading] = {}
    for reading in ledger.readings("probe", label):
        last[reading.piece] = reading
    yield from last.values()


def _spot(ledger: Ledger, label: str, now: datetime) -> Iterator[Look]:
    spots = [look for look in ledger.looks(label) if look.kind == "spot temperature"]
    if spots and now - spots[-1].at_utc < SPOT_OLD:
        yield spots[-1]


def _worded(each: Reading | Look, pieces: int, clock: ClockWords) -> Measured:
    say, mine = clock.preferences.say, clock.preferences
    if isinstance(each, Look):
        words, value = say("by hand"), each.value
    else:
        words, value = say("your probe"), each.value_c
    if each.piece is not None and pieces > 1:
        words += f" ({say('piece {n}', n=each.piece)})"
    return Measured(
        words,
        mine.temperature(value),
        clock.in_words(each.at_utc),
        each.at_utc,
        clock.now - each.at_utc > SILENT,
    )
