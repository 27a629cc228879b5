"""``pitreckon against``: this time against last time, of two finished cooks of a cut."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Form, Json, Seed, Shown

PAIR = "COOK.toml=LOG.csv"


def against(
    this: Annotated[str, typer.Argument(metavar=PAIR, help="This time's cook, and what happened in it.")],
    last: Annotated[str, typer.Argument(metavar=PAIR, help="Last time's.")],
    item: Annotated[
        str | None,
        typer.Option(metavar="ITEM", help="Which item of the cook. By default the only one that is done."),
    ] = None,
    last_item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which of last time's. By default the one of the same cut.")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. Its name ends in .svg; - is standard output.",
        ),
    ] = None,
    form: Form = None,
    seed: Seed = 1,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """This time against last time: what was otherwise, and how many minutes each difference was worth."""
    from rich.console import Console

    from pitreckon.cli.answers import ending_of, is_pipe, put_out
    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.lasttime import compared, document_of, picture_of, print_against
    from pitreckon.cli.run import kernel_ahead, progress_line

    ending_of(output, (".svg",), "picture", form, as_json=as_json)
    with progress_line() as progress:
        progress.add_task("cooking last time's again, with one thing otherwise each", total=None)
        kernel_ahead()
        found = compared(this, last, item, last_item, seed)
    if output is not None:
        put_out(picture_of(found, degrees).encode(), output, "the picture")
    if as_json:
        print_json("against", document_of(found))
    elif not is_pipe(output):
        print_against(Console(highlight=False), found, degrees)
