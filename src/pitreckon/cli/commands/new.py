"""``pitreckon new``: a cook file by six questions."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import CutOption, Json, KindOption, Over, SetOption, Shown, WrapOption


def new(
    file: Annotated[
        Path, typer.Argument(metavar="COOK.toml", help="The cook file that is written; - is standard output.")
    ] = Path("supper.toml"),
    cut: CutOption = None,
    amount: Annotated[
        str | None, typer.Option(metavar="HOW MANY", help="How many and how heavy: '3 x 2 lb', 12, or '8 people'.")
    ] = None,
    pit: KindOption = None,
    set_to: SetOption = None,
    wrap: WrapOption = None,
    serve: Annotated[
        str | None, typer.Option(metavar="TIME", help="When it is served: 18:00 or '2026-10-17 18:00'.")
    ] = None,
    zone: Annotated[
        str | None, typer.Option(metavar="ZONE", help="Time zone by its IANA name. By default this machine's.")
    ] = None,
    over: Over = False,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """Write a cook file by six questions: what, how many, on which pit, set to what, wrapped in what, served when.

    An empty line takes the answer in brackets; what an option has said is not asked.
    """
    from pitreckon.cli.answers import is_pipe, put_out
    from pitreckon.cli.new import ask, file_of, give_way, planned_name, started, zone_of
    from pitreckon.cli.notices import warn
    from pitreckon.cli.unusual import warn_unusual
    from pitreckon.errors import InputError, Place

    if is_pipe(file) and as_json:
        raise InputError("two answers cannot go to standard output", "Leave --json out, or name a file", Place("-"))
    if not is_pipe(file) and file.exists() and not over:
        raise InputError("it is there already", "Name another file, or say --over", Place(str(file)))
    where, known = zone_of(zone)
    answers = started(degrees, where)
    ask(answers, {"cut": cut, "amount": amount, "pit": pit, "set": set_to, "wrap": wrap, "serve": serve})
    text, wishes = file_of(answers)
    if not known:
        warn(f"{file}: the zone of this machine is not known, and UTC is written. Correct zone, or say --zone.")
    warn_unusual(wishes, text, str(file), degrees)
    if not is_pipe(file) and file.exists():
        give_way(file)
    put_out(text.encode(), file, "the cook", say=False)
    follow = f"pitreckon plan {file} -o {planned_name(file)}"
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("new", {"written": str(file), "cook": wishes.name, "next": follow})
    elif not is_pipe(file):
        typer.echo(f"{file} is written. Next: {follow}")
