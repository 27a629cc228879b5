"""What commands that reckon share: their files, their moment, the line that shows progress."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Final, overload

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

import pitreckon.cli.lean  # noqa: F401  before anything that loads SciPy
from pitreckon.cli import nocache
from pitreckon.cli.notices import warn
from pitreckon.cli.unusual import warn_unusual
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.dates import Dates
from pitreckon.ledger.log.read import read_log
from pitreckon.reckon import Outlook
from pitreckon.text.file import STANDARD_INPUT, read_text
from pitreckon.text.table import UnsureError
from pitreckon.units import Scale, format_local, instant_after, is_clock, next_clock, parse_clock, parse_instant, shown

if TYPE_CHECKING:
    from pitreckon.reckon.learned import Lessons

EARLIER_S = 6 * 3600.0
NOW: Final = "now"
LONGEST_APART: Final = timedelta(days=14)
"""Between a plan and its log: from there on one of them has a wrong day."""


def moment_of(text: str, cook: Cook, ledger: Ledger | None) -> datetime:
    """The instant that ``--at`` names: ``now``, a date and time, or a clock time alone, which is the first one from six
    hours before the cook's first entry or put-on.

    Raises InputError: not a time.
    """
    if text.strip().lower() == NOW:
        return datetime.now(UTC).replace(second=0, microsecond=0)
    try:
        if is_clock(text):
            start = cook.start_utc
            if ledger is not None:
                start = min(start, ledger.first_utc or start)
            return next_clock(instant_after(start, -EARLIER_S), parse_clock(text), cook.zone_info)
        return parse_instant(text, cook.zone_info)
    except InputError as fault:
        if is_clock(text) or "-" in text:
            raise fault.at(field="--at") from fault
        forms = "Write it as in now, 14:05, 2pm or 2026-10-10 14:05"
        raise InputError(f"{shown(text)} is no time", forms, Place(field="--at")) from None


def read_plan(cook_file: Path, degrees: Scale, log_file: Path | None = None) -> Cook:
    """The cook of a file; what in it is far from usual is said. log_file: that is read after it

    Raises InputError: something in it is wrong, or both were to come from standard input.
    """
    one_from_a_pipe(cook_file, log_file)
    text, name = read_text(cook_file), str(cook_file)
    try:
        cook = cook_from_text(text, name)
    except InputError as fault:
        raise _or_planned(fault, text, cook_file) from None
    warn_unusual(cook, text, name, degrees)
    return cook


def one_from_a_pipe(cook_file: Path, log_file: Path | None) -> None:
    """Standard input holds one file. Raises InputError: a cook and its log were to come from it."""
    if log_file is not None and str(cook_file) == str(log_file) == STANDARD_INPUT:
        trouble = "the cook and its log cannot both come from standard input"
        raise InputError(trouble, "Name the file of one of them", Place(STANDARD_INPUT))


def _or_planned(fault: InputError, text: str, file: Path) -> InputError:
    """Of a file that is no cook, but asks rightly for a day to be planned, that is said too."""
    from pitreckon.plan.read import wishes_from_text  # noqa: PLC0415

    try:
        wishes_from_text(text, str(file))
    except InputError:
        return fault
    first = f"pitreckon plan {file} -o {planned_name(file)}"
    return InputError(fault.trouble, f"{fault.remedy}; or let the day be planned first: {first}", fault.place)


def planned_name(file: Path) -> str:
    """The name that the planned cook is to have: ``supper-planned.toml``."""
    return str(file.with_name(f"{file.stem}-planned{file.suffix or '.toml'}"))


@overload
def log_of(file: Path, cook: Cook, *, set_aside: bool, dates: str | None = None) -> Ledger: ...
@overload
def log_of(file: Path | None, cook: Cook, *, set_aside: bool, dates: str | None = None) -> Ledger | None: ...
def log_of(file: Path | None, cook: Cook, *, set_aside: bool, dates: str | None = None) -> Ledger | None:
    """The log that ``--log`` names, if it names one; what in it is not read is said.

    Raises InputError: something in it is wrong, or day and month cannot be told apart.
    """
    if file is None:
        return None
    order: Dates | None = None if dates is None else "day first" if dates == "day" else "month first"
    try:
        ledger = read_log(file, cook, set_aside=set_aside, dates=order, told=warn)
    except UnsureError as unsure:
        raise InputError(unsure.trouble, f"{unsure.remedy}, with --dates day or --dates month", unsure.place) from None
    first = ledger.first_utc
    if first is not None and abs(first - cook.start_utc) > LONGEST_APART:
        began, planned = (format_local(at, cook.zone_info) for at in (first, cook.start_utc))
        raise InputError(
            f"the log begins at {began}, and the cook is planned for {planned}",
            "Give the log of this cook, or correct the days in one of them",
            Place(str(file), field="time"),
        )
    return ledger


def read_files(
    cook_file: Path,
    log_file: Path | None,
    at: str | None,
    *,
    set_aside: bool,
    dates: str | None = None,
    degrees: Scale = "F",
) -> tuple[Cook, Ledger | None, datetime | None]:
    """A cook, what has happened in it, and the moment that is asked for; what is far from usual is said."""
    cook = read_plan(cook_file, degrees, log_file)
    ledger = log_of(log_file, cook, set_aside=set_aside, dates=dates)
    return cook, ledger, None if at is None else moment_of(at, cook, ledger)


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


def kernel_ahead() -> None:
    """The kernel made ready, and loaded beside what comes before its first run; where that cannot be, it is compiled
    when it is first run."""
    from pitreckon.reckon import readied  # noqa: PLC0415  not for who only reads a file
    from pitreckon.section.warm import warm  # noqa: PLC0415

    def load() -> None:
        with suppress(Exception):  # whoever runs it next hears what is wrong
            warm()

    if nocache.why():
        warn(nocache.why())
    readied.make_ready()
    if readied.is_ready():
        Thread(target=load, name="kernel").start()


def reckon_with_progress(
    cook: Cook,
    ledger: Ledger | None,
    now: datetime | None,
    members: int,
    seed: int,
    lessons: Lessons | None = None,
) -> Outlook:
    """``reckon`` with a line on standard error that says what is being worked on."""
    with progress_line() as progress:
        loading = "loading the kernel (made ready the first time, some seconds and up to a minute)"
        task = progress.add_task(loading, total=None)
        from pitreckon.reckon import reckon  # noqa: PLC0415

        kernel_ahead()
        return reckon(
            cook,
            ledger,
            now=now,
            members=members,
            seed=seed,
            progress=lambda label: progress.update(task, description=f"reckoning {label}, {members} members"),
            lessons=lessons,
        )


def say_changes(
    console: Console,
    cook: Cook,
    before: tuple[Ledger, datetime],
    ledger: Ledger,
    now: datetime,
    seed: int,
    degrees: Scale,
    members: int,
    baseline: Outlook | None = None,
) -> Outlook:
    """What has moved the forecast since the earlier ledger and moment, a line an item; the small outlook behind it."""
    with progress_line() as progress:
        progress.add_task("asking what moved it", total=None)
        kernel_ahead()
        from pitreckon.reckon.explain import explain  # noqa: PLC0415

        changes, small = explain(
            *(cook, *before, ledger, now), members=members, seed=seed, celsius=degrees == "C", baseline=baseline
        )
    for change in changes:
        console.print(f"  {change.line}")
    return small
