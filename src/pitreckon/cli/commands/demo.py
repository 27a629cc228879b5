"""``pitreckon demo``: an invented cook and a day of it."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Seed, Shown


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the cook file and the day's log are written.")] = Path(
        "demo-day"
    ),
    members: Annotated[int, typer.Option(min=8, help="Size of the ensemble.")] = 256,
    seed: Seed = 1,
    degrees: Shown = "F",
    page: Annotated[bool, typer.Option(help="End with the live page, the day replayed sixty times as fast.")] = True,
) -> None:
    """Make an invented cook with a day of readings, looks and acts, walk through the day, and open the live page."""
    from pitreckon.cli.demo import walk_through

    walk_through(folder, members, seed, degrees, page)
