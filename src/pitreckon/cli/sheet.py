"""The work behind ``pitreckon sheet``: a cook reckoned, and its run sheet on the screen or in a file."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, cast

import typer
from rich.console import Console

from pitreckon.cli.run import moment_of, reckon_with_progress
from pitreckon.intake import read_cook, read_log
from pitreckon.sheets.page import Paper
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.runsheet import run_sheet
from pitreckon.sheets.text import print_sheet
from pitreckon.sheets.write import check_ending, write_sheet


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
) -> None:
    """Read, reckon, and print the sheet or write it; a name that cannot be written is refused before reckoning."""
    if output is not None:
        check_ending(output)
    cook = read_cook(cook_file)
    ledger = None if log_file is None else read_log(log_file, cook, set_aside=set_aside)
    now = None if at is None else moment_of(at, cook, ledger)
    outlook = reckon_with_progress(cook, ledger, now, members, seed)
    american = degrees == "F"
    reader = Reader(cook.zone, cast(Literal["F", "C"], degrees), "lb" if american else "kg", twelve_hour)
    sheet = run_sheet(cook, outlook, reader=reader)
    if output is None:
        print_sheet(Console(highlight=False), sheet)
        return
    write_sheet(sheet, output, cast(Paper, paper or ("letter" if american else "a4")))
    typer.echo(f"{output} is written", err=True)
