"""``pitreckon record``: the safety record on the screen or in a file, and the check of one."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import DEFAULT_MEMBERS, At, CookFile, Log, Members, Rules, Seed, SetAside, Shown, Sources


def record(
    cook_file: CookFile,
    ledger: Log = None,
    at: At = None,
    meat: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'ITEM: WORDS'", help="What was done to it: intact, or injected, bladed, tumbled, rolled."
        ),
    ] = None,
    rules: Rules = None,
    signed: Annotated[str, typer.Option(metavar="NAME", help="Who signs.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="There: .json, .pdf, .html, .md, .txt."),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option(metavar="RECORD.json", help="Hold a record against the files; say what differs."),
    ] = None,
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    set_aside: SetAside = False,
    degrees: Shown = "F",
    sources: Sources = False,
) -> None:
    """The safety record of a cook: which rules each piece met, measured or reckoned; a check that nothing changed."""
    from rich.console import Console

    from pitreckon.cli.answers import PAPERS, ending_of, paper_of, reader_of
    from pitreckon.cli.record import check_file, handled_of
    from pitreckon.cli.run import log_of, moment_of, progress_line
    from pitreckon.cook.read import cook_from_text
    from pitreckon.ledger import Ledger
    from pitreckon.safety.record.form import document_of_record
    from pitreckon.sheets.documents.safetyrecord import safety_sheet
    from pitreckon.sheets.writers.text import print_sheet
    from pitreckon.sheets.writers.write import write_sheet, write_whole
    from pitreckon.text.file import read_text

    ending = ending_of(output, (".json", *PAPERS), "record") if check is None else None
    plan = read_text(cook_file)
    cook = cook_from_text(plan, str(cook_file))
    known = log_of(ledger, cook, set_aside=set_aside) or Ledger()
    if check is not None:
        raise typer.Exit(check_file(check, plan, known))
    if rules is not None:
        cook = replace(cook, rules=rules)
    handled = handled_of(meat or (), cook)
    now = None if at is None else moment_of(at, cook, known)
    with progress_line() as progress:
        progress.add_task("reckoning", total=None)
        from pitreckon.reckon.forecast import reckoning  # the kernel
        from pitreckon.safety.record.make import record_of

        done = reckoning(cook, known, now=now, members=members, seed=seed)
        made = record_of(done, plan, known, handled, signed_by=signed)
    if ending == ".json" and output is not None:
        text = json.dumps(document_of_record(made, degrees), indent=1, ensure_ascii=False) + "\n"
        write_whole(text.encode(), output, "the record")
    else:
        sheet = safety_sheet(made, reader=reader_of(cook.zone, degrees))
        if output is None:
            print_sheet(Console(highlight=False), sheet)
        else:
            write_sheet(sheet, output, paper_of(degrees))
    if output is not None:
        typer.echo(f"{output} is written", err=True)
    if sources:
        from pitreckon.cli.sources import of_record, print_sources

        print_sources(of_record(cook, made))
