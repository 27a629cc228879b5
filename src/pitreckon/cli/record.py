"""The work behind ``pitreckon record``: the safety record on the screen or in a file, and the check of one."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import typer
from rich.console import Console

from pitreckon.cli.answers import paper_of, reader_of
from pitreckon.cli.run import moment_of, progress_line
from pitreckon.cli.sources import of_record, print_sources
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.safety.record.form import check_record, document_of_record
from pitreckon.safety.rules.meat import UNTOUCHED, Handled
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.writers.text import print_sheet
from pitreckon.sheets.writers.write import ENDINGS, write_sheet, write_whole
from pitreckon.text.file import read_text

DONE = ("ground", "injected", "bladed", "tumbled", "rolled", "stuffed")


def handled_of(said: tuple[str, ...], cook: Cook) -> dict[str, Handled]:
    """What was done to the meat, from texts such as ``butt: injected, bladed`` or ``racks: intact``.

    Raises InputError: an item that the cook does not have, or a word that is none.
    """
    out: dict[str, Handled] = {}
    labels = {item.label.casefold(): item.label for item in cook.items}
    for text in said:
        name, colon, words = text.partition(":")
        label = labels.get(name.strip().casefold())
        if label is None or not colon:
            listing = ", ".join(labels.values())
            raise InputError(
                f"'{text}' does not begin with an item", f"Write it as in '{next(iter(labels.values()))}: intact'. "
                f"The items are: {listing}", Place(field="--meat"),
            )  # fmt: skip
        given = {word.strip().casefold() for word in words.split(",") if word.strip()}
        if not given or not given <= {"intact", *DONE} or ("intact" in given and len(given) > 1):
            raise InputError(
                f"'{words.strip()}' is nothing that is done to meat", f"Write intact, or any of {', '.join(DONE)}",
                Place(field="--meat"),
            )  # fmt: skip
        out[label] = UNTOUCHED if given == {"intact"} else replace(UNTOUCHED, **dict.fromkeys(given, True))
    return out


def _read(cook_file: Path, log_file: Path | None, *, set_aside: bool) -> tuple[str, Cook, Ledger]:
    plan = read_text(cook_file)
    cook = cook_from_text(plan, str(cook_file))
    if log_file is None:
        return plan, cook, Ledger()
    return plan, cook, log_from_text(read_text(log_file), str(log_file), cook, set_aside=set_aside)


def make_record(
    cook_file: Path,
    log_file: Path | None,
    at: str | None,
    meat: tuple[str, ...],
    signed: str,
    output: Path | None,
    members: int,
    seed: int,
    degrees: str,
    *,
    set_aside: bool,
    sources: bool = False,
) -> None:
    """Make the record; a name that cannot be written is refused before anything is reckoned."""
    ending = None if output is None else output.suffix.lower()
    kinds = (".json", *(kind for kind in ENDINGS if kind != ".ics"))
    if ending is not None and ending not in kinds:
        raise InputError(
            f"'{ending}' is no kind of record", f"End the name in one of: {', '.join(kinds)}", Place(str(output))
        )
    plan, cook, ledger = _read(cook_file, log_file, set_aside=set_aside)
    handled = handled_of(meat, cook)
    now = None if at is None else moment_of(at, cook, ledger)
    with progress_line() as progress:
        progress.add_task("reckoning", total=None)
        from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415  the kernel
        from pitreckon.safety.record.make import record_of  # noqa: PLC0415

        done = reckoning(cook, ledger, now=now, members=members, seed=seed)
        made = record_of(done, plan, ledger, handled, signed_by=signed)
    if ending == ".json" and output is not None:
        text = json.dumps(document_of_record(made), indent=1, ensure_ascii=False) + "\n"
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
        print_sources(of_record(cook, made))


def check_files(cook_file: Path, log_file: Path | None, record_file: Path, *, set_aside: bool) -> int:
    """Say what differs from a record; 0 when nothing speaks against it, else 1."""
    plan, _, ledger = _read(cook_file, log_file, set_aside=set_aside)
    try:
        document = json.loads(read_text(record_file))
    except ValueError as fault:
        raise InputError(
            "it is no JSON", "Name the .json file that pitreckon record has written", Place(str(record_file))
        ) from fault
    found = check_record(document, plan, ledger)
    console = Console(highlight=False)
    faults = [each for each in found if each.fault]
    for each in found:
        console.print(f"{'differs' if each.fault else 'since'}  {each.words}", soft_wrap=True)
    if faults:
        console.print("The record and the files are not of one piece.")
        return 1
    console.print("The record holds: plan and entries are as they were when it was made.")
    return 0
