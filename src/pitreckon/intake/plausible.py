"""Whether a reading can be true: out of range, a spike, or a sensor that is stuck. All are kept, marked and unused.

A jump that no air and no meat can make is not believed until the next reading agrees with it: a spike is lost for
good, a probe that was moved loses one reading. Nothing is judged by what came after it, so a reading that was
acknowledged never changes.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from pitreckon.ledger.events import Reading
from pitreckon.ledger.ranges import range_fault
from pitreckon.ledger.store.records import Entry
from pitreckon.units import format_duration, format_temperature

# All of these are common practice, no source. A lid that is opened and a flame that flares are quick, a tip in
# meat is not; a tip that is moved is believed with its second reading.
JUMP_K: Final = {"pit air": 50.0, "probe": 15.0}
FASTEST_K_PER_S: Final = {"pit air": 2.0, "probe": 0.5}
LONG_GAP_S: Final = 900.0
"""After a gap like this a jump proves nothing, and a standing value is no longer one that stood all the time [s]."""
STUCK_S: Final = {"pit air": 7200.0, "probe": 5400.0}
"""A value that keeps its last digit for so long is an instrument's [s]."""
STUCK_BAND_C: Final = {"pit air": (60.0, 400.0), "probe": (15.0, 60.0)}
"""Outside these a value may well stand still: a cold pit, meat in the cold, at its stall, or kept warm."""
REMEMBERED: Final = 20_000
"""Verdicts that are remembered, so that a retry gets the one that it had."""


@dataclass(frozen=True, slots=True)
class _Course:
    """What of a series matters to the next reading: the last two levels, and since when the value stands."""

    last: Reading | None = None
    last_used: Reading | None = None
    since: datetime | None = None

    def after(self, reading: Reading) -> _Course:
        if range_fault(reading.channel, reading.value_c) is not None:
            return self
        stands = (
            self.last is not None
            and self.last.value_c == reading.value_c
            and _apart_s(self.last, reading) <= LONG_GAP_S
        )
        return _Course(
            reading,
            reading if reading.rejected is None else self.last_used,
            self.since if stands else reading.at_utc,
        )

    def fault_of(self, reading: Reading) -> str | None:
        fault = range_fault(reading.channel, reading.value_c)
        if fault is not None or self.last is None:
            return fault
        return self._spike(reading) or self._stuck(reading)

    def _spike(self, reading: Reading) -> str | None:
        # What was there before counts in two ways: the last that was believed, and the last that was not.
        before = [each for each in (self.last, self.last_used) if each is not None]
        if any(_goes_on(each, reading) for each in before):
            return None
        told = self.last_used or before[0]
        took = format_duration(max(1.0, _apart_s(told, reading)), to_the_second=True)
        return (
            f"it jumps from {format_temperature(told.value_c)} to {format_temperature(reading.value_c)} in {took}: "
            "not believed until the next one agrees"
        )

    def _stuck(self, reading: Reading) -> str | None:
        low_c, high_c = STUCK_BAND_C[reading.channel]
        if self.since is None or not low_c <= reading.value_c <= high_c or self.after(reading).since != self.since:
            return None
        stood_s = (reading.at_utc - self.since).total_seconds()
        if stood_s < STUCK_S[reading.channel]:
            return None
        return f"it has not moved by its last digit for {format_duration(stood_s)}: the sensor is stuck"


class Judge:
    """Judges readings as they come in; keeps of each series what the next is held against. Safe to share by threads.

    entries: what the store has already, in order of time, each with the verdict that it was stored with
    """

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self._courses: dict[tuple[str, str, int | None], _Course] = {}
        self._verdicts: OrderedDict[str, str | None] = OrderedDict()
        self._lock = threading.Lock()
        for entry in entries:
            if isinstance(entry.event, Reading):
                self._note(entry.id, entry.event)

    def judged(self, entries: Sequence[Entry]) -> list[Entry]:
        """The entries with every reading judged, in their order.

        A reading that is older than the one before it (a channel that was away) is judged by its range alone.
        """
        with self._lock:
            return [self._judged(entry) for entry in entries]

    def _judged(self, entry: Entry) -> Entry:
        reading = entry.event
        if not isinstance(reading, Reading) or reading.rejected is not None:
            return entry
        if entry.id in self._verdicts:
            return replace(entry, event=replace(reading, rejected=self._verdicts[entry.id]))
        course = self._courses.get(_series(reading), _Course())
        late = course.last is not None and reading.at_utc <= course.last.at_utc
        fault = range_fault(reading.channel, reading.value_c) if late else course.fault_of(reading)
        judged = replace(reading, rejected=fault)
        self._note(entry.id, judged)
        return replace(entry, event=judged)

    def _note(self, entry_id: str, reading: Reading) -> None:
        self._verdicts[entry_id] = reading.rejected
        if len(self._verdicts) > REMEMBERED:
            self._verdicts.popitem(last=False)
        course = self._courses.get(_series(reading), _Course())
        if course.last is None or reading.at_utc > course.last.at_utc:
            self._courses[_series(reading)] = course.after(reading)


def _series(reading: Reading) -> tuple[str, str, int | None]:
    return reading.channel, reading.on, reading.piece


def _apart_s(one: Reading, other: Reading) -> float:
    return (other.at_utc - one.at_utc).total_seconds()


def _goes_on(before: Reading, reading: Reading) -> bool:
    apart_s = _apart_s(before, reading)
    channel = reading.channel
    return (
        apart_s > LONG_GAP_S
        or abs(reading.value_c - before.value_c) <= JUMP_K[channel] + FASTEST_K_PER_S[channel] * apart_s
    )
