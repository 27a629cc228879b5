"""Outlooks made by hand, so that the rules are tested without a reckoning."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from tests.intake.day import COOK, START, after

from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.reckon import ItemOutlook, Outlook, Quantiles, Task, Trip, Window

ANY = Quantiles(0.0, 0.0, 0.0, 1.0)
NEVER = Quantiles(float("inf"), float("inf"), float("inf"), 0.0)


def minutes(n: float) -> datetime:
    """An instant of the day, in minutes from its start."""
    return after(60.0 * n)


def window(act: str, opens_min: float, **changes: Any) -> Window:
    """A window that opens so many minutes from the start, give or take ten, and closes half an hour on."""
    opens = Quantiles(60.0 * (opens_min - 10), 60.0 * opens_min, 60.0 * (opens_min + 10), 1.0)
    closes = Quantiles(60.0 * (opens_min + 20), 60.0 * (opens_min + 30), 60.0 * (opens_min + 40), 1.0)
    wrap = "foil" if act == "wrap" else None
    parts = {
        "act": act, "wrap": wrap, "until": "the colour is set", "until_core_c": None, "opens_s": opens,
        "closes_s": closes, "closes_by": "too dark", "open_now": 0.5, "too_late_now": 0.0,
    }  # fmt: skip
    return Window(**(parts | changes))


def item(label: str = "racks", *windows: Window, ready_min: float = 300.0, **changes: Any) -> ItemOutlook:
    """An item that was put on at the start."""
    ready = Quantiles(60.0 * ready_min - 600, 60.0 * ready_min, 60.0 * ready_min + 600, 1.0)
    parts = {
        "label": label, "cut": "x", "cut_name": "x", "pieces": 4, "put_on_utc": START, "put_on_planned": False,
        "stages": (), "marks": {"ready": ready}, "first_ready": ANY, "last_ready": ANY, "core_c": ANY,
        "loss_fraction": ANY, "colour": ANY, "gelatin": ANY, "pit_c": ANY, "grate_k": ANY, "on_time": 0.9,
        "least_core": 1.0, "ess": 100.0, "tempering_exponent": 1.0, "failed": 0, "notes": (), "windows": windows,
    }  # fmt: skip
    return ItemOutlook(**(parts | changes))


def task(label: str, act: str, wrap: str | None = None) -> Task:
    """Something to do at the big box."""
    return Task(label, 4, act, wrap, "big box", "the colour is set", None, 0.8, START + timedelta(hours=3))


def trip(by_min: float, *tasks: Task) -> Trip:
    """A trip that should be made by then."""
    return Trip(minutes(by_min - 5), minutes(by_min - 10), minutes(by_min), tasks)


def outlook(now: datetime, *items: ItemOutlook, trips: tuple[Trip, ...] = ()) -> Outlook:
    """An outlook of the supper."""
    return Outlook("supper", COOK.zone, now, None, 8, 1, items, (), trips)


PUT_ON = (Act(START, "racks", "put on"), Act(START, "butt", "put on"))


def ledger(*events: Reading | Act) -> Ledger:
    """Both items on their pits, and what else happened."""
    return Ledger.of([*PUT_ON, *events])


def pit(minute: float, value_c: float, label: str = "big box") -> Reading:
    """A reading of a pit's air."""
    return Reading(minutes(minute), "pit air", label, None, value_c)


def steady(first: int, last: int, value_c: float, label: str = "big box") -> list[Reading]:
    """A reading each minute."""
    return [pit(n, value_c, label) for n in range(first, last + 1)]
