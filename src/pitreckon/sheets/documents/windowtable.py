"""The windows of the meat as a table: from when each thing can be done, and from when it is too late."""

import math

from pitreckon.reckon import ItemOutlook, Outlook, Quantiles, Window
from pitreckon.reckon.words import DOING, waiting_words
from pitreckon.sheets.model import Table
from pitreckon.sheets.reader import Reader

IN_SIGHT = 0.05
"""What fewer of the members come to is not said."""


def spread_words(item: ItemOutlook, quantiles: Quantiles, outlook: Outlook, reader: Reader) -> str:
    """``14:57 (14:05–16:06)``: half of the time by the first, nine times in ten between the others."""
    if quantiles.reached < IN_SIGHT or not math.isfinite(quantiles.p05):
        return "not in sight"
    base = outlook.serve_utc or outlook.now_utc
    low, middle, high = (
        reader.clock(item.instant(at_s), base) if math.isfinite(at_s) else ""
        for at_s in (quantiles.p05, quantiles.p50, quantiles.p95)
    )
    if not middle:
        return f"after {low}, if at all"
    if not high:
        return f"{middle} (after {low})"
    return middle if low == high else f"{middle} ({low}–{high})"


def window_words(item: ItemOutlook, window: Window, outlook: Outlook, reader: Reader) -> str:
    """``9 in 10 between 14:05 and 16:06`` for when a window opens; "" when there is no telling."""
    opens = window.opens_s
    if opens.reached < IN_SIGHT or not math.isfinite(opens.p05):
        return ""
    low = reader.clock(item.instant(opens.p05), outlook.now_utc)
    if not math.isfinite(opens.p95):
        return f"not before {low}"
    high = reader.clock(item.instant(opens.p95), outlook.now_utc)
    return "" if low == high else f"9 in 10 between {low} and {high}"


def window_table(outlook: Outlook, reader: Reader) -> Table:
    """A row a window to come, item by item; what is put on has no window of its own."""
    rows = []
    for item in outlook.items:
        for window in item.windows:
            if window.act == "put on":
                continue
            late = ""
            if window.closes_by and window.closes_s.reached >= IN_SIGHT:
                late = f"{spread_words(item, window.closes_s, outlook, reader)}: {window.closes_by}"
            do = DOING[window.act] + (f" in {window.wrap}" if window.wrap else "")
            when = waiting_words(window.until, window.until_core_c, reader.degrees)
            rows.append((item.label, do, when, spread_words(item, window.opens_s, outlook, reader), late))
    return Table(("what", "do", "when", "from", "too late"), tuple(rows))
