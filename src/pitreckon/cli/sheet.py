"""The work behind ``pitreckon sheet``: a cook reckoned, and its run sheet on the screen or in a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import typer
from rich.console import Console

from pitreckon.cli.answers import paper_of, reader_of
from pitreckon.cli.run import moment_of, reckon_with_progress
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger.log.read import read_log
from pitreckon.plan.read import asks_for_a_plan
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.writers.html import Paper
from pitreckon.sheets.writers.text import print_sheet
from pitreckon.sheets.writers.write import check_ending, write_sheet
from pitreckon.text.file import read_text


def make_sheet(
    cook_file: Path,
    log_file: Path | None,
    at: str | None,
    output: Path | None,
    paper: str | None,
    twelve_hour: bool,
    members: int,
    seed: int,
    set_aside: bool,
    degrees: str,
    learn_from: Sequence[str] = (),
    *,
    buying: bool = False,
) -> None:
    """Read, reckon, and print the sheet or write it; a name that cannot be written is refused before reckoning."""
    if output is not None:
        check_ending(output)
    size = paper_of(degrees, paper)
    if asks_for_a_plan(read_text(cook_file), str(cook_file)):
        if log_file is not None:
            raise InputError(
                "a log needs a cook that has been planned",
                "Write one first: pitreckon plan, with -o",
                Place(str(cook_file)),
            )
        made = _planned_sheet(cook_file, members, seed, twelve_hour, degrees, learn_from, buying=buying)
        _show(made, output, size)
        return
    if buying:
        raise InputError(
            "this cook has been planned, and no longer says who eats",
            "Name the file that the plan was made of",
            Place(str(cook_file)),
        )
    cook = read_cook(cook_file)
    ledger = None if log_file is None else read_log(log_file, cook, set_aside=set_aside)
    now = None if at is None else moment_of(at, cook, ledger)
    outlook = reckon_with_progress(cook, ledger, now, members, seed)
    reader = reader_of(cook.zone, degrees, twelve_hour=twelve_hour)
    _show(run_sheet(cook, outlook, reader=reader), output, size)


def _show(sheet: Sheet, output: Path | None, paper: Paper) -> None:
    if output is None:
        print_sheet(Console(highlight=False), sheet)
        return
    write_sheet(sheet, output, paper)
    typer.echo(f"{output} is written", err=True)


def _planned_sheet(
    path: Path, members: int, seed: int, twelve_hour: bool, degrees: str, learn_from: Sequence[str], *, buying: bool
) -> Sheet:
    """The sheet of a day that is planned first.

    Raises InputError: nothing can be planned.
    """
    from pitreckon.cli.plan import planned  # noqa: PLC0415  OR-Tools
    from pitreckon.plan.schedule.to_cook import to_cook  # noqa: PLC0415
    from pitreckon.sheets.documents.planned import additions, planned_shopping  # noqa: PLC0415

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
