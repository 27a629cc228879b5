"""The command line: thin, and light until a command really runs.

Nothing heavy is imported here; each command imports what it needs, so that ``--help`` answers at once.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from pitreckon import __version__
from pitreckon.errors import PitreckonError

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Reckons where each piece of meat on the pit stands, when it will be ready, and how sure that is. "
    "A forecast is no promise of safety: check with a thermometer and follow your local food code.",
)

DEFAULT_MEMBERS = 512


class Degrees(StrEnum):
    """Scale for temperatures on the screen."""

    F = "F"
    C = "C"


DegreesOption = Annotated[Degrees, typer.Option("--degrees", help="Temperatures on the screen in F or C.")]


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


@app.command()
def reckon(
    cook_file: Annotated[Path, typer.Argument(metavar="COOK.toml", help="The plan of the cook.")],
    ledger: Annotated[
        Path | None, typer.Option(metavar="LOG.csv", help="What has happened: readings, looks and acts.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="TIME",
            help="Reckon as of then, e.g. 14:05 or '2026-10-10 14:05'. By default the "
            "last entry of the ledger, or the start of the cook.",
        ),
    ] = None,
    since: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Also say what has moved the forecast since then, and why."),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")] = DEFAULT_MEMBERS,
    seed: Annotated[int, typer.Option(min=0, help="Seed of every draw: the same seed, the same answer.")] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
    set_aside: Annotated[
        bool,
        typer.Option("--set-aside", help="Keep fault codes (999, NaN) in the log as rejected, and go on."),
    ] = False,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """Reckon a cook: each item's stages and marks as clock times with their spread."""
    from pitreckon.cli import run  # noqa: PLC0415

    run.reckon_files(cook_file, ledger, at, since, members, seed, as_json, set_aside, degrees.value)


@app.command()
def suppose(
    cook_file: Annotated[Path, typer.Argument(metavar="COOK.toml", help="The plan of the cook.")],
    ledger: Annotated[
        Path | None, typer.Option(metavar="LOG.csv", help="What has happened: readings, looks and acts.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Suppose it done then. By default the last entry of the ledger."),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")] = DEFAULT_MEMBERS,
    seed: Annotated[int, typer.Option(min=0, help="Seed of every draw: the same seed, the same answer.")] = 1,
    set_aside: Annotated[
        bool,
        typer.Option("--set-aside", help="Keep fault codes (999, NaN) in the log as rejected, and go on."),
    ] = False,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """What if the pit were hotter or cooler from now on, or a piece wrapped, unwrapped or held now: the best first."""
    from pitreckon.cli import suppose as options  # noqa: PLC0415

    options.suppose_files(cook_file, ledger, at, members, seed, set_aside, degrees.value)


@app.command()
def cuts(degrees: DegreesOption = Degrees.F) -> None:
    """List the cuts of the catalog, yours included."""
    from pitreckon.cli import listing  # noqa: PLC0415

    listing.print_cuts(degrees.value)


@app.command()
def pits(degrees: DegreesOption = Degrees.F) -> None:
    """List the kinds of pit of the catalog, yours included."""
    from pitreckon.cli import listing  # noqa: PLC0415

    listing.print_pits(degrees.value)


@app.command()
def warm() -> None:
    """Compile the kernel once, so that the first cook does not wait for it."""
    from pitreckon.cli import ready  # noqa: PLC0415

    ready.warm_up()


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where the cook file and the day's log are written.")] = Path(
        "demo-day"
    ),
    members: Annotated[int, typer.Option(min=8, help="Size of the ensemble.")] = 256,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the invented day and of the ensemble.")] = 1,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """Make an invented cook with a day of readings, looks and acts, and walk through the day."""
    from pitreckon.cli import demo as walk  # noqa: PLC0415

    walk.walk_through(folder, members, seed, degrees.value)


def run() -> None:
    """Entry point: a fault in somebody's input is one line on standard error and exit code 2."""
    try:
        app()
    except PitreckonError as fault:
        typer.echo(f"pitreckon: {fault}", err=True)
        sys.exit(2)


if __name__ == "__main__":
    run()
