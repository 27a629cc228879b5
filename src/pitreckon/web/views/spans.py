"""When something of an item is: likely then, and between which times it may be, rounded to what its width can tell."""

import math
from dataclasses import dataclass

from pitreckon.reckon import ItemOutlook, Quantiles
from pitreckon.reckon.quantiles import readable
from pitreckon.web.views.reader import ClockWords


@dataclass(frozen=True, slots=True)
class Span:
    """likely: a clock time, "" where it is not in sight; may_be: from when to when, "" where that is one minute."""

    likely: str
    may_be: str


def span_of(item: ItemOutlook, quantiles: Quantiles, clock: ClockWords) -> Span:
    """Median, and 5 to 95 %, of a moment since an item's put-on."""
    if not quantiles.known:
        return Span("", "")
    told = readable(quantiles, item.put_on_utc.timestamp())
    likely, low = item.instant(told.p50), item.instant(told.p05)
    if not math.isfinite(told.p95):
        return Span(clock(likely), clock.preferences.say("{at} or much later", at=clock(low)))
    high = item.instant(told.p95)
    return Span(clock(likely), "" if clock(low) == clock(high) else clock.between(low, high))


def span_words(item: ItemOutlook, quantiles: Quantiles, clock: ClockWords) -> str:
    """``likely 14:30, may be 13:50 to 15:10``, as the command line says it."""
    say, span = clock.preferences.say, span_of(item, quantiles, clock)
    if not span.likely:
        return say("not in sight")
    if not span.may_be:
        return span.likely
    return say("likely {at}, may be {range}", at=span.likely, range=span.may_be)
