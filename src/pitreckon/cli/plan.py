"""A planned day: planned, on the screen, as JSON, as a run sheet."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import typer
from rich.console import Console
from rich.table import Table

from pitreckon import catalog
from pitreckon.cli.answers import reader_of
from pitreckon.cli.earlier import earlier_cooks
from pitreckon.cli.learned import read_lessons
from pitreckon.cli.run import kernel_ahead, progress_line, reckon_with_progress
from pitreckon.cli.screen import print_table
from pitreckon.cli.unusual import warn_unusual
from pitreckon.errors import InputError, Place
from pitreckon.forms.defaults import told
from pitreckon.plan.fuel.earlier import Lessons, lessons_of
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.cache import OptionCache
from pitreckon.plan.schedule.schedule import Answer, Call, PlannedPit, Schedule
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon.words import CAUTION
from pitreckon.sheets.documents.planned import additions, planned_shopping
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.reader import Reader
from pitreckon.text.file import read_text
from pitreckon.text.toml import parse_toml
from pitreckon.units import Scale, format_duration, format_percent, round_half_up


@dataclass(frozen=True)
class Planned:
    """A cook file's wishes, what earlier cooks taught of its pits, and what came of both."""

    wishes: Wishes
    lessons: Lessons
    answer: Answer


def planned(
    path: Path,
    seed: int = 1,
    limit_s: float = 8.0,
    learn_from: Sequence[str] = (),
    take: int | None = None,
    told_file: Path | None = None,
    degrees: Scale = "F",
) -> Planned:
    """Read and plan, with a line on standard error meanwhile.

    learn_from: as ``earlier_cooks`` reads it; take: plan with this one of the changes that help
    told_file: with the lessons of the house

    Raises InputError: the file is wrong, or there is no such change.
    """
    text = fed(read_text(path), str(path))
    wishes = wishes_from_text(text, str(path))
    warn_unusual(wishes, text, str(path), degrees)
    if told_file is not None:
        wishes = replace(wishes, learned=read_lessons(told_file))
    lessons = lessons_of(wishes, earlier_cooks(learn_from, wishes))
    with progress_line() as progress:
        task = progress.add_task(f"planning {wishes.name}", total=None)
        kernel_ahead()

        def told(words: str) -> None:
            progress.update(task, description=f"planning {wishes.name}: {words} (Ctrl-C ends it)")

        memory = OptionCache()
        answer = plan(wishes, seed=seed, limit_s=limit_s, lessons=lessons, progress=told, cache=memory)
        if take is not None:
            wishes = taken(answer, take)
            answer = plan(wishes, seed=seed, limit_s=limit_s, lessons=lessons, progress=told, cache=memory)
    return Planned(answer.wishes or wishes, lessons, answer)


def fed(text: str, file: str) -> str:
    """A cook file that says neither who eats nor how many pieces: with the usual number of people, and it is said.

    Raises InputError: it is no TOML; the defaults are wrong.
    """
    raw = parse_toml(text, file)
    items = raw.get("item")
    rows = [each for each in items if isinstance(each, dict)] if isinstance(items, list) else []
    if "guests" in raw or all("pieces" in each for each in rows):
        return text
    people = told("people")
    if people.value is None:
        return text
    typer.echo(f"{file} does not say who eats: {people.value} people, as {people.whence} has it", err=True)
    return f"{text}\n[guests]\nadults = {people.value}\n"


def taken(answer: Answer, number: int) -> Wishes:
    """The wishes with one of the changes that help, from 1. Raises InputError: there is none of this number."""
    changes = [change for change in answer.changes if change.wishes is not None]
    if not 1 <= number <= len(changes):
        many = f"there are {len(changes)}" if changes else "there is none"
        remedy = "Leave --take out to see them" if changes else "Leave --take out"
        raise InputError(f"there is no change {number} to take: {many}", remedy)
    chosen = changes[number - 1].wishes
    assert chosen is not None
    return chosen


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
    if buying:  # what to buy does not ask whether the day can be
        wishes = wishes_from_text(fed(read_text(path), str(path)), str(path))
        return planned_shopping(wishes, reader_of(wishes.zone, degrees, twelve_hour=twelve_hour))
    made = planned(path, seed, learn_from=learn_from, degrees=degrees)
    schedule = made.answer.best
    if schedule is None:
        why = "; ".join(made.answer.why) or "it cannot be planned"
        raise InputError(why, f"Ask less of the day; what would help says pitreckon plan {path}", Place(str(path)))
    reader = reader_of(made.wishes.zone, degrees, twelve_hour=twelve_hour)
    cook = to_cook(made.wishes, schedule)
    more = additions(made.wishes, schedule, reader, made.lessons)
    outlook = reckon_with_progress(cook, None, None, members, seed)
    return run_sheet(cook, outlook, reader=reader, chores=more.chores, fuel=more.fuel, room=more.room, notes=more.notes)


