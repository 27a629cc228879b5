"""Which of day and month comes first in the written dates of a log: found from the dates, or asked for."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final, Literal

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.text.table import UnsureError
from pitreckon.units import shown

Dates = Literal["year first", "day first", "month first"]
_NEAR: Final = timedelta(days=3)


def order_of(days: Sequence[str], cook: Cook) -> Dates:
    """The order of a date's parts: the one that all days have, or that puts them near the cook; else it is asked.

    Raises InputError: no order makes days of them. UnsureError: two orders do.
    """
    if all(re.match(r"[0-9]{4}", day) for day in days):
        return "year first"
    # With points between, the day comes first wherever dates are written so (common practice, no source).
    orders: tuple[Dates, ...] = ("day first",) if all("." in day for day in days) else ("day first", "month first")
    can = [order for order in orders if all(day_of(day, order) for day in days)]
    near = [order for order in can if all(_near(day_of(day, order), cook) for day in days)]
    if len(near or can) == 1:
        return (near or can)[0]
    if not can:
        raise InputError(f"{shown(days[0])} is no day in any order", "Write dates as in 2026-10-10")
    raise UnsureError(
        f"{shown(days[0])} can be read with the day or with the month first", "Say which comes first", "dates", orders
    )


def day_of(text: str, order: Dates) -> date | None:
    """The day that a date in numbers means; None: there is no such day."""
    a, b, c = (int(part) for part in re.split(r"[-/.]", text))
    year, month, day = {"year first": (a, b, c), "day first": (c, b, a), "month first": (c, a, b)}[order]
    try:
        return date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


def _near(day: date | None, cook: Cook) -> bool:
    return day is not None and abs(day - cook.start_utc.astimezone(cook.zone_info).date()) <= _NEAR
