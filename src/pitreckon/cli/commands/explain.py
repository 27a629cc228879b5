"""``pitreckon explain``: the story of a finished cook, in pictures and plain words."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import CookFile, Dates, Form, Json, Seed, SetAside, Shown

DRAWN = (".pdf", ".html")


def explain(
    cook_file: CookFile,
    log: Annotated[
        Path,
        typer.Option(
            "--log", metavar="LOG.csv", help="What has happened: readings, looks and acts. All of the finished cook."
        ),
    ],
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which item of the cook. By default the only one that is done.")
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. Its name ends in .pdf or .html (with pictures), .md or .txt; - is standard output.",
        ),
    ] = None,
    form: Form = None,
    seed: Seed = 1,
    set_aside: SetAside = False,
    dates: Dates = None,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """The story of a finished cook for people who learn: inside the meat over time, and what if it was otherwise."""
    from pitreckon.cli.answers import PAPERS, ending_of, paper_of, put_sheet, reader_of, written
    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.explained import document_of
    from pitreckon.cli.run import kernel_ahead, log_of, progress_line, read_plan
    from pitreckon.cli.screen import Screen
    from pitreckon.extras import require

    if output is not None and output.suffix.lower() in DRAWN:  # it brings what paper needs as well
        require("matplotlib", "a story with pictures")
    ending = ending_of(output, PAPERS, "story", form, as_json=as_json)
    drawn = ending in DRAWN
    if drawn:
        require("matplotlib", "a story with pictures")
    cook = read_plan(cook_file, degrees, log)
    known = log_of(log, cook, set_aside=set_aside, dates=dates)
    with progress_line() as progress:
        task = progress.add_task("reading the cook", total=None)
        kernel_ahead()
        from pitreckon.lessons.explain.story import story_of  # the kernel

        story = story_of(cook, known, item, seed=seed, tell=lambda words: progress.update(task, description=words))
    from pitreckon.sheets.documents.story import story_sheet
    from pitreckon.sheets.writers.text import print_sheet

    if output is not None and ending is not None:
        put_sheet(story_sheet(story, reader_of(cook.zone, degrees), drawn=drawn), output, ending, paper_of(degrees))
    if as_json:
        print_json("explain", {**document_of(story), "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), story_sheet(story, reader_of(cook.zone, degrees), drawn=False))
