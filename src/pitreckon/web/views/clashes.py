"""Where two phones say what cannot both be: looks that disagree, an act that stands there twice. A cook decides."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import combinations
from math import hypot, isnan, sqrt
from typing import Final

from pitreckon.cook.looks import LOOK_KINDS, LookKind
from pitreckon.ledger import Act, Look
from pitreckon.ledger.store import StoredEntry
from pitreckon.web.views.entries import event_words
from pitreckon.web.views.reader import ClockWords

CLOSE: Final = timedelta(minutes=5)
"""Two looks that are no further apart tell of the same meat: common practice, no source."""
TWICE: Final = timedelta(minutes=15)
"""Nobody does within this what is done once."""
ASKED_FOR: Final = timedelta(hours=2)
"""After that it is history."""
ONCE: Final = ("put on", "wrapped", "unwrapped", "took off", "rest", "hold", "served")
"""Acts that are not done twice without their opposite between, whoever recorded them."""
ERRORS: Final = 2.0
"""Looks further apart than so many standard errors of their difference cannot both be: one pair in twenty would."""
PLACE_K: Final = 4.0
"""How much two tips of a probe differ in one piece: a judgement."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two. words: what it says; by, at: who recorded it, and of when; id: the entry's"""

    words: str
    by: str
    at: str
    id: str


@dataclass(frozen=True, slots=True)
class Clash:
    """Two entries that cannot both be. act: it is an act that stands there twice; key: by which both are let stand"""

    on: str
    what: str
    act: bool
    key: str
    sides: tuple[Side, Side]


def clashes(entries: Sequence[StoredEntry], seen: Collection[str], clock: ClockWords) -> list[Clash]:
    """What is in doubt, the latest first.

    entries: looks and acts, in any order; seen: keys of those that somebody has let stand
    """
    held = [e for e in entries if e.corrected_by is None and isinstance(e.event, Look | Act)]
    held = [e for e in held if _recent(e, clock)]
    held.sort(key=lambda each: (each.event.at_utc, each.seq))  # type: ignore[union-attr]
    found = [_clash(one, other, clock) for one, other in _pairs(held)]
    return [each for each in reversed(found) if each.key not in seen]


def _recent(entry: StoredEntry, clock: ClockWords) -> bool:
    assert isinstance(entry.event, Look | Act)
    return clock.now - entry.event.at_utc <= ASKED_FOR


def _pairs(held: Sequence[StoredEntry]) -> Iterator[tuple[StoredEntry, StoredEntry]]:
    for one, other in combinations(held, 2):
        first, second = one.event, other.event
        if isinstance(first, Look) and isinstance(second, Look):
            if one.by != other.by and _disagree(first, second):
                yield one, other
        elif isinstance(first, Act) and isinstance(second, Act):
            between = [e.event for e in held if isinstance(e.event, Act) and e is not one and e is not other]
            if _twice(first, second, between, same=one.by == other.by):
                yield one, other


def _disagree(first: Look, second: Look) -> bool:
    same = (first.kind, first.on, first.piece) == (second.kind, second.on, second.piece)
    kind = LOOK_KINDS[first.kind]
    if not same or kind.of_instrument or first.rejected or second.rejected or second.at_utc - first.at_utc > CLOSE:
        return False
    apart = abs(first.value - second.value)
    return not isnan(apart) and apart > ERRORS * sqrt(2.0) * _error(kind, max(first.value, second.value))


def _error(kind: LookKind, value: float) -> float:
    """Standard error of one look by one person, in the unit of its value."""
    errors = kind.errors
    each = hypot(errors.each, errors.shared, errors.rounded, PLACE_K if errors.place else 0.0)
    return each * value if errors.of_raw else each


def _twice(first: Act, second: Act, others: Sequence[Act], *, same: bool) -> bool:
    if (first.act, first.on, first.piece) != (second.act, second.on, second.piece):
        return False
    apart = second.at_utc - first.at_utc
    if first.act not in ONCE:
        return not same and apart <= CLOSE
    return apart <= TWICE and not any(
        other.on == first.on and first.at_utc <= other.at_utc <= second.at_utc and other.act != first.act
        for other in others
    )


def _clash(one: StoredEntry, other: StoredEntry, clock: ClockWords) -> Clash:
    event = one.event
    assert isinstance(event, Look | Act)
    on = event.on if event.piece is None else f"{event.on}, {clock.preferences.say('piece {n}', n=event.piece)}"
    what = event.kind if isinstance(event, Look) else event.act
    sides = _side(one, clock), _side(other, clock)
    return Clash(on, clock.preferences.say(what), isinstance(event, Act), f"both {one.id} {other.id}", sides)


def _side(entry: StoredEntry, clock: ClockWords) -> Side:
    assert isinstance(entry.event, Look | Act)
    words = event_words(entry.event, clock.preferences)
    if isinstance(entry.event, Look):
        words = words.removeprefix(f"{entry.event.kind} ")
    return Side(words, entry.by, clock(entry.event.at_utc), entry.id)
