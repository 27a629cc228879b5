"""``pitreckon plan``: wishes in, the day on the screen, as JSON, or as a cook file to follow."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Learned, LearnFrom, Seed, Shown, Sources


def plan(
    cook_file: Annotated[
        Path, typer.Argument(metavar="COOK.toml", help="Who eats, when, on which pits, and who is there when.")
    ],
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. The planned cook, to be followed; - is standard output.",
        ),
    ] = None,
    seed: Seed = 1,
    limit: Annotated[
        float, typer.Option(min=0.5, max=600.0, metavar="SECONDS", help="How long the choice may be worked on.")
    ] = 8.0,
    degrees: Shown = "F",
    learn_from: LearnFrom = None,
    take: Annotated[
        int | None,
        typer.Option(min=1, max=9, metavar="NUMBER", help="Plan with this one of the changes that would help."),
    ] = None,
    lessons: Learned = None,
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """Plan a day: when to light, what goes on when, wrapped or not, how hot, how sure it is; or what would help.

    Exit code 0: planned as it was asked; 3: it cannot be as asked, and what can be is shown.
    """
    from pitreckon.cli.answers import is_pipe, put_out, reader_of
    from pitreckon.cli.plan import document_of, planned, print_plan
    from pitreckon.cli.run import planned_name
    from pitreckon.cli.screen import Screen
    from pitreckon.cook.write import cook_text
    from pitreckon.errors import InputError, Place
    from pitreckon.plan.schedule.to_cook import to_cook

    if is_pipe(output) and as_json:
        raise InputError("two answers cannot go to standard output", "Leave --json or -o - out", Place(field="-o"))
    if output is not None and output.exists() and cook_file.exists() and output.samefile(cook_file):
        remedy = f"Name another file, such as {planned_name(cook_file)}"
        raise InputError("what was wished would be lost under what is planned", remedy, Place(str(output), field="-o"))
    made = planned(cook_file, seed, limit, tuple(learn_from or ()), take, lessons, degrees)
    best = made.answer.best
    if output is not None and best is not None:
        put_out(cook_text(to_cook(made.wishes, best)).encode(), output, "the cook", say=False)
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("plan", document_of(made, None if output is None or best is None else str(output)))
    else:
        console = Screen(degrees, stderr=is_pipe(output))
        print_plan(console, made, reader_of(made.wishes.zone, degrees))
        if output is not None and best is None:
            console.print(f"{output} is not written: there is nothing to follow")
        elif output is not None and not is_pipe(output):
            what = "" if made.answer.schedule is not None else ", with the nearest that can be done"
            console.print(f"{output} is written{what}: follow it with pitreckon reckon {output}", soft_wrap=True)
    if sources:
        from pitreckon.cli.sources import of_plan, print_sources

        print_sources(of_plan(made.wishes), as_json=as_json or is_pipe(output))
    if made.answer.schedule is None:
        raise typer.Exit(3)
