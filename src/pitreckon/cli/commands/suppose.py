"""``pitreckon suppose``: what could be done now, what helps supper most first."""

from typing import Annotated

import typer

from pitreckon.cli.options import DEFAULT_MEMBERS, At, CookFile, Dates, Json, Log, Members, Seed, SetAside, Shown


def suppose(
    cook_file: CookFile,
    log: Log = None,
    at: At = None,
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    set_aside: SetAside = False,
    dates: Dates = None,
    degrees: Shown = "F",
    everything: Annotated[
        bool, typer.Option("--all", help="All that was tried, by pit and by meat, and what each meat would do.")
    ] = False,
    as_json: Json = False,
) -> None:
    """What if the pit were hotter or cooler from now on, or a piece wrapped, unwrapped or held now: what helps most."""
    from pitreckon.cli.run import kernel_ahead, progress_line, read_files
    from pitreckon.cli.screen import Screen
    from pitreckon.cli.supposed import document_of, print_options

    cook, known, now = read_files(cook_file, log, at, set_aside=set_aside, dates=dates, degrees=degrees)
    with progress_line() as progress:
        task = progress.add_task("loading the kernel", total=None)
        from pitreckon.reckon.forecast import reckoning
        from pitreckon.reckon.whatif import ready_together, what_ifs

        kernel_ahead()
        progress.update(task, description=f"reckoning, {members} members")
        done = reckoning(cook, known, now=now, members=members, seed=seed)
        progress.update(task, description="supposing")
        options = what_ifs(done)
        together = ready_together(done)
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("suppose", document_of(cook, options, done.outlook.now_utc, members, seed, together))
        return
    print_options(Screen(degrees), cook, options, done.outlook.now_utc, degrees, together, everything=everything)
