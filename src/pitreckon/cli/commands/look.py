"""``pitreckon look``: the colour of meat measured in a photo, into the ledger if a cook is named."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Ledger, Members, Seed

LOOK_MEMBERS = 256


def look(
    photo: Annotated[Path, typer.Argument(metavar="PHOTO", help="A JPEG, PNG or WebP, as it was taken.")],
    meat: Annotated[
        list[str],
        typer.Option(
            metavar="X,Y",
            help="A place on the meat. One to five times: shares (0.4,0.55), percent (40%,55%) or pixels (1210,880) "
            "from the upper left.",
        ),
    ],
    white: Annotated[
        str, typer.Option(metavar="X,Y", help="A place on something white beside it. Paper or a plate, no foil.")
    ],
    cook: Annotated[
        str | None, typer.Option("--cook", metavar="ID", help="The cook in the ledger. It is recorded there as a look.")
    ] = None,
    ledger: Ledger = None,
    item: Annotated[
        str | None,
        typer.Option("--item", metavar="ITEM", help="Which item of the cook. By default the only one on the pit."),
    ] = None,
    piece: Annotated[int | None, typer.Option(min=1, help="At which piece of it.")] = None,
    at: Annotated[
        str | None, typer.Option("--taken", metavar="TIME", help="When the photo was taken. By default now.")
    ] = None,
    by: Annotated[str, typer.Option(metavar="NAME", help="Who took it.")] = "",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only show it: nothing is recorded or sent.")] = False,
    members: Members = LOOK_MEMBERS,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """Measure the colour of meat in a photo: the step of the scale, how sure, and how it moves the forecast."""
    from rich.console import Console

    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.photographed import taken
    from pitreckon.photo.words import measured_document, measured_words, value_of

    picture, measured, note = taken(photo, meat, white)
    told = None
    if cook is not None:
        from pitreckon.cli.looked import Wanted, looked_at

        wanted = Wanted(cook, item, piece, at, by, dry_run=dry_run, members=members, seed=seed)
        told = looked_at(ledger, wanted, picture, measured, note)
    if as_json:
        document = measured_document(measured)
        if told is not None:
            document |= {"item": told.item, "recorded": told.recorded, "forecast": list(told.moved)}
            document |= {"tapped": told.tapped}
        print_json("look", document)
        return
    console = Console(highlight=False, soft_wrap=True)
    for line in measured_words(measured):
        console.print(line)
    if told is None:
        console.print(f"In a log: look,ITEM,colour in a photo,{value_of(measured)}", style="dim")
        return
    console.print(f"[bold]{told.item}[/bold]")
    for line in told.moved:
        console.print(f"  {line}")
    if told.tapped:
        console.print(told.tapped)
    words = f"Recorded at {told.at}." if told.recorded else "Not recorded (--dry-run)."
    console.print(words if told.recorded is not None else "It was recorded before.")
