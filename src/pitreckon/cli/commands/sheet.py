"""``pitreckon sheet``: a cook reckoned, and its run sheet on the screen or in a file."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import (
    DEFAULT_MEMBERS,
    At,
    CookFile,
    Dates,
    Form,
    Json,
    LearnFrom,
    Log,
    Members,
    Paper,
    Seed,
    SetAside,
    Shown,
)


def sheet(
    cook_file: CookFile,
    log: Log = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. Its name ends in .pdf, .ics, .html, .md or .txt; - is standard output.",
        ),
    ] = None,
    form: Form = None,
    paper: Paper = None,
    twelve_hour: Annotated[bool, typer.Option("--twelve-hour", help="Write 2:05 pm instead of 14:05.")] = False,
    at: At = None,
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    set_aside: SetAside = False,
    dates: Dates = None,
    degrees: Shown = "F",
    buying: Annotated[bool, typer.Option("--buying", help="What to buy, in place of what to do.")] = False,
    learn_from: LearnFrom = None,
    as_json: Json = False,
) -> None:
    """Make the run sheet that hangs by the pit, to print or to read, or the calendar of the same day.

    A file that leaves the day to be planned is planned first.
    """
    from pitreckon.cli.answers import ending_of, paper_of, put_sheet, reader_of, sheet_document, written
    from pitreckon.cli.run import one_from_a_pipe, read_files, reckon_with_progress
    from pitreckon.cli.screen import Screen
    from pitreckon.errors import InputError, Place
    from pitreckon.plan.read import asks_for_a_plan
    from pitreckon.sheets.documents.runsheet import run_sheet
    from pitreckon.sheets.writers.text import print_sheet
    from pitreckon.sheets.writers.write import ENDINGS
    from pitreckon.text.file import read_text

    ending = ending_of(output, tuple(ENDINGS), "sheet", form, as_json=as_json)  # refused before reckoning
    here = Place(str(cook_file))
    one_from_a_pipe(cook_file, log)
    if asks_for_a_plan(read_text(cook_file), str(cook_file)):
        if log is not None:
            raise InputError(
                "a log needs a cook that has been planned", "Write one first: pitreckon plan, with -o", here
            )
        from pitreckon.cli.plan import planned_sheet  # OR-Tools

        how = {"twelve_hour": twelve_hour, "buying": buying}
        made = planned_sheet(cook_file, members, seed, degrees, tuple(learn_from or ()), **how)
    elif buying:
        raise InputError(
            "this cook has been planned, and no longer says who eats", "Name the file that the plan was made of", here
        )
    else:
        cook, known, now = read_files(cook_file, log, at, set_aside=set_aside, dates=dates, degrees=degrees)
        outlook = reckon_with_progress(cook, known, now, members, seed)
        made = run_sheet(cook, outlook, reader=reader_of(cook.zone, degrees, twelve_hour=twelve_hour))
    if output is not None and ending is not None:
        put_sheet(made, output, ending, paper_of(degrees, paper))
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("sheet", {**sheet_document(made), "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), made)
