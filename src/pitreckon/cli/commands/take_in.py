"""``pitreckon take-in`` and ``watch``: a logger's file into the ledger of a cook, whole or as it grows."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Dates, Json, Ledger, Scale

File = Annotated[Path, typer.Argument(metavar="FILE", help="A table that a logger wrote: CSV or the like.")]
CookId = Annotated[
    str | None, typer.Option("--cook", metavar="ID", help="The cook in the ledger. By default the only one there.")
]
Plan = Annotated[
    Path | None, typer.Option("--plan", metavar="COOK.toml", help="Add this cook if it is not in the ledger yet.")
]
Unit = Annotated[Scale | None, typer.Option("--unit", help="Scale of its numbers, when it cannot be told.")]
Start = Annotated[
    str | None,
    typer.Option("--start", metavar="TIME", help="When its first row was, if its times have no day or only count."),
]
Column = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="HEADER=NAME",
        help="What a column measures: a pit, an item with or without a piece number, or 'leave'. Once a column.",
    ),
]
Device = Annotated[str, typer.Option("--device", metavar="NAME", help="What its readings are recorded as by.")]


def take_in(
    file: File,
    cook: CookId = None,
    plan: Plan = None,
    ledger: Ledger = None,
    unit: Unit = None,
    dates: Dates = None,
    start: Start = None,
    column: Column = None,
    device: Device = "logger",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only show it: nothing is recorded or sent.")] = False,
    as_json: Json = False,
) -> None:
    """Take a logger's file into the ledger of a cook; taken in again, nothing is doubled."""
    from pitreckon.cli import takein

    with takein.open_goal(ledger, cook, plan) as goal:
        answers = takein.answers_of(goal.cook, unit, dates, start, column or ())
        takein.take_in(file, goal, answers, device, dry_run=dry_run, as_json=as_json)


def watch(
    file: File,
    cook: CookId = None,
    plan: Plan = None,
    ledger: Ledger = None,
    unit: Unit = None,
    dates: Dates = None,
    start: Start = None,
    column: Column = None,
    device: Device = "logger",
    once: Annotated[bool, typer.Option("--once", help="Stop at the present end of the file.")] = False,
) -> None:
    """Follow a file that a logger is writing, and record its readings as they come, until it is interrupted."""
    from pitreckon.cli import takein

    with takein.open_goal(ledger, cook, plan) as goal:
        answers = takein.answers_of(goal.cook, unit, dates, start, column or ())
        takein.watch(file, goal, answers, device, once=once)
