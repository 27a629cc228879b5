"""The work behind ``pitreckon reckon``: files in, an outlook on the screen or as JSON."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from pitreckon.cook import Cook
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import read_log
from pitreckon.reckon import Outlook
from pitreckon.units import format_clock, instant_after, next_clock, parse_clock, parse_instant

EARLIER_S = 6 * 3600.0


def moment_of(text: str, cook: Cook, ledger: Ledger | None) -> datetime:
    """The instant that ``--at`` names; a clock time alone is the first one from six hours before the
    cook's first entry or put-on.

    Raises InputError: not a time.
    """
    try:
        if ":" in text and "-" not in text:
            start = cook.start_utc
            if ledger is not None:
                start = min(start, ledger.first_utc or start)
            return next_clock(instant_after(start, -EARLIER_S), parse_clock(text), cook.zone_info)
        return parse_instant(text, cook.zone_info)
    except InputError as fault:
        raise fault.at(field="--at") from fault


def progress_line() -> Progress:
    """A line on standard error that shows what is being worked on and for how long; none where nobody looks."""
    console = Console(stderr=True)
    return Progress(
        SpinnerColumn(),
        TextColumn("{task.description}"),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )


def reckon_with_progress(cook: Cook, ledger: Ledger | None, now: datetime | None, members: int, seed: int) -> Outlook:
    """``reckon`` with a line on standard error that says what is being worked on."""
    with progress_line() as progress:
        loading = "loading the kernel (compiled the first time, up to a minute; 'pitreckon warm' does it ahead)"
        task = progress.add_task(loading, total=None)
        from pitreckon.reckon import reckon  # noqa: PLC0415

        return reckon(
            cook,
            ledger,
            now=now,
            members=members,
            seed=seed,
            progress=lambda label: progress.update(task, description=f"reckoning {label}, {members} members"),
        )


def reckon_files(
    cook_file: Path,
    log_file: Path | None,
    at: str | None,
    since: str | None,
    members: int,
    seed: int,
    as_json: bool,
    set_aside: bool,
    degrees: str,
    *,
    sources: bool = False,
) -> None:
    """Read, reckon, print."""
    cook = read_cook(cook_file)
    ledger = None if log_file is None else read_log(log_file, cook, set_aside=set_aside)
    now = None if at is None else moment_of(at, cook, ledger)
    earlier = None if since is None else moment_of(since, cook, ledger)
    outlook = reckon_with_progress(cook, ledger, now, members, seed)
    if as_json:
        from pitreckon.reckon.document import document_of  # noqa: PLC0415

        sys.stdout.write(document_of(outlook).model_dump_json(indent=2) + "\n")
        _say_sources(cook, sources, as_json=True)
        return
    from pitreckon.cli.show import print_outlook  # noqa: PLC0415

    console = Console(highlight=False)
    print_outlook(console, outlook, cook, degrees)
    if earlier is not None:
        if earlier >= outlook.now_utc:
            raise InputError("--since is not before the moment that is reckoned", "Give an earlier time")
        console.print(f"\n[bold]Since {format_clock(earlier, cook.zone_info, seen_from=outlook.now_utc)}[/bold]")
        known = ledger or Ledger()
        say_changes(console, cook, (known, earlier), known, outlook.now_utc, seed, degrees, EXPLAIN_MEMBERS)
    _say_sources(cook, sources)


def _say_sources(cook: Cook, wanted: bool, *, as_json: bool = False) -> None:
    if wanted:
        from pitreckon.cli.sources import of_reckoning, print_sources  # noqa: PLC0415

        print_sources(of_reckoning(cook), as_json=as_json)


EXPLAIN_MEMBERS = 128


def say_changes(
    console: Console,
    cook: Cook,
    before: tuple[Ledger, datetime],
    ledger: Ledger,
    now: datetime,
    seed: int,
    degrees: str,
    members: int,
    baseline: Outlook | None = None,
) -> Outlook:
    """What has moved the forecast since the earlier ledger and moment, a line an item; the small outlook behind it."""
    with progress_line() as progress:
        progress.add_task("asking what moved it", total=None)
        from pitreckon.reckon.explain import explain  # noqa: PLC0415

        changes, small = explain(
            *(cook, *before, ledger, now), members=members, seed=seed, celsius=degrees == "C", baseline=baseline
        )
    for change in changes:
        console.print(f"  {change.line}")
    return small
