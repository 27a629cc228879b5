"""An outlook on a terminal: plain sentences, clock times with their spread, and the windows drawn."""

import math
from datetime import datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pitreckon import catalog
from pitreckon.cli.screen import NARROW
from pitreckon.cook import Cook
from pitreckon.reckon import ItemOutlook, Outlook, Quantiles
from pitreckon.reckon.quantiles import readable
from pitreckon.reckon.statements import item_statements, statements
from pitreckon.reckon.words import (
    AT_ONCE,
    CAUTION,
    STANDING,
    colour_word,
    next_look_words,
    sentences,
    task_words,
)
from pitreckon.text.said import in_units
from pitreckon.units import (
    Scale,
    format_clock,
    format_local,
    format_percent,
    format_temperature,
    instant_after,
    round_half_up,
)


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
            words = in_units(task_words(task, clock, scale, several_pits=several, coming_next=n == 0), scale)
            table.add_row(*lead, words, style="" if n == 0 else "dim")
    console.print(table)


SHADES = " ░▒▓█"
LABEL_WIDTH = 9
SPREAD = "What may be, and what is in brackets: 5 to 95 %."
WORTH_TELLING_S = 300.0
"""Pieces that come no further apart are told as one."""


def clock(item: ItemOutlook, seconds: float, zone: ZoneInfo, now: datetime) -> str:
    """A time since put-on as a clock time, rounded to the minute; a dash where it is not reached."""
    if not math.isfinite(seconds):
        return "–"
    return format_clock(instant_after(item.put_on_utc, round_half_up(seconds / 60.0) * 60.0), zone, seen_from=now)


def span(item: ItemOutlook, quantiles: Quantiles, zone: ZoneInfo, now: datetime) -> str:
    """``likely 14:30, may be 13:50 to 15:10``: median, 5 and 95 %, rounded to what such a width can tell.

    What is not reached in every case has no end to tell; what is not reached in most of them no middle either.
    """
    if quantiles.reached < 0.05:
        return "not in sight"
    quantiles = readable(quantiles, item.put_on_utc.timestamp())
    middle = clock(item, quantiles.p50, zone, now)
    low, high = clock(item, quantiles.p05, zone, now), clock(item, quantiles.p95, zone, now)
    if not math.isfinite(quantiles.p50):
        return f"unlikely, {low} at the earliest"
    if not math.isfinite(quantiles.p95):
        return f"likely {middle}, {low} at the earliest"
    return middle if low == high else f"likely {middle}, may be {low} to {high}"


def _warm(quantiles: Quantiles, scale: Scale) -> str:
    low, mid, high = (format_temperature(v, scale) for v in (quantiles.p05, quantiles.p50, quantiles.p95))
    return mid if low == high else f"{mid} ({low[:-2].strip()} to {high})"


def _scale(outlook: Outlook, width: int) -> tuple[datetime, float]:
    """Start and minutes a column of the drawing, over all items."""
    starts = [item.put_on_utc for item in outlook.items]
    ends = []
    for item in outlook.items:
        for quantiles in (*[s.ends_s for s in item.stages], item.marks["ready"]):
            last = quantiles.p95 if math.isfinite(quantiles.p95) else quantiles.p50
            if math.isfinite(last):
                ends.append(instant_after(item.put_on_utc, last))
    if outlook.serve_utc is not None:
        ends.append(outlook.serve_utc)
    start = min(starts)
    start -= timedelta(minutes=start.minute % 30, seconds=start.second)
    total = max((max(ends) - start).total_seconds() / 60.0, 60.0) * 1.03
    return start, total / width


def _axis(start: datetime, minutes: float, width: int, zone: ZoneInfo) -> Text:
    line = [" "] * width
    every = next((h for h in (1, 2, 3, 4, 6, 12, 24, 48) if h * 60 / minutes >= 9), 96)
    at = start.astimezone(zone).replace(minute=0, second=0, microsecond=0)
    for _ in range(200):
        column = int((at.astimezone(start.tzinfo) - start).total_seconds() / 60 / minutes)
        if column > width - 5:
            break
        if column >= 0 and at.hour % every == 0:
            line[column : column + 5] = at.strftime("%H:%M")
        at = (at.astimezone(start.tzinfo) + timedelta(hours=1)).astimezone(zone)
    return Text(" " * LABEL_WIDTH + "".join(line), style="dim")


def _band(outlook: Outlook, start: datetime, minutes: float, width: int, item: ItemOutlook, index: int) -> Text:
    stage = item.stages[index]
    text = Text(f"  {stage.kind:<{LABEL_WIDTH - 2}}")
    now_column = int((outlook.now_utc - start).total_seconds() / 60 / minutes)
    serve_column = -1
    if outlook.serve_utc is not None:
        serve_column = int((outlook.serve_utc - start).total_seconds() / 60 / minutes)
    for column in range(width):
        at = (start - item.put_on_utc).total_seconds() + (column + 0.5) * minutes * 60
        begun = stage.begins_s.chance_by(at) if index else float(at >= 0)
        odds = max(begun - stage.ends_s.chance_by(at), 0.0)
        shade = SHADES[min(int(odds * 4 + 0.5), 4)]
        half = minutes * 30
        if shade == " " and stage.begins_s.p50 - half <= at < max(stage.ends_s.p50, stage.begins_s.p50 + half):
            shade = SHADES[1]  # a short stage is likely at no one moment; its place is shown all the same
        if shade == " " and column == now_column:
            text.append("│", style="bold")
        elif shade == " " and column == serve_column:
            text.append("┊", style="bold")
        else:
            text.append(shade)
    return text


