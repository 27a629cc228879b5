"""How commands answer: a sheet read in the scale that was asked for, on the screen, in a file or in a pipe."""

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import typer

from pitreckon.cli.envelope import plain
from pitreckon.cli.kept import keep
from pitreckon.errors import InputError, Place
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import Paper
from pitreckon.sheets.writers.write import ENDINGS, require_for, write_whole
from pitreckon.units import Scale

PAPERS: Final = tuple(kind for kind in ENDINGS if kind != ".ics")
"""Endings of what can be read, a calendar apart."""
STANDARD_OUTPUT: Final = "-"


def reader_of(zone: str, degrees: Scale, *, twelve_hour: bool = False) -> Reader:
    """Who reads a sheet: weights go with the scale of temperatures, F or C."""
    return Reader(zone, degrees, "lb" if degrees == "F" else "kg", twelve_hour)


def paper_of(degrees: Scale, asked: Paper | None = None) -> Paper:
    """The size of paper that was asked for; else US Letter with F, A4 with C."""
    return asked or ("letter" if degrees == "F" else "a4")


def is_pipe(output: Path | None) -> bool:
    """Whether ``-`` was given: standard output."""
    return output is not None and str(output) == STANDARD_OUTPUT


def ending_of(
    output: Path | None, kinds: Sequence[str], what: str, form: str | None = None, *, as_json: bool = False
) -> str | None:
    """The ending of what is to be written, asked for before anything is reckoned; None: nothing is.

    kinds: endings that there are; form: what ``--form`` said, without its point; as_json: an object is printed too

    Raises InputError: none of them; a pipe without a form; two answers for one pipe.
    Raises MissingExtraError: what writes it is not installed
    """
    if output is None:
        if form is not None:
            raise InputError("--form is of what is written", "Give -o as well; - is standard output", FORM)
        return None
    listing = ", ".join(kind[1:] for kind in kinds)
    if form is not None and f".{form.lower().lstrip('.')}" not in kinds:
        raise InputError(f"'{form}' is no kind of {what}", f"Write one of: {listing}", FORM)
    if is_pipe(output):
        if as_json:
            raise InputError("two answers cannot go to standard output", "Leave --json or -o - out", Place(field="-o"))
        if form is None:
            raise InputError("a pipe has no name that says what to write", f"Say it with --form: {listing}", FORM)
    if form is not None:
        require_for(f".{form.lower().lstrip('.')}")
        return f".{form.lower().lstrip('.')}"
    ending = output.suffix.lower()
    if ending not in kinds:
        trouble = f"'{ending}' is no kind of {what}" if ending else "the name has no ending that says what to write"
        raise InputError(trouble, f"End the name in one of: {', '.join(kinds)}", Place(str(output)))
    require_for(ending)
    return ending


FORM: Final = Place(field="--form")


def put_out(content: bytes, output: Path, what: str, *, say: bool = True) -> None:
    """Write a file in one step, and say so on standard error; ``-``: standard output, with nothing said.

    Raises InputError: it cannot be written.
    """
    if is_pipe(output):
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    write_whole(content, output, what)
    keep(str(output))
    if say:
        typer.echo(f"{output} is written", err=True)


def put_sheet(sheet: Sheet, output: Path, ending: str, paper: Paper) -> None:
    """Write a sheet as its ending says. Raises InputError: it cannot be written; PaperError: no PDF can be made."""
    put_out(ENDINGS[ending](sheet, paper), output, "the sheet")


def sheet_document(sheet: Sheet) -> Mapping[str, Any]:
    """A sheet block by block, for ``print_json``."""
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "name": sheet.name,
        "zone": sheet.reader.zone,
        "made_utc": sheet.made_utc,
        "foot": sheet.foot,
        "blocks": [{"block": type(block).__name__.lower(), **plain(block)} for block in sheet.blocks],
    }


def written(output: Path | None) -> str | None:
    """The name of the file that was written, for a JSON answer; None: none was."""
    return None if output is None or is_pipe(output) else str(output)
