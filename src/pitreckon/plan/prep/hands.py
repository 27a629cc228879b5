"""When somebody has hands free: work is laid backward from its latest end."""

from datetime import datetime

from pitreckon.cook import Away
from pitreckon.plan.wishes import Hands
from pitreckon.units import instant_after

Span = tuple[datetime, datetime]


def crossing(begin: datetime, end: datetime, away: tuple[Away, ...]) -> Away | None:
    """The first time away that overlaps a span; touching is no overlap."""
    return next((gone for gone in away if gone.from_utc < end and begin < gone.until_utc), None)


class HandsFree:
    """The spans in which each pair of hands is busy."""

    def __init__(self, hands: Hands) -> None:
        self._away = hands.away
        self._busy: list[list[Span]] = [[] for _ in range(hands.cooks)]

    def take(self, latest_end: datetime, seconds: float) -> Span:
        """The latest span of that length [s] that ends by then, with one pair of hands free and somebody there."""
        best, lane = max((self._free(busy, latest_end, seconds), -i) for i, busy in enumerate(self._busy))
        span = (best, instant_after(best, seconds))
        self._busy[-lane].append(span)
        return span

    def mark(self) -> tuple[int, ...]:
        """How much is taken so far, for :meth:`back_to`."""
        return tuple(len(busy) for busy in self._busy)

    def back_to(self, mark: tuple[int, ...]) -> None:
        """Give back what was taken since a mark."""
        for busy, kept in zip(self._busy, mark, strict=True):
            del busy[kept:]

    def there(self, latest: datetime) -> datetime:
        """The latest instant until then at which somebody is there."""
        while True:
            gone = next((each for each in self._away if each.from_utc < latest < each.until_utc), None)
            if gone is None:
                return latest
            latest = gone.from_utc

    def _free(self, busy: list[Span], latest_end: datetime, seconds: float) -> datetime:
        """Begin of the latest free span in one lane."""
        end = latest_end
        while True:
            begin = instant_after(end, -seconds)
            gone = crossing(begin, end, self._away)
            if gone is not None:
                end = gone.from_utc
                continue
            work = next((span for span in busy if span[0] < end and begin < span[1]), None)
            if work is None:
                return begin
            end = work[0]