def _row(console: Console, head: str, words: str, when: str, style: str = "") -> None:
    """What happens, and when: in columns where there is room for them, else the time below what it is of."""
    if console.width >= NARROW:
        line = f"  {head:<8} {words:<28} {when}" if head else f"  {words:<37} {when}"
    else:
        what = f"  {f'{head} {words}'.strip()}"
        line = f"{what}  {when}" if len(what) + 2 + len(when) <= console.width else f"{what}\n    {when}"
    console.print(line, style=style)


def _item(console: Console, outlook: Outlook, item: ItemOutlook, zone: ZoneInfo, scale: Scale) -> None:
    now = outlook.now_utc
    head = Text()
    head.append(item.label, style="bold")
    count = f"{item.pieces} × " if item.pieces > 1 else ""
    put_on = format_clock(item.put_on_utc, zone, seen_from=now)
    head.append(f"   {count}{item.cut_name}, {'to go on at' if item.put_on_planned else 'on since'} {put_on}")
    console.print(head)
    if now >= item.put_on_utc:
        current = max(item.stages, key=lambda s: s.now, default=None)
        doing = STANDING[current.kind] if current is not None and current.now > 0 else "off"
        doing = "served" if item.served_utc is not None else doing
        console.print(f"  now {doing}: core {_warm(item.core_c, scale)}, pit air {_warm(item.pit_c, scale)}")
        lost, colour = format_percent(item.loss_fraction.p50), colour_word(item.colour.p50)
        console.print(f"  water lost {lost}, colour {colour}")
    for stage in item.stages:
        until = stage.until
        if stage.until_core_c is not None:
            until = f"{format_temperature(stage.until_core_c, scale)} at the core"
        mark = "done" if stage.done else f"until {until}"
        _row(console, stage.kind, mark, span(item, stage.ends_s, zone, now))
    for window in item.windows:
        if window.closes_by and window.closes_s.reached >= 0.05:
            late = f"too late: {window.closes_by}"
            _row(console, window.act, late, span(item, window.closes_s, zone, now))
    done = "tender" if catalog.cuts()[item.cut].texture.done_by == "tender" else "done at the core"
    for name, words in (("colour_set", "colour set"), ("tender", done), ("glaze_set", "glaze set")):
        quantiles = item.marks[name]
        if quantiles.reached >= 0.05:
            _row(console, "·", words, span(item, quantiles, zone, now), "dim")
    ready, past = item.marks["ready"], item.marks["past_best"]
    _row(console, "", "ready", span(item, ready, zone, now), "bold")
    if item.pieces > 1 and item.last_ready.p50 - item.first_ready.p50 >= WORTH_TELLING_S:
        for quantiles, words in ((item.first_ready, "the first of them"), (item.last_ready, "the last of them")):
            _row(console, "·", words, span(item, quantiles, zone, now), "dim")
    if past.reached >= 0.05:
        _row(console, "", "past its best", span(item, past, zone, now))
    for said in item_statements(item, outlook, partial(format_clock, zone=zone, seen_from=now)):
        console.print(f"  {said.line}")
    if item.next_look is not None:
        told = next_look_words(item.next_look, partial(format_clock, zone=zone, seen_from=now))
        console.print(f"  worth a look: {told}")
    for note in item.notes:
        console.print(f"  note: {note}")


def _draw(console: Console, outlook: Outlook, zone: ZoneInfo) -> None:
    width = min(console.width, 110) - LABEL_WIDTH - 1
    start, minutes = _scale(outlook, width)
    console.print(_axis(start, minutes, width, zone))
    for item in outlook.items:
        console.print(item.label, style="bold")
        for index in range(len(item.stages)):
            console.print(_band(outlook, start, minutes, width, item, index), soft_wrap=True)
    console.print(f"{'':<{LABEL_WIDTH}}darker: likelier to be in that stage; │ now, ┊ serving time", style="dim")


def print_outlook(console: Console, outlook: Outlook, cook: Cook, scale: Scale) -> None:
    """The whole outlook: trips, items, the windows drawn, what was rejected, the caution."""
    zone = cook.zone_info
    title = f"{outlook.cook}, {format_local(outlook.now_utc, zone)}"
    if outlook.serve_utc is not None:
        title += f"   serve {format_clock(outlook.serve_utc, zone, seen_from=outlook.now_utc)}"
    if len(title) + 4 <= console.width:
        console.rule(title, align="left")
    else:
        console.print(title.replace("   ", "\n"), style="bold")  # when it is served is not cut off
    print_trips(console, outlook, zone, scale)
    for said in statements(outlook, partial(format_clock, zone=zone, seen_from=outlook.now_utc)):
        console.print(f"  {said.line}", style="bold")
    console.print()
    for item in outlook.items:
        _item(console, outlook, item, zone, scale)
        console.print()
    if console.width >= NARROW:
        _draw(console, outlook, zone)
    for line in outlook.rejected:
        console.print(f"not used: {line}", style="yellow")
    console.print(
        f"\n{outlook.members} members, seed {outlook.seed}. What may be, and what is in brackets: 5 to 95 %.",
        style="dim",
    )
    console.print(CAUTION, style="dim")
