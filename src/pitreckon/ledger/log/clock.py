"""The times of a log: local times that never run backwards, in the order of its rows."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from pitreckon.errors import InputError
from pitreckon.units import format_local, instants_reading, parse_clock, possible_instants, shown

_BARE_CLOCK = re.compile(r"[0-9]{1,2}:.*")
_ROLL_OVER = timedelta(hours=12)


class LogClock:
    """Turns the time column into UTC instants, row after row.

    A time without a day has the day of the row before, or the day after it if that is less than 12 hours on.
    In the hour that autumn repeats, the first pass is meant until a row would run backwards; from there the
    second.
    """

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self.now_utc: datetime | None = None
        self._hour_offset: dict[str, timedelta] = {}

    def read(self, text: str) -> tuple[datetime, ...]:
        """Every instant not before the row before that this time can mean, earliest first.

        Raises InputError: not a time, or all of them are before the row before.
        """
        instant = self._quick(text)
        if instant is not None and (self.now_utc is None or instant >= self.now_utc):
            return (instant,)
        possible = self._bare(text) if _BARE_CLOCK.fullmatch(text) else instants_reading(text, self.zone)
        self._learn(text)
        if self.now_utc is None:
            return possible
        onward = tuple(instant for instant in possible if instant >= self.now_utc)
        if not onward:
            raise InputError(
                f"the time {shown(text)} runs backwards: the row before is at {format_local(self.now_utc, self.zone)}",
                "Put the rows in order of time, or correct this time or the one before",
            )
        return onward

    def _bare(self, text: str) -> tuple[datetime, ...]:
        clock = parse_clock(text)
        if self.now_utc is None:
            raise InputError(
                f"{shown(text)} has no day, and there is no row before to take it from",
                "Write the first time with its day, as in 2026-10-10 13:15",
            )
        today = self.now_utc.astimezone(self.zone).date()
        same_day = possible_instants(datetime.combine(today, clock), self.zone)
        if any(instant >= self.now_utc for instant in same_day):
            return same_day
        next_day = possible_instants(datetime.combine(today + timedelta(days=1), clock), self.zone)
        soon = tuple(instant for instant in next_day if instant - self.now_utc < _ROLL_OVER)
        return soon or same_day

    def _quick(self, text: str) -> datetime | None:
        """The instant of a full local time in an hour already known to have one offset throughout."""
        offset = self._hour_offset.get(text[:13])
        if offset is None or len(text) not in {16, 19}:
            return None
        try:
            return datetime.fromisoformat(f"{text}+00:00") - offset
        except ValueError:  # among them a text that has an offset of its own
            return None

    def _learn(self, text: str) -> None:
        if len(text) not in {16, 19} or text[:13] in self._hour_offset:
            return
        try:
            first = datetime.fromisoformat(text).replace(minute=0, second=0, microsecond=0)
        except ValueError:
            return
        if first.tzinfo is not None:
            return
        ends = (first, first + timedelta(minutes=59, seconds=59))
        offsets = {end.replace(tzinfo=self.zone, fold=fold).utcoffset() for end in ends for fold in (0, 1)}
        offset = offsets.pop()
        if not offsets and offset is not None:
            self._hour_offset[text[:13]] = offset
