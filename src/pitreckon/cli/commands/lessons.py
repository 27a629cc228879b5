"""``pitreckon lessons``: what a house has learned of its pits and its meat, and from which cooks."""

import json
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Ledger, Shown


def lessons(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="[LESSONS.json]",
            help="Where they are kept; made where there is none. With --ledger: what its house has learned goes there.",
        ),
    ] = None,
    learn: Annotated[
        list[str] | None,
        typer.Option(
            metavar="COOK.toml=LOG.csv", help="Learn from a cook and what happened in it; as often as need be."
        ),
    ] = None,
    leave_out: Annotated[
        list[str] | None, typer.Option(metavar="COOK", help="Forget a cook, by its file's name; as often as need be.")
    ] = None,
    anew: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PIT=DATE",
            help="The pit is another one since that day (a new gasket, moved): what earlier cooks told of it alone no "
            "longer counts.",
        ),
    ] = None,
    same: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PIT=DATE",
            help="The pit is the same one up to that day, whatever its cooks seem to tell; as often as need be.",
        ),
    ] = None,
    another_thermometer: Annotated[
        list[str] | None,
        typer.Option(
            metavar="[WHO=]DATE",
            help="Another thermometer since that day: what was learned of the old one no longer counts. WHO where the "
            "lessons name somebody.",
        ),
    ] = None,
    ledger: Ledger = None,
    as_json: Json = False,
    degrees: Shown = "F",
) -> None:
    """Say what earlier cooks tell of the next: how each pit runs, how each meat turns tender, and how sure that is."""
    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.learned import by_name, change, kept_in, read_lessons, show, write_lessons
    from pitreckon.errors import InputError, Place
    from pitreckon.lessons.house.form import text_of_lessons
    from pitreckon.reckon.learned import Lessons

    shown = None
    if ledger is not None:
        if learn or leave_out or anew or same or another_thermometer:
            remedy = "Do that on the page, or write them into a LESSONS.json first and change that"
            raise InputError(
                "what a ledger's house has learned is not changed from here", remedy, Place(field="--ledger")
            )
        house = kept_in(ledger)
        after, shown = house.lessons, by_name(house)
        if file is not None:
            write_lessons(after, file)
    elif file is None:
        raise InputError(
            "nothing says where the lessons are", "Give LESSONS.json, or --ledger", Place(field="LESSONS.json")
        )
    else:
        before = read_lessons(file) if file.exists() else Lessons()
        after = change(before, learn or [], leave_out or [], anew or [], same or [], another_thermometer or [])
        if after is not before:
            write_lessons(after, file)
    if as_json:
        print_json("lessons", json.loads(text_of_lessons(after)))
    else:
        show(shown or after, degrees)
