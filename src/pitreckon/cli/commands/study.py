"""``pitreckon study``: many settings of an item simulated, kept and told."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, On, Shown, Workers


def study(
    study_file: Annotated[Path, typer.Argument(metavar="STUDY.toml", help="What to vary, what to keep, how many.")],
    folder: Annotated[
        Path | None,
        typer.Option(
            "--folder",
            metavar="FOLDER",
            help="Where it is kept, and goes on where it was stopped. By default the file's name without its end.",
        ),
    ] = None,
    on: On = None,
    workers: Workers = None,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """Many settings of an item, simulated: when each is ready, what it loses, in tables, pictures and Parquet.

    A study that was stopped goes on where it was, and gives the same bytes, however many workers it has.
    """
    from pitreckon.cli.studied import document_of, folder_of, print_study, studied

    done = studied(study_file, folder or folder_of(study_file), on, workers, degrees)
    pictures = done.draw(degrees)
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("study", document_of(done, pictures))
    else:
        print_study(done, pictures, degrees)
