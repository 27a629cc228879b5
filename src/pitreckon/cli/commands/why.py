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
    members: Annotated[int, typer.Option(min=8, max=4096, help="Size of the ensemble. Of each cause's.")] = 48,
    seed: Seed = 1,
    as_json: Json = False,
) -> None:
    """What went wrong: the likeliest causes of a bad plate with their odds, and the one change to try."""
    from rich.console import Console

    from pitreckon.cli.envelope import print_json
    from pitreckon.errors import InputError, Place
    from pitreckon.lessons.diagnosis.diagnose import document_of
    from pitreckon.lessons.diagnosis.report import read_report, report_from_parts
    from pitreckon.units import format_percent

    did = {"cut": cut, "pit": pit, "set": set_to, "on": pit_time, "wrap": wrap}
    did |= {"wrapped_after": wrapped_after, "pulled_at": pulled_at}
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
    for odds in found.causes:
        if odds.chance >= LEAST:
            full = round(BAR * odds.chance)
            bar = "█" * full + "·" * (BAR - full)
            console.print(f"  {bar} {format_percent(odds.chance):>4}  {odds.cause.words}")
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
