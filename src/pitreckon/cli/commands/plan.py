"""``pitreckon plan``: wishes in, the day on the screen, as JSON, or as a cook file to follow."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, LearnFrom, Seed, Shown, Sources


def plan(
    cook_file: Annotated[
        Path, typer.Argument(metavar="COOK.toml", help="Who eats, when, on which pits, and who is there when.")
    ],
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write the planned cook there, to be followed."),
    ] = None,
    seed: Seed = 1,
    limit: Annotated[
        float, typer.Option(min=0.5, max=600.0, metavar="SECONDS", help="How long the choice may be worked on.")
    ] = 8.0,
    degrees: Shown = "F",
    learn_from: LearnFrom = None,
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """Plan a day: when to light, what goes on when, wrapped or not, how hot, how sure it is; or why it cannot be."""
    from rich.console import Console

    from pitreckon.cli.answers import print_json, reader_of
    from pitreckon.cli.plan import document_of, planned, print_plan
    from pitreckon.cook.write import cook_text
    from pitreckon.plan.schedule.to_cook import to_cook
    from pitreckon.sheets.writers.write import write_whole

    made = planned(cook_file, seed, limit, tuple(learn_from or ()))
    best = made.answer.best
    if output is not None and best is not None:
        write_whole(cook_text(to_cook(made.wishes, best)).encode(), output)
    if as_json:
        print_json(document_of(made))
    else:
        console = Console(highlight=False)
        print_plan(console, made, reader_of(made.wishes.zone, degrees))
        if output is not None and best is not None:
            console.print(f"{output} is written: follow it with pitreckon reckon {output}")
    if sources:
        from pitreckon.cli.sources import of_plan, print_sources

        print_sources(of_plan(made.wishes), as_json=as_json)
