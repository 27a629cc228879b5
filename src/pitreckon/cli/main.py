"""The command line: thin, and light until a command really runs.

Nothing heavy is imported here or by a command's file; each command imports what it needs, so that ``--help`` answers
at once.
"""

import sys
from typing import Annotated

import typer

from pitreckon import __version__
from pitreckon.cli.commands import (
    alerts,
    card,
    carry,
    cool,
    demo,
    ledger,
    lessons,
    listing,
    look,
    mix,
    plan,
    reckon,
    record,
    serve,
    sheet,
    suppose,
    take_in,
    warm,
    why,
)
from pitreckon.errors import PitreckonError

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Reckons where each piece of meat on the pit stands, when it will be ready, and how sure that is. "
    "A forecast is no promise of safety: check with a thermometer and follow your local food code.",
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pitreckon {__version__}")
        raise typer.Exit


@app.callback()
def main(
    _show_version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Reckons where each piece of meat on the pit stands and when it will be ready."""


for command in (
    reckon.reckon,
    suppose.suppose,
    look.look,
    take_in.take_in,
    take_in.watch,
    carry.cooks,
    carry.export,
    carry.import_,
    alerts.alerts,
    sheet.sheet,
    plan.plan,
    mix.mix,
    card.card,
    record.record,
    cool.cool,
    why.why,
    lessons.lessons,
    listing.cuts,
    listing.pits,
    warm.warm,
    demo.demo,
    serve.serve,
):
    app.command(command.__name__.strip("_").replace("_", "-"))(command)

app.add_typer(ledger.app, name="ledger")


def run() -> None:
    """Entry point: a fault in somebody's input is one line on standard error and exit code 2."""
    try:
        app()
    except PitreckonError as fault:
        typer.echo(f"pitreckon: {fault}", err=True)
        sys.exit(2)


if __name__ == "__main__":
    run()
