"""The cook's trips on a terminal: the two sentences that matter most, the next trip, those after it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table

from pitreckon.reckon import Outlook, Task
from pitreckon.units import format_clock, format_percent, format_temperature

Scale = Literal["F", "C"]
AT_ONCE = timedelta(minutes=1)
DOING = {
    "put on": "put on",
    "wrap": "wrap",
    "unwrap": "unwrap",
    "sauce": "sauce",
    "put back": "put back on the pit",
    "take off": "take off",
    "hold": "put in the hold",
}


def sentences(outlook: Outlook, zone: ZoneInfo) -> str:
    """Until when the cook is free, and by when to be back; what is due or overdue now is said to be.

    Times are rounded to the safe side: free until the whole minute before, back by the whole minute before.
    """
    now = outlook.now_utc
    free, back = outlook.free_until_utc, outlook.be_back_utc
    if free is None or back is None:
        if any(item.windows for item in outlook.items):
            return "No trip is in sight yet: reckon again when the log says more."
        return "Nothing waits for you at the pit: you are free."
    if free <= now + AT_ONCE:
        if back <= now + 2 * AT_ONCE:
            return "You are not free: be back now."
        return f"You are not free: something is due. Be back by {_before(back, zone, now)}."
    return f"You are free until {_before(free, zone, now)}. Be back by {_before(back, zone, now)}."


def task_words(
    task: Task, zone: ZoneInfo, now: datetime, scale: Scale, *, several_pits: bool, coming_next: bool
) -> str:
    """What to do on a trip, what to wait for, how likely it is so far then, and on the next trip what if it is not."""
    head = f"{task.item} ({task.pit})" if several_pits and task.pit else task.item
    doing = DOING[task.act] + (f" in {task.wrap}" if task.wrap else "")
    if task.act == "put on":
        return f"{head}: {doing}"
    core_c = task.until_core_c
    words = f"{head}: {doing} when "
    words += task.until if core_c is None else f"the core is at {format_temperature(core_c, scale)}"
    if task.again_utc is None:
        return words
    words += f" ({format_percent(task.open)} likely by then"
    return words + (
        f"; if not yet, again at {format_clock(task.again_utc, zone, seen_from=now)})" if coming_next else ")"
    )


def print_trips(console: Console, outlook: Outlook, zone: ZoneInfo, scale: Scale) -> None:
    """The two sentences, the next trip and the later ones."""
    console.print(sentences(outlook, zone), style="bold")
    if not outlook.trips:
        return
    now = outlook.now_utc
    several = len({task.pit for trip in outlook.trips for task in trip.tasks if task.pit}) > 1
    table = Table.grid(padding=(0, 2, 0, 0))
    for _ in range(3):
        table.add_column(no_wrap=False, overflow="fold")
    for n, trip in enumerate(outlook.trips):
        at = "now" if trip.at_utc <= now + AT_ONCE else format_clock(trip.at_utc, zone, seen_from=now)
        for i, task in enumerate(trip.tasks):
            lead = ("  next trip" if n == 0 else "  later" if n == 1 else "", at) if i == 0 else ("", "")
            words = task_words(task, zone, now, scale, several_pits=several, coming_next=n == 0)
            table.add_row(*lead, words, style="" if n == 0 else "dim")
    console.print(table)


def _before(at: datetime, zone: ZoneInfo, now: datetime) -> str:
    return format_clock(at.replace(second=0, microsecond=0), zone, seen_from=now)
