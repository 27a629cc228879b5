"""What a plan has found, as lines and jobs of a sheet: the only module here that knows the records of planning."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from pitreckon.sheets.documents.runsheet import Job
from pitreckon.sheets.model import Line
from pitreckon.sheets.reader import Reader
from pitreckon.units import format_difference, format_duration, format_length, instant_after, round_half_up

if TYPE_CHECKING:
    from pitreckon.plan.buying.shopping import Shopping, ShoppingLine
    from pitreckon.plan.fuel.use import FuelUse
    from pitreckon.plan.prep.chores import Chore
    from pitreckon.plan.space.layout import Lie, Room

GROUPS: Final = {"meat": "Meat", "rub": "Rub", "wraps": "Wraps", "glaze": "Glaze"}
LONG_S: Final = 2 * 3600.0
"""What goes on by itself for longer than this is said with the day and the hour at which it is over."""


def shopping_lines(shopping: Shopping, reader: Reader) -> dict[str, tuple[Line, ...]]:
    """The shopping list under its headings, in its own order."""
    parts: dict[str, tuple[Line, ...]] = {}
    for line in shopping.lines:
        head = GROUPS.get(line.group, line.group.capitalize())
        parts[head] = (*parts.get(head, ()), Line(line.what, _amount(line, reader), line.why))
    return parts


def jobs_of(chores: Iterable[Chore], reader: Reader) -> tuple[Job, ...]:
    """What is done to the meat before it goes on, at its time; it takes hands only at its beginning."""
    jobs = []
    for chore in chores:
        busy = min(instant_after(chore.begin_utc, chore.hands_s), chore.end_utc)
        by_itself = chore.end_utc - chore.begin_utc > timedelta(seconds=max(chore.hands_s, LONG_S))
        over = f"until {reader.clock(chore.end_utc, chore.begin_utc)}; " if by_itself else ""
        key = f"{chore.item}/{chore.kind}"
        jobs.append(Job(chore.what, chore.item, chore.begin_utc, busy, note=f"{over}{chore.why}", key=key))
    return tuple(jobs)


def fuel_lines(uses: Iterable[FuelUse], reader: Reader) -> tuple[Line, ...]:
    """What each pit burns, where anything burns."""
    from pitreckon import catalog  # noqa: PLC0415  read from files, and only for their names

    names = {key: fuel.name for key, fuel in catalog.fuels().items()}
    lines = []
    for use in uses:
        if use.buy_kg <= 0.0:
            continue
        why = f"about {reader.mass(use.kg_per_h.p50)} an hour"
        if use.pieces is not None:
            why += f", {use.pieces} pieces in all"
        if use.first_fill_kg > 0.0:
            why += f"; fill in {reader.mass(use.first_fill_kg)} first"
        if use.lasts_s is not None:
            why += f"; one fill lasts {format_duration(use.lasts_s)}"
        lines.append(Line(f"{use.pit}: {names.get(use.fuel, use.fuel)}", reader.mass(use.buy_kg), why))
    return tuple(lines)


def room_lines(rooms: Iterable[Room], reader: Reader) -> tuple[Line, ...]:
    """Who lies where, grate by grate, and what found no room."""
    lines = []
    for room in rooms:
        for grate in room.grates:
            where = f"{room.pit}, grate {grate.number} from the top" if len(room.grates) > 1 else room.pit
            if grate.lies:
                lines.append(Line(where, "; ".join(_lie(lie, reader) for lie in grate.lies)))
        if room.over:
            left = ", ".join(f"{label} ×{count}" for label, count in room.over)
            lines.append(Line(f"{room.pit}: no room", left, room.remedy))
    return tuple(lines)


def _lie(lie: Lie, reader: Reader) -> str:
    where = f" {lie.place}" if lie.place else ""
    if where and abs(lie.offset_k) >= 1.0:
        where += f" ({format_difference(lie.offset_k, reader.degrees)})"
    return f"{lie.label} ×{lie.count}{where}"


def _amount(line: ShoppingLine, reader: Reader) -> str:
    match line.unit:
        case "kg":
            amount = reader.mass(line.amount)
        case "m":
            unit, size_m = ("ft", 0.3048) if reader.masses == "lb" else ("m", 1.0)
            whole = round_half_up(line.amount / size_m + 0.499)  # rather a foot too much than an inch too little
            amount = format_length(whole * size_m, "ft" if unit == "ft" else "m")
        case _:
            amount = f"{round_half_up(line.amount):.0f} {line.unit}"
    if line.pieces is not None:
        each = ""
        if line.low_kg is not None and line.high_kg is not None:
            each = f" of {reader.mass(line.low_kg)} to {reader.mass(line.high_kg)}"
        amount = f"{line.pieces}{each}, {amount} in all"
    return amount if line.price is None else f"{amount}, {line.price:.2f}"
