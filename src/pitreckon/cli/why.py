"""The work behind ``pitreckon why``: from a reader's report to the likeliest causes and the one change to try."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.console import Console

from pitreckon.cli.answers import print_json
from pitreckon.errors import InputError, Place
from pitreckon.lessons.diagnosis.json import document_of
from pitreckon.lessons.diagnosis.read import read_report, report_from_parts
from pitreckon.units import format_percent

BAR = 20
LEAST = 0.02
"""A cause that is less likely is not listed."""


def explain_report(
    file: Path | None,
    did: Mapping[str, str | None],
    came_out: Sequence[str],
    members: int,
    seed: int,
    *,
    as_json: bool,
) -> None:
    """The causes with their odds and the change, on the screen or as one JSON object."""
    told = {key: text for key, text in did.items() if text is not None}
    if file is not None:
        report = read_report(file, told, tuple(came_out))
    elif "cut" not in told:
        raise InputError("nothing says what was cooked", "Name a report file, or write --cut", Place(field="--cut"))
    else:
        report = report_from_parts(told, tuple(came_out), "the options")
    from pitreckon.lessons.diagnosis.diagnose import why  # noqa: PLC0415  the kernel is loaded only where it runs

    found = why(report, members=members, seed=seed)
    if as_json:
        print_json(document_of(found))
        return
    console = Console(highlight=False)
    console.print(f"[bold]Why was it {' and '.join(report.faults)}?[/bold]", soft_wrap=True)
    for odds in found.causes:
        if odds.chance >= LEAST:
            full = round(BAR * odds.chance)
            bar = "█" * full + "·" * (BAR - full)
            console.print(f"  {bar} {format_percent(odds.chance):>4}  {odds.cause.words}", soft_wrap=True)
    console.print()
    console.print("[bold]One change to try[/bold]")
    if found.change is None:
        console.print("  No single change lowers the chance by much: tell more of what you did.")
    else:
        console.print(f"  {found.change.words}.", soft_wrap=True)
        console.print(
            f"  The same again next time: {format_percent(found.change.again)} with it, {format_percent(found.again)} "
            "with nothing changed (another piece, the same pit).",
            soft_wrap=True,
            style="dim",
        )
    console.print()
    for line in found.cautions:
        console.print(line, style="italic", soft_wrap=True)