def print_plan(console: Console, made: Planned, reader: Reader) -> None:
    """The day on the screen, or why it cannot be and what could."""
    wishes, answer, schedule = made.wishes, made.answer, made.answer.best
    console.print(f"{wishes.name}, {reader.day(wishes.serve_utc)}   serve {reader.clock(wishes.serve_utc)}")
    if answer.schedule is None:
        for line in not_as_asked(answer, wishes, reader.told):
            console.print(line, soft_wrap=True)
        if schedule is None:
            console.print(CAUTION)
            return
        console.print()
        console.print("The nearest that can be done without it:" if answer.changes else "The nearest that can be done:")
    assert schedule is not None
    chance, asked = format_percent(schedule.chance), format_percent(wishes.chance)
    short = f", {asked} was asked" if answer.schedule is not None and schedule.chance < wishes.chance - LESS else ""
    console.print(f"All of it ready to serve together: {chance} likely{short}.")
    for each in schedule.alone:
        if each.counts_on:
            console.print(reader.told(each.counts_on), soft_wrap=True)
    cautions = [each.words for each in schedule.alone]
    for words in cautions:
        console.print(f"caution: {reader.told(words)}", soft_wrap=True)
    console.print()
    for trip in schedule.trips:
        seen = reader.clock(trip.at_utc, wishes.serve_utc)
        acts = "; ".join(_act(call, schedule, reader) for call in trip.calls)
        console.print(f"  {seen:>9}  {acts}", soft_wrap=True)
    console.print()
    print_table(console, _items(schedule, reader))
    console.print()
    for pit in schedule.pits:
        console.print(_fire(pit, schedule, reader), soft_wrap=True)
    for note in dict.fromkeys((*answer.notes, *schedule.notes)):
        if note not in cautions:
            console.print(f"note: {reader.told(note)}", soft_wrap=True)
    console.print(CAUTION)


def not_as_asked(answer: Answer, wishes: Wishes, told: Callable[[str], str] = str) -> list[str]:
    """What helps most first, in one sentence; then what else would; then why it cannot be as it was asked.

    told: a text as its reader has it
    """
    asked, best = format_percent(wishes.chance), answer.best
    have = "" if best is None else f", {format_percent(best.chance)} is what can be had"
    found = "Not found in the time there was" if answer.timed_out and not answer.why else "Not as asked"
    lines = [f"{found}: {asked} was asked{have}."]
    for number, change in enumerate(answer.changes, 1):
        sure = f": {format_percent(change.chance)} likely" if change.does and change.chance is not None else ""
        head = answer.lead if number == 1 else "Or"
        take = f" (--take {number})" if change.wishes is not None else ""
        lines.append(f"{head}: {told(change.what)}{sure}{take}")
    if not answer.changes and not answer.timed_out:
        lines.append(NO_HELP)
    lines += [f"  why  {told(line)}" for line in answer.why]
    return lines


LESS = 0.005
"""What is short by less than this reads as what was asked."""
NO_HELP = "No change that was tried, nor three together, makes it likely: ask less of the day, or part it in two."


def _fire(pit: PlannedPit, schedule: Schedule, reader: Reader) -> str:
    """How hot a pit is, till when, and what it burns."""
    ends = [
        trip.at_utc for trip in schedule.trips for call in trip.calls if (call.act, call.on) == ("shut down", pit.label)
    ]
    until = reader.clock(ends[-1] if ends else pit.off_utc, schedule.serve_utc)
    slow = reader.clock(pit.off_utc, schedule.serve_utc)
    late = f", {slow} if it goes slowly" if ends and ends[-1] < pit.off_utc else ""
    fuel = ""
    if pit.fuel_kg > 0.0:
        have = "" if pit.wants.buy_kg is None else f"; have {reader.bulk(pit.wants.buy_kg)} at hand"
        name = catalog.fuel(catalog.pit(pit.kind).fuel).name.lower()
        fuel = f"; about {reader.bulk(pit.fuel_kg)} of {name}{have}"
    return f"{pit.label}: {reader.temperature(pit.set_c)} until {until}{late}{fuel}"


def _act(call: Call, schedule: Schedule, reader: Reader) -> str:
    if call.act == "serve":
        return call.words if call.on == schedule.name else f"{call.on}: {call.words}"
    note = reader.told(call.note) if call.act != "do" else ""
    more = schedule.onto(call) or note
    return f"{call.on}: {call.words}" + (f" ({more})" if more else "")


def _items(schedule: Schedule, reader: Reader) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for head in ("what", "on", "ready (5 to 95 %)", "held", "on time"):
        table.add_column(head, overflow="fold")
    for item in schedule.items:
        what = f"{item.label}: {item.pieces} × {reader.mass(item.mass_kg)}, {'wrapped' if item.wrapped else 'bare'}"
        held_s = schedule.held_s(item.label)
        ready = [reader.clock(at, schedule.serve_utc) for at in (item.ready.p50, item.ready.p05, item.ready.p95)]
        table.add_row(
            what,
            reader.clock(item.put_on_utc, schedule.serve_utc),
            f"{ready[0]} ({ready[1]} to {ready[2]})",
            _held(held_s, item.hold_c, reader),
            format_percent(item.chance),
        )
    return table


def _held(held_s: float, hold_c: float, reader: Reader) -> str:
    """For how long in the warm place, and how warm that is."""
    if held_s < 150.0:
        return "–"
    return f"{format_duration(300.0 * round_half_up(held_s / 300.0))} at {reader.temperature(hold_c)}"


def document_of(made: Planned, written: str | None = None) -> dict[str, Any]:
    """The answer as one JSON object: SI, UTC instants. written: the file that the cook was written to, if it was."""
    answer = made.answer
    solving = answer.solving
    return {
        "name": made.wishes.name,
        "serve_utc": made.wishes.serve_utc.isoformat(),
        "asked": made.wishes.chance,
        "possible": answer.schedule is not None,
        "schedule": None if made.answer.best is None else _schedule(made.answer.best),
        "why_not": list(answer.why),
        "changes": [{"what": change.what, "does": change.does, "chance": change.chance} for change in answer.changes],
        "timed_out": answer.timed_out,
        "written": written,
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
                "held_s": schedule.held_s(item.label),
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
        "alone": [
            {
                "pit": each.pit,
                "from_utc": each.from_utc.isoformat(),
                "until_utc": each.until_utc.isoformat(),
                "words": each.words,
                "counts_on": each.counts_on,
            }
            for each in schedule.alone
        ],
        "notes": list(schedule.notes),
    }
