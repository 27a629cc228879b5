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
    put_on: Annotated[
        str | None, typer.Option(metavar="TIME", help="When it goes on. Left out: reckoned, to be ready in time.")
    ] = None,
    zone: Annotated[
        str | None, typer.Option(metavar="ZONE", help="Time zone by its IANA name. By default this machine's.")
    ] = None,
    over: Over = False,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """Write a cook file by six questions: what, how many, on which pit, set to what, wrapped in what, served when.

    An empty line takes the answer in brackets; what an option has said is not asked. When it goes on is reckoned, so
    that it is ready in time, and then held warm until it is served.
    """
    from pitreckon.cli.answers import is_pipe, put_out
    from pitreckon.cli.firstcook import begun, give_way, is_writable, timed, warnings_of, zone_of
    from pitreckon.cli.new import ask, started
    from pitreckon.cli.notices import warn
    from pitreckon.cli.unusual import warn_unusual
    from pitreckon.errors import InputError, Place

    if is_pipe(file) and as_json:
        raise InputError("two answers cannot go to standard output", "Leave --json out, or name a file", Place("-"))
    if not is_pipe(file):
        is_writable(file)
        if file.exists() and not over:
            raise InputError("it is there already", "Name another file, or say --over", Place(str(file)))
    where, known = zone_of(zone)
    answers = started(degrees, where)
    ask(answers, {"cut": cut, "amount": amount, "pit": pit, "set": set_to, "wrap": wrap, "serve": serve})
    cook = begun(answers)
    if not known:
        warn(f"{file}: the zone of this machine is not known, and UTC is written. Correct zone, or say --zone.")
    warn_unusual(cook.wishes, cook.text, str(file), degrees)
    if not is_pipe(file):
        if file.exists():
            give_way(file)
        put_out(cook.text.encode(), file, "the cook", say=False)  # so that an interrupt loses no answer
    done = timed(cook, put_on)
    put_out(done.text.encode(), file, "the cook", say=False)
    for each in warnings_of(cook, done, str(file)):
        warn(each)
    follow = f"pitreckon reckon {file}"
    if as_json:
        from pitreckon.cli.envelope import print_json

        more = {"put_on": done.put_on_utc, "chance": done.chance}
        print_json("new", {"written": str(file), "cook": cook.wishes.name, "next": follow} | more)
    elif not is_pipe(file):
        from pitreckon.units import format_local, format_percent

        sure = (
            "" if done.chance is None else f" ({format_percent(done.chance)} likely to be ready in time and still good)"
        )
        typer.echo(f"{file} is written: put on at {format_local(done.put_on_utc, where)}{sure}. Next: {follow}")
