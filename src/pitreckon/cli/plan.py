"""A planned day: planned, on the screen, as JSON, as a run sheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from pitreckon.cli.answers import reader_of
from pitreckon.cli.earlier import earlier_cooks
from pitreckon.cli.run import progress_line, reckon_with_progress
from pitreckon.errors import InputError, Place
from pitreckon.plan.fuel.earlier import Lessons, lessons_of
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.schedule import Answer, Call, Schedule
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon.words import CAUTION
from pitreckon.sheets.documents.planned import additions, planned_shopping
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.reader import Reader
from pitreckon.text.file import read_text
from pitreckon.units import Scale, format_duration, format_percent, round_half_up


@dataclass(frozen=True)
class Planned:
    """A cook file's wishes, what earlier cooks taught of its pits, and what came of both."""

    wishes: Wishes
    lessons: Lessons
    answer: Answer


def planned(path: Path, seed: int = 1, limit_s: float = 8.0, learn_from: Sequence[str] = ()) -> Planned:
    """Read and plan, with a line on standard error meanwhile. learn_from: as ``earlier_cooks`` reads it."""
    wishes = wishes_from_text(read_text(path), str(path))
    lessons = lessons_of(wishes, earlier_cooks(learn_from, wishes))
    with progress_line() as progress:
        progress.add_task(f"planning {wishes.name}", total=None)
        return Planned(wishes, lessons, plan(wishes, seed=seed, limit_s=limit_s, lessons=lessons))


def planned_sheet(
    path: Path,
    members: int,
    seed: int,
    degrees: Scale,
    learn_from: Sequence[str],
    *,
    twelve_hour: bool,
    buying: bool,
) -> Sheet:
    """The sheet of a day that is planned first.

    Raises InputError: nothing can be planned.
    """
    made = planned(path, seed, learn_from=learn_from)
    schedule = made.answer.best
    if schedule is None:
        raise InputError("; ".join(made.answer.why) or "it cannot be planned", "Ask less of the day", Place(str(path)))
    reader = reader_of(made.wishes.zone, degrees, twelve_hour=twelve_hour)
    if buying:
        return planned_shopping(made.wishes, reader)
    cook = to_cook(made.wishes, schedule)
    more = additions(made.wishes, schedule, reader, made.lessons)
    outlook = reckon_with_progress(cook, None, None, members, seed)
    return run_sheet(cook, outlook, reader=reader, chores=more.chores, fuel=more.fuel, room=more.room, notes=more.notes)


def print_plan(console: Console, made: Planned, reader: Reader) -> None:
    """The day on the screen, or why it cannot be and what could."""
    wishes, answer, schedule = made.wishes, made.answer, made.answer.best
    console.print(f"{wishes.name}, {reader.day(wishes.serve_utc)}   serve {reader.clock(wishes.serve_utc)}")
    if answer.schedule is None:
        asked = format_percent(wishes.chance)
        console.print(f"Not as asked: in {asked} of the scenarios all of it cannot be ready together.")
        for line in answer.why:
            console.print(f"  why      {line}", soft_wrap=True)
        for change in answer.changes:
            console.print(f"  instead  {change.what}", soft_wrap=True)
        if schedule is None:
            console.print(CAUTION)
            return
        console.print("The nearest that can be done:")
    assert schedule is not None
    console.print(f"All of it ready to serve together: {format_percent(schedule.chance)} likely.")
    console.print()
    for trip in schedule.trips:
        seen = reader.clock(trip.at_utc, wishes.serve_utc)
        console.print(f"  {seen:>9}  {'; '.join(_act(call) for call in trip.calls)}", soft_wrap=True)
    console.print()
    console.print(_items(schedule, reader))
    console.print()
    for pit in schedule.pits:
        fuel = f", about {reader.mass(pit.fuel_kg)} of fuel" if pit.fuel_kg > 0.0 else ""
        until = reader.clock(pit.off_utc, wishes.serve_utc)
        console.print(f"{pit.label}: {reader.temperature(pit.set_c)} until {until}{fuel}")
    for note in dict.fromkeys((*answer.notes, *schedule.notes)):
        console.print(f"note: {note}", soft_wrap=True)
    console.print(CAUTION)


def _act(call: Call) -> str:
    if call.act == "serve":
        return call.words
    return f"{call.on}: {call.words}" + (f" ({call.note})" if call.note else "")


def _items(schedule: Schedule, reader: Reader) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for head in ("what", "on", "ready (5 to 95 %)", "held", "on time"):
        table.add_column(head, overflow="fold")
    for item in schedule.items:
        what = f"{item.label}: {item.pieces} × {reader.mass(item.mass_kg)}, {'wrapped' if item.wrapped else 'bare'}"
        ready = [reader.clock(at, schedule.serve_utc) for at in (item.ready.p50, item.ready.p05, item.ready.p95)]
        table.add_row(
            what,
            reader.clock(item.put_on_utc, schedule.serve_utc),
            f"{ready[0]} ({ready[1]} to {ready[2]})",
            format_duration(300.0 * round_half_up(item.hold_s / 300.0)) if item.hold_s >= 150.0 else "–",
            format_percent(item.chance),
        )
    return table


def document_of(made: Planned) -> dict[str, Any]:
    """The answer as one JSON object: SI, UTC instants."""
    answer = made.answer
    solving = answer.solving
    return {
        "name": made.wishes.name,
        "serve_utc": made.wishes.serve_utc.isoformat(),
        "asked": made.wishes.chance,
        "possible": answer.schedule is not None,
        "schedule": None if made.answer.best is None else _schedule(made.answer.best),
        "why_not": list(answer.why),
        "changes": [change.what for change in answer.changes],
        "notes": list(answer.notes),
        "solving": {"status": solving.status, "gap": _finite(solving.gap), "scenarios": solving.members},
        "caution": CAUTION,
    }


def _finite(value: float) -> float | None:
    return value if abs(value) < 1e9 else None


def _schedule(schedule: Schedule) -> dict[str, Any]:
    return {
        "chance": schedule.chance,
        "fuel_kg": schedule.fuel_kg,
        "pits": [
            {
                "pit": pit.label,
                "set_c": pit.set_c,
                "lit_utc": None if pit.lit_utc is None else pit.lit_utc.isoformat(),
                "off_utc": pit.off_utc.isoformat(),
                "fuel_kg": pit.fuel_kg,
            }
            for pit in schedule.pits
        ],
        "items": [
            {
                "item": item.label,
                "cut": item.cut,
                "pieces": item.pieces,
                "mass_kg": item.mass_kg,
                "pit": item.pit,
                "wrapped": item.wrapped,
                "put_on_utc": item.put_on_utc.isoformat(),
                "ready_utc": {n: getattr(item.ready, n).isoformat() for n in ("p05", "p50", "p95")},
                "hold_s": item.hold_s,
                "hold_c": item.hold_c,
                "chance": item.chance,
            }
            for item in schedule.items
        ],
        "trips": [
            {
                "at_utc": trip.at_utc.isoformat(),
                "acts": [{"on": call.on, "act": call.act, "note": call.note} for call in trip.calls],
            }
            for trip in schedule.trips
        ],
        "notes": list(schedule.notes),
    }
