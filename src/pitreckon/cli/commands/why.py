"""``pitreckon why``: from a reader's report to the likeliest causes and the one change to try."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import CutOption, Json, KindOption, Seed, SetOption, WrapOption

BAR = 20
LEAST = 0.02
"""A cause that is less likely is not listed."""


def why(
    report_file: Annotated[
        Path | None, typer.Argument(metavar="REPORT.toml", help="What was done and what was wrong with the plate.")
    ] = None,
    came_out: Annotated[
        list[str] | None,
        typer.Option(
            "--came-out",
            metavar="FAULT",
            help="too dark, too pale, tough, mushy, dry, raw near the bone, bitter, crust soft, salty. Once a fault.",
        ),
    ] = None,
    cut: CutOption = None,
    pit: KindOption = None,
    set_to: SetOption = None,
    pit_time: Annotated[
        str | None, typer.Option("--pit-time", metavar="TIME", help="Whole time on the pit: '5h 30 min'.")
    ] = None,
    wrap: WrapOption = None,
    wrapped_after: Annotated[str | None, typer.Option(metavar="TIME", help="Time on the pit before the wrap.")] = None,
    pulled_at: Annotated[str | None, typer.Option(metavar="TEMP", help="What a thermometer read at the end.")] = None,
    colour: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="Of the plate in a photo, as 'pitreckon look' measures it: '0.86 ± 0.07'."),
    ] = None,
    photo: Annotated[Path | None, typer.Option(metavar="PHOTO", help="Measure it: a picture of the plate.")] = None,
    meat: Annotated[
        list[str] | None, typer.Option(metavar="X,Y", help="A place on the meat. With --photo, one to five times.")
    ] = None,
    white: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y", help="A place on something white beside it. With --photo: paper or a plate, no foil."
        ),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=4096, help="Size of the ensemble. Of each cause's.")] = 48,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """What went wrong: the likeliest causes of a bad plate with their odds, and the one change to try."""
    from rich.console import Console

    from pitreckon.cli.envelope import print_json
    from pitreckon.cook.levels import format_level
    from pitreckon.cook.looks import LOOK_KINDS
    from pitreckon.errors import InputError, Place
    from pitreckon.lessons.diagnosis.diagnose import document_of
    from pitreckon.lessons.diagnosis.report import read_report, report_from_parts
    from pitreckon.units import format_percent

    did = {"cut": cut, "pit": pit, "set": set_to, "on": pit_time, "wrap": wrap}
    did |= {"wrapped_after": wrapped_after, "pulled_at": pulled_at, "colour": colour}
    if photo is not None:
        from pitreckon.cli.photographed import taken
        from pitreckon.photo.words import value_of

        if not meat or white is None:
            raise InputError(
                "it is not said where in the photo", "Write --meat X,Y and --white X,Y", Place(field="--photo")
            )
        did["colour"] = value_of(taken(photo, meat, white)[1])
    told = {key: text for key, text in did.items() if text is not None}
    faults = tuple(came_out or ())
    if report_file is not None:
        report = read_report(report_file, told, faults)
    elif "cut" not in told:
        raise InputError("nothing says what was cooked", "Name a report file, or write --cut", Place(field="--cut"))
    else:
        report = report_from_parts(told, faults, "the options")
    from pitreckon.lessons.diagnosis.diagnose import why as causes_of  # the kernel

    found = causes_of(report, members=members, seed=seed)
    if as_json:
        print_json("why", document_of(found))
        return
    console = Console(highlight=False, soft_wrap=True)
    console.print(f"[bold]Why was it {' and '.join(report.faults)}?[/bold]")
    if report.colour is not None:
        said = LOOK_KINDS["colour in a photo"].show(report.colour[0], format_level(*report.colour), "F", "lb")
        console.print(f"  With the photo, {said}, and without it:", style="dim")
    for odds in found.causes:
        before = found.without_photo.get(odds.cause.key, 0.0)
        if max(odds.chance, before) >= LEAST:
            full = round(BAR * odds.chance)
            bar = "█" * full + "·" * (BAR - full)
            beside = f" {format_percent(before):>4}" if found.without_photo else ""
            console.print(f"  {bar} {format_percent(odds.chance):>4}{beside}  {odds.cause.words}")
    console.print("\n[bold]One change to try[/bold]")
    if found.change is None:
        console.print("  No single change lowers the chance by much: tell more of what you did.")
    else:
        console.print(f"  {found.change.words}.")
        console.print(
            f"  The same again next time: {format_percent(found.change.again)} with it, {format_percent(found.again)} "
            "with nothing changed (another piece, the same pit).",
            style="dim",
        )
    console.print()
    for line in found.cautions:
        console.print(line, style="italic")
