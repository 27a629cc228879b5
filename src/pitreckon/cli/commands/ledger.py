"""``pitreckon ledger``: look a ledger over, copy it, put a copy back, save what is left, show the house's key."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Ledger, Over

app = typer.Typer(
    no_args_is_help=True, help="Keep the ledger whole: look it over, copy it, put a copy back, save what is left."
)


@app.command()
def check(ledger: Ledger = None, as_json: Json = False) -> None:
    """Look a ledger over: the pages of its file, its numbers, and that each entry is as it was taken in."""
    from pitreckon.ledger.keeping.check import look_over
    from pitreckon.ledger.keeping.photos import photo_faults

    found = look_over(ledger)
    if as_json:
        from pitreckon.cli.envelope import print_json

        photos = () if found.faults else photo_faults(ledger)
        whole = not found.faults and not photos
        told = {"ledger": found.where, "whole": whole, "cooks": found.cooks, "entries": found.entries}
        print_json("ledger check", told | {"faults": found.faults, "photos": photos})
        raise typer.Exit(0 if whole else 1)
    for fault in found.faults:
        typer.echo(f"damaged  {fault}")
    if not found.faults:
        photos = photo_faults(ledger)
        for fault in photos:
            typer.echo(f"photo  {fault}")
        if photos:
            typer.echo(f"The entries of {found.where} are whole; of its photos not all are there as they were.")
            raise typer.Exit(1)
    if found.faults:
        typer.echo(
            f"{found.where} is not whole. Put back a copy with 'pitreckon ledger restore', or save what is left with "
        )
        typer.echo("'pitreckon ledger salvage'; until then let nothing write to it.")
        raise typer.Exit(1)
    typer.echo(
        f"{found.where} is whole: {_count(found.cooks, 'cook', 'cooks')}, {_count(found.entries, 'entry', 'entries')}."
    )


@app.command()
def backup(
    to: Annotated[Path, typer.Argument(metavar="FILE", help="The copy; one that is there is replaced.")],
    ledger: Ledger = None,
    as_json: Json = False,
) -> None:
    """Copy a ledger into a file while it is in use; the copy is looked over, and is a ledger itself."""
    from pitreckon.errors import InputError, Place
    from pitreckon.ledger.keeping.backup import back_up

    if not to.name:
        raise InputError("that names a folder and no file", "Name the file of the copy", Place(str(to)))
    _say("ledger backup", back_up(ledger, to), "is a copy, and whole", as_json=as_json)


@app.command()
def restore(
    copy: Annotated[
        Path, typer.Argument(metavar="FILE", help="What 'pitreckon ledger backup' or 'serve --backup' wrote.")
    ],
    ledger: Ledger = None,
    over: Over = False,
    as_json: Json = False,
) -> None:
    """Make a ledger of a copy, which is looked over first."""
    from pitreckon.ledger.keeping.backup import put_back

    made = put_back(copy, ledger, over=over)
    _say("ledger restore", made, "is the ledger of the copy now", as_json=as_json)


@app.command()
def salvage(
    damaged: Annotated[Path, typer.Argument(metavar="FILE", help="The damaged ledger; it is only read.")],
    to: Annotated[Path, typer.Argument(metavar="NEW", help="The new one.")],
    also: Annotated[
        list[Path] | None,
        typer.Option(metavar="COPY", help="A copy that fills what is missing; as often as there are."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Save what is left of a damaged file into a new ledger, and say what is missing."""
    from pitreckon.ledger.keeping.salvage import salvage as save

    saved = save(damaged, to, also or ())
    whole = not saved.torn and all(cook.whole for cook in saved.cooks)
    if as_json:
        from pitreckon.cli.envelope import print_json

        cooks = [{"id": cook.cook_id} | {n: getattr(cook, n) for n in _SAVED} for cook in saved.cooks]
        print_json("ledger salvage", {"file": to, "whole": whole, "cooks": cooks, "torn": saved.torn})
        raise typer.Exit(0 if whole else 1)
    for cook in saved.cooks:
        state = "all of it" if cook.whole else "not all of it, or not as it was"
        typer.echo(f"{cook.cook_id}: {_count(cook.entries, 'entry', 'entries')}, {state}")
        if cook.missing:
            typer.echo(f"  missing: {_runs(cook.missing)}")
        if cook.dropped:
            typer.echo(f"  left out: {_count(cook.dropped, 'correction', 'corrections')} of what is missing")
    for name in saved.torn:
        typer.echo(f"not all of the table '{name}' could be read")
    typer.echo(f"{to} is the new ledger")
    if not whole:
        raise typer.Exit(1)


@app.command()
def key(ledger: Ledger = None, as_json: Json = False) -> None:
    """Print the public key of the house, by which others check that its records are its own."""
    from pitreckon.ledger.store import Store
    from pitreckon.safety.record.house import house_key
    from pitreckon.safety.record.sign import public_of, short_of

    with Store.open(ledger) as store:
        public = public_of(house_key(store))
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("ledger key", {"short": short_of(public), "public_key": public})
    else:
        typer.echo(f"{short_of(public)}\n{public}")


_SAVED = ("name", "entries", "missing", "dropped", "whole")


def _say(command: str, file: object, words: str, *, as_json: bool) -> None:
    """The file that was made."""
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json(command, {"file": str(file)})
    else:
        typer.echo(f"{file} {words}")


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _runs(numbers: tuple[int, ...], most: int = 12) -> str:
    """Numbers as runs: 3, 7 to 9."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    said = [str(a) if a == b else f"{a} to {b}" for a, b in runs[:most]]
    return ", ".join(said) + (f" and {len(runs) - most} more runs" if len(runs) > most else "")
