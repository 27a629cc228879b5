"""``pitreckon reckon``: files in, an outlook on the screen or as JSON."""

from typing import Annotated

import typer

from pitreckon.cli.options import (
    DEFAULT_MEMBERS,
    At,
    CookFile,
    Dates,
    Json,
    Learned,
    Log,
    Members,
    Seed,
    SetAside,
    Shown,
    Sources,
)

EXPLAIN_MEMBERS = 128


def reckon(
    cook_file: CookFile,
    log: Log = None,
    at: At = None,
    since: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Also say what has moved the forecast since then, and why."),
    ] = None,
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    as_json: Json = False,
    set_aside: SetAside = False,
    dates: Dates = None,
    degrees: Shown = "F",
    lessons: Learned = None,
    sources: Sources = False,
) -> None:
    """Reckon a cook: each item's stages and marks as clock times with their spread."""
    from pitreckon.cli.run import moment_of, read_files, reckon_with_progress, say_changes
    from pitreckon.cli.screen import Screen
    from pitreckon.errors import InputError
    from pitreckon.ledger import Ledger
    from pitreckon.units import format_clock

    cook, known, now = read_files(cook_file, log, at, set_aside=set_aside, dates=dates, degrees=degrees)
    earlier = None if since is None else moment_of(since, cook, known)
    learned = None
    if lessons is not None:
        from pitreckon.cli.learned import read_lessons

        learned = read_lessons(lessons)
    outlook = reckon_with_progress(cook, known, now, members, seed, learned)
    if as_json:
        from pitreckon.cli.envelope import print_json
        from pitreckon.reckon.document import document_of

        print_json("reckon", document_of(outlook).model_dump(mode="json"))
    else:
        from pitreckon.cli.show import print_outlook

        console = Screen(degrees)
        print_outlook(console, outlook, cook, degrees)
        if earlier is not None:
            if earlier >= outlook.now_utc:
                raise InputError("--since is not before the moment that is reckoned", "Give an earlier time")
            console.print(f"\n[bold]Since {format_clock(earlier, cook.zone_info, seen_from=outlook.now_utc)}[/bold]")
            known = known or Ledger()
            say_changes(console, cook, (known, earlier), known, outlook.now_utc, seed, degrees, EXPLAIN_MEMBERS)
    if sources:
        from pitreckon.cli.sources import of_reckoning, print_sources

        print_sources(of_reckoning(cook), as_json=as_json)
