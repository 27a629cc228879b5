"""``pitreckon lessons``: what a house has learned of its pits and its meat, and from which cooks."""

import json
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Shown


def lessons(
    file: Annotated[
        Path, typer.Argument(metavar="LESSONS.json", help="Where they are kept; made where there is none.")
    ],
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
    as_json: Json = False,
    degrees: Shown = "F",
) -> None:
    """Say what earlier cooks tell of the next: how each pit runs, how each meat turns tender, and how sure that is."""
    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.learned import change, read_lessons, show, write_lessons
    from pitreckon.lessons.house.form import text_of_lessons
    from pitreckon.reckon.learned import Lessons

    before = read_lessons(file) if file.exists() else Lessons()
    after = change(before, learn or [], leave_out or [], anew or [])
    if after is not before:
        write_lessons(after, file)
    if as_json:
        print_json("lessons", json.loads(text_of_lessons(after)))
    else:
        show(after, degrees)
