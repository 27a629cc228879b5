"""How one more look moves the forecast of an item, in words."""

from zoneinfo import ZoneInfo

from pitreckon.reckon.outlook import ItemOutlook
from pitreckon.reckon.quantiles import Quantiles
from pitreckon.text.said import clock_time, said
from pitreckon.units import format_percent, instant_after

LEAST_S = 120.0
"""What moves by less is said to stay."""
LEAST_CHANCE = 0.1
MARKS = {"colour_set": "the colour is set", "ready": "ready"}


def moved_words(before: ItemOutlook, after: ItemOutlook, zone: ZoneInfo) -> tuple[str, ...]:
    """What comes next, where that is moved; then each mark that both outlooks have still to come, and what it was."""
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
    return (*_next_act(before, after), *lines)


def _next_act(before: ItemOutlook, after: ItemOutlook) -> tuple[str, ...]:
    """Whether what comes next has become due, or is no more; what the cook has seen counts there (``reckon.eye``)."""
    if not before.windows or not after.windows or before.windows[0].act != after.windows[0].act:
        return ()
    was, now = before.windows[0].open_now, after.windows[0].open_now
    if abs(now - was) < LEAST_CHANCE:
        return ()
    words = said("chance that it is time to {act}: {now}, was {before}.", act=said(after.windows[0].act),
                 now=format_percent(now), before=format_percent(was))  # fmt: skip
    return (words,)


def _known(spread: Quantiles) -> bool:
    return spread.known


def _clock(seconds: float, item: ItemOutlook, zone: ZoneInfo) -> str:
    at = instant_after(item.put_on_utc, seconds)
    return clock_time(at, zone, at)
