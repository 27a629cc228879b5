"""How one more look moves the forecast of an item, in words."""

from zoneinfo import ZoneInfo

from pitreckon.reckon.outlook import ItemOutlook
from pitreckon.reckon.quantiles import Quantiles
from pitreckon.text.said import clock_time, said
from pitreckon.units import instant_after

LEAST_S = 120.0
"""What moves by less is said to stay."""
MARKS = {"colour_set": "the colour is set", "ready": "ready"}


def moved_words(before: ItemOutlook, after: ItemOutlook, zone: ZoneInfo) -> tuple[str, ...]:
    """A sentence for each mark that both outlooks have still to come; the middle of each, and what was before."""
    lines = []
    for name, words in MARKS.items():
        was, now = before.marks[name], after.marks[name]
        if not (_known(was) and _known(now)):
            continue
        what = said(words)
        at = _clock(now.p50, after, zone)
        if abs(now.p50 - was.p50) < LEAST_S:
            lines.append(said("{what}: {at} as before.", what=what, at=at))
        else:
            lines.append(said("{what}: {at}, was {before}.", what=what, at=at, before=_clock(was.p50, before, zone)))
    return tuple(lines)


def _known(spread: Quantiles) -> bool:
    return spread.known


def _clock(seconds: float, item: ItemOutlook, zone: ZoneInfo) -> str:
    at = instant_after(item.put_on_utc, seconds)
    return clock_time(at, zone, at)
