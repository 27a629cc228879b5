"""``pitreckon record``: the safety record on the screen or in a file, and the check of one."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import (
    DEFAULT_MEMBERS,
    At,
    Dates,
    Form,
    Json,
    Log,
    Members,
    Rules,
    Seed,
    SetAside,
    Shown,
    Sources,
)


def record(
    cook_file: Annotated[
        Path,
        typer.Argument(metavar="COOK.toml", help="The plan of the cook; or a .jsonl that 'pitreckon export' printed."),
    ],
    log: Log = None,
    at: At = None,
    handled: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'ITEM: WORDS'", help="What was done to it: intact, or injected, bladed, tumbled, rolled."
        ),
    ] = None,
    rules: Rules = None,
    signed: Annotated[str, typer.Option(metavar="NAME", help="Who signs.")] = "",
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. Its name ends in .json, .pdf, .html, .md or .txt; - is standard output.",
        ),
    ] = None,
    form: Form = None,
    check: Annotated[
        Path | None,
        typer.Option(metavar="RECORD.json", help="Hold a record against the files; say what differs."),
    ] = None,
    house: Annotated[
        str | None,
        typer.Option(metavar="PLACE", help="Sign the .json with the key of this ledger: a file or postgresql://..."),
    ] = None,
    house_key: Annotated[
        str, typer.Option(metavar="KEY", help="With --check: the key that has to have signed it, whole or in short.")
    ] = "",
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    set_aside: SetAside = False,
    dates: Dates = None,
    degrees: Shown = "F",
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """The safety record of a cook: which rules each piece met, measured or reckoned; a check that nothing changed."""
    from pitreckon.cli.answers import PAPERS, ending_of, is_pipe, paper_of, put_out, put_sheet, reader_of, written
    from pitreckon.cli.record import check_file, handled_of, rests_on
    from pitreckon.cli.run import kernel_ahead, moment_of, progress_line
    from pitreckon.cli.screen import Screen
    from pitreckon.safety.record.form import document_of_record
    from pitreckon.sheets.documents.safetyrecord import safety_sheet
    from pitreckon.sheets.writers.text import print_sheet

    ending = ending_of(output, (".json", *PAPERS), "record", form, as_json=as_json) if check is None else None
    rests = rests_on(cook_file, log, set_aside=set_aside, dates=dates, degrees=degrees)
    if check is not None:
        raise typer.Exit(check_file(check, rests, house_key, as_json=as_json))
    cook, known = rests.cook, rests.ledger
    key = ""
    if house is not None:
        from pitreckon.ledger.store import Store
        from pitreckon.safety.record.house import house_key as key_of

        with Store.open(house) as store:
            key = key_of(store)
    if rules is not None:
        cook = replace(cook, rules=rules)
    was_done = handled_of(handled or (), cook)
    now = None if at is None else moment_of(at, cook, known)
    with progress_line() as progress:
        progress.add_task("reckoning", total=None)
        kernel_ahead()
        from pitreckon.reckon.forecast import reckoning  # the kernel
        from pitreckon.safety.record.make import record_of
        from pitreckon.safety.record.sign import public_of

        done = reckoning(cook, known, now=now, members=members, seed=seed)
        public = public_of(key) if key else ""
        made = record_of(done, rests.plan, known, was_done, kept=rests.kept, signed_by=signed, house=public)
    if ending == ".json" and output is not None:
        text = json.dumps(document_of_record(made, degrees, key), indent=1, ensure_ascii=False) + "\n"
        put_out(text.encode(), output, "the record")
    elif output is not None and ending is not None:
        put_sheet(safety_sheet(made, reader=reader_of(cook.zone, degrees)), output, ending, paper_of(degrees))
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("record", {"record": document_of_record(made, degrees, key), "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), safety_sheet(made, reader=reader_of(cook.zone, degrees)))
    if sources:
        from pitreckon.cli.sources import of_record, print_sources

        print_sources(of_record(cook, made), as_json=as_json or is_pipe(output))
