"""The cook's trips on a terminal: the two sentences that matter most, the next trip, those after it."""

from functools import partial
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table

from pitreckon.reckon import Outlook
from pitreckon.reckon.words import AT_ONCE, sentences, task_words
from pitreckon.units import Scale, format_clock


def print_trips(console: Console, outlook: Outlook, zone: ZoneInfo, scale: Scale) -> None:
    """The two sentences, the next trip and the later ones."""
    now = outlook.now_utc
    clock = partial(format_clock, zone=zone, seen_from=now)
    console.print(sentences(outlook, clock), style="bold")
    if not outlook.trips:
        return
    several = len({task.pit for trip in outlook.trips for task in trip.tasks if task.pit}) > 1
    table = Table.grid(padding=(0, 2, 0, 0))
    for _ in range(3):
        table.add_column(no_wrap=False, overflow="fold")
    for n, trip in enumerate(outlook.trips):
        at = "now" if trip.at_utc <= now + AT_ONCE else clock(trip.at_utc)
        for i, task in enumerate(trip.tasks):
            lead = ("  next trip" if n == 0 else "  later" if n == 1 else "", at) if i == 0 else ("", "")
            words = task_words(task, clock, scale, several_pits=several, coming_next=n == 0)
            table.add_row(*lead, words, style="" if n == 0 else "dim")
    console.print(table)
