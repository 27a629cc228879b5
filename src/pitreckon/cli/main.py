"""The command line: thin, and light until a command really runs.

Nothing heavy is imported here; each command imports what it needs, so that ``--help`` answers at once.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from pitreckon import __version__
from pitreckon.cli.options import LearnOption, SourcesOption
from pitreckon.errors import PitreckonError

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Reckons where each piece of meat on the pit stands, when it will be ready, and how sure that is. "
    "A forecast is no promise of safety: check with a thermometer and follow your local food code.",
)

DEFAULT_MEMBERS = 512


class Degrees(StrEnum):
    """Scale of temperatures, on the screen or an instrument's."""

    F = "F"
    C = "C"


DegreesOption = Annotated[Degrees, typer.Option("--degrees", help="Temperatures on the screen in F or C.")]


CookFileArgument = Annotated[Path, typer.Argument(metavar="COOK.toml", help="The plan of the cook.")]
LogOption = Annotated[Path | None, typer.Option(metavar="LOG.csv", help="What has happened: readings, looks and acts.")]
MembersOption = Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")]
SeedOption = Annotated[int, typer.Option(min=0, help="Seed of every draw: the same seed, the same answer.")]
SetAsideOption = Annotated[
    bool, typer.Option("--set-aside", help="Keep fault codes (999, NaN) in the log as rejected, and go on.")
]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pitreckon {__version__}")
        raise typer.Exit


@app.callback()
def main(
    _show_version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Reckons where each piece of meat on the pit stands and when it will be ready."""


@app.command()
def reckon(
    cook_file: CookFileArgument,
    ledger: LogOption = None,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="TIME",
            help="Reckon as of then, e.g. 14:05 or '2026-10-10 14:05'. By default the "
            "last entry of the ledger, or the start of the cook.",
        ),
    ] = None,
    since: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Also say what has moved the forecast since then, and why."),
    ] = None,
    members: MembersOption = DEFAULT_MEMBERS,
    seed: SeedOption = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
    set_aside: SetAsideOption = False,
    degrees: DegreesOption = Degrees.F,
    sources: SourcesOption = False,
) -> None:
    """Reckon a cook: each item's stages and marks as clock times with their spread."""
    from pitreckon.cli import run  # noqa: PLC0415

    run.reckon_files(cook_file, ledger, at, since, members, seed, as_json, set_aside, degrees.value, sources=sources)


@app.command()
def suppose(
    cook_file: CookFileArgument,
    ledger: LogOption = None,
    at: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Suppose it done then. By default the last entry of the ledger."),
    ] = None,
    members: MembersOption = DEFAULT_MEMBERS,
    seed: SeedOption = 1,
    set_aside: SetAsideOption = False,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """What if the pit were hotter or cooler from now on, or a piece wrapped, unwrapped or held now: the best first."""
    from pitreckon.cli import suppose as options  # noqa: PLC0415

    options.suppose_files(cook_file, ledger, at, members, seed, set_aside, degrees.value)


class DayOrder(StrEnum):
    """Which part of a written date comes first."""

    DAY = "day"
    MONTH = "month"


FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="A table that a logger wrote: CSV or the like.")]
CookOption = Annotated[
    str | None, typer.Option("--cook", metavar="ID", help="The cook in the ledger. By default the only one there.")
]
PlanOption = Annotated[
    Path | None, typer.Option("--plan", metavar="COOK.toml", help="Add this cook if it is not in the ledger yet.")
]
LedgerOption = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        metavar="PLACE",
        help="Where the ledger is kept: a file or postgresql://... By default $PITRECKON_LEDGER or your data folder.",
    ),
]
UnitOption = Annotated[Degrees | None, typer.Option("--unit", help="Scale of its numbers, when it cannot be told.")]
DatesOption = Annotated[DayOrder | None, typer.Option("--dates", help="What comes first in its dates, if in doubt.")]
StartOption = Annotated[
    str | None,
    typer.Option("--start", metavar="TIME", help="When its first row was, if its times have no day or only count."),
]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="HEADER=NAME",
        help="What a column measures: a pit, an item with or without a piece number, or 'leave'. Once a column.",
    ),
]
DeviceOption = Annotated[str, typer.Option("--device", metavar="NAME", help="What its readings are recorded as by.")]


@app.command("take-in")
def take_in(
    file: FileArgument,
    cook: CookOption = None,
    plan: PlanOption = None,
    ledger: LedgerOption = None,
    unit: UnitOption = None,
    dates: DatesOption = None,
    start: StartOption = None,
    column: ColumnOption = None,
    device: DeviceOption = "logger",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what it would take, and record nothing.")] = False,
) -> None:
    """Take a logger's file into the ledger of a cook; taken in again, nothing is doubled."""
    from pitreckon.cli import takein  # noqa: PLC0415

    with takein.open_goal(ledger, cook, plan) as goal:
        answers = takein.answers_of(goal.cook, unit, dates, start, column or ())
        takein.take_in(file, goal, answers, device, dry_run=dry_run)


@app.command()
def watch(
    file: FileArgument,
    cook: CookOption = None,
    plan: PlanOption = None,
    ledger: LedgerOption = None,
    unit: UnitOption = None,
    dates: DatesOption = None,
    start: StartOption = None,
    column: ColumnOption = None,
    device: DeviceOption = "logger",
    once: Annotated[bool, typer.Option("--once", help="Stop at the present end of the file.")] = False,
) -> None:
    """Follow a file that a logger is writing, and record its readings as they come, until it is interrupted."""
    from pitreckon.cli import takein  # noqa: PLC0415

    with takein.open_goal(ledger, cook, plan) as goal:
        answers = takein.answers_of(goal.cook, unit, dates, start, column or ())
        takein.watch(file, goal, answers, device, once=once)


@app.command()
def cooks(ledger: LedgerOption = None) -> None:
    """List the cooks of the ledger: id, number of entries, name."""
    from pitreckon.cli import carry  # noqa: PLC0415

    carry.list_cooks(ledger)


@app.command()
def export(
    cook: Annotated[str, typer.Argument(metavar="COOK", help="Its id, as 'pitreckon cooks' lists it.")],
    ledger: LedgerOption = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Its ledger alone, corrections applied, as a log for --ledger of reckon.")
    ] = False,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """Print a cook with its plan and its whole ledger as JSON Lines, to keep or to import elsewhere."""
    from pitreckon.cli import carry  # noqa: PLC0415

    carry.export_cook(cook, ledger, as_csv, degrees.value)


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="What 'pitreckon export' printed.")],
    ledger: LedgerOption = None,
) -> None:
    """Take a cook's export into the ledger; what is there already is not doubled."""
    from pitreckon.cli import carry  # noqa: PLC0415

    carry.import_cook(file, ledger)


@app.command()
def alerts(
    cook_file: CookFileArgument,
    ledger: LogOption = None,
    settings: Annotated[
        Path | None, typer.Option(metavar="SETTINGS.toml", help="What to tell and where to send it: its [alerts].")
    ] = None,
    at: Annotated[
        str | None, typer.Option(metavar="TIME", help="As of then. By default the last entry of the ledger.")
    ] = None,
    members: MembersOption = DEFAULT_MEMBERS,
    seed: SeedOption = 1,
    set_aside: SetAsideOption = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Print them, and send nothing.")] = False,
    degrees: DegreesOption = Degrees.F,
) -> None:
    """What the cook should be told at a moment: a window about to open, be back, a pit off its set, a lost probe."""
    from pitreckon.cli import tell  # noqa: PLC0415

    tell.tell(cook_file, ledger, settings, at, members, seed, set_aside, degrees.value, dry_run)


class PaperSize(StrEnum):
    """Size of a page of paper."""

    A4 = "a4"
    LETTER = "letter"


@app.command()
def sheet(
    cook_file: CookFileArgument,
    ledger: LogOption = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there: .pdf, .ics, .html, .md or .txt. By default it is printed on the screen.",
        ),
    ] = None,
    paper: Annotated[
        PaperSize | None, typer.Option("--paper", help="Size of its pages. By default letter with F, a4 with C.")
    ] = None,
    twelve_hour: Annotated[bool, typer.Option("--twelve-hour", help="Write 2:05 pm instead of 14:05.")] = False,
    at: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="As of then. By default the last entry of the ledger, or the start."),
    ] = None,
    members: MembersOption = DEFAULT_MEMBERS,
    seed: SeedOption = 1,
    set_aside: SetAsideOption = False,
    degrees: DegreesOption = Degrees.F,
    buying: Annotated[bool, typer.Option("--buying", help="What to buy, in place of what to do.")] = False,
    learn_from: LearnOption = None,
) -> None:
    """Make the run sheet that hangs by the pit, to print or to read, or the calendar of the same day.

    A file that leaves the day to be planned is planned first.
    """
    from pitreckon.cli import sheet as paper_work  # noqa: PLC0415

    size = None if paper is None else paper.value
    files = (cook_file, ledger, at, output, size)
    learned = tuple(learn_from or ())
    paper_work.make_sheet(*files, twelve_hour, members, seed, set_aside, degrees.value, learned, buying=buying)


@app.command()
def plan(
    cook_file: Annotated[
        Path, typer.Argument(metavar="COOK.toml", help="Who eats, when, on which pits, and who is there when.")
    ],
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="Write the planned cook there, to be followed."),
    ] = None,
    seed: SeedOption = 1,
    limit: Annotated[
        float, typer.Option(min=0.5, max=600.0, metavar="SECONDS", help="How long the choice may be worked on.")
    ] = 8.0,
    degrees: DegreesOption = Degrees.F,
    learn_from: LearnOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
    sources: SourcesOption = False,
) -> None:
    """Plan a day: when to light, what goes on when, wrapped or not, how hot, how sure it is; or why it cannot be."""
    from pitreckon.cli.plan import show_plan  # noqa: PLC0415

    learned = tuple(learn_from or ())
    show_plan(cook_file, seed, limit, output, degrees.value, learned, as_json=as_json, sources=sources)


class AllergenRules(StrEnum):
    """Whose allergens a label names."""

    US = "us"
    EU = "eu"


@app.command()
def mix(
    mix_file: Annotated[
        Path | None, typer.Argument(metavar="MIX.toml", help="A rub, binder, wrap, spritz, sauce, glaze or brine.")
    ] = None,
    wanted: Annotated[
        str | None,
        typer.Option(
            "--for",
            metavar="HOW MUCH",
            help="Scale it: '7 racks', '3.2 kg', '0.6 m2', '2 batches', or pieces of a cut by their surface.",
        ),
    ] = None,
    against: Annotated[Path | None, typer.Option(metavar="OTHER.toml", help="Show another mix beside it.")] = None,
    want: Annotated[
        str | None,
        typer.Option(
            metavar="TARGETS",
            help="Change it as little as can be, as in 'sugar half; heat same; salt at most 1.2 %' of the meat.",
        ),
    ] = None,
    on: Annotated[
        Path | None,
        typer.Option(metavar="COOK.toml", help="Also what heat does to it on that cook: setting, dripping, scorching."),
    ] = None,
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="On which item of it. By default the only one.")
    ] = None,
    label: Annotated[bool, typer.Option("--label", help="Also a nutrition label, an estimate.")] = False,
    allergens: Annotated[
        AllergenRules, typer.Option(help="Whose allergens the label names: the nine of us or the fourteen of eu.")
    ] = AllergenRules.US,
    foods: Annotated[bool, typer.Option("--foods", help="List the foods that a mix file may name, and end.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
    sources: SourcesOption = False,
) -> None:
    """A mix in weights beside spoons for any amount of meat: what it tastes of, changed to a target, its label."""
    from pitreckon.cli import mix as mixes  # noqa: PLC0415

    if foods:
        mixes.list_foods()
    elif mix_file is None:
        raise typer.BadParameter("Name a mix file, or ask for --foods.")
    else:
        how = (wanted, against, want, on, item)
        mixes.show_mix(mix_file, *how, label=label, rules=allergens.value, as_json=as_json, sources=sources)


@app.command()
def card(
    cook_file: CookFileArgument,
    ledger: Annotated[Path, typer.Option("--ledger", metavar="LOG.csv", help="The log of the finished cook.")],
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which item of it. By default the only one that is done.")
    ] = None,
    mix: Annotated[
        list[Path] | None, typer.Option(metavar="MIX.toml", help="A mix that was on it; as often as there are mixes.")
    ] = None,
    pieces: Annotated[
        int | None, typer.Option(metavar="N", help="For so many pieces. By default as many as were cooked.")
    ] = None,
    serves: Annotated[
        int | None, typer.Option(metavar="N", help="Heads that it serves. By default by yields and usual portions.")
    ] = None,
    title: Annotated[str, typer.Option(metavar="WORDS", help="Of the dish. By default the item's name.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="There: .pdf, .html, .md, .txt, .json, .jsonld."),
    ] = None,
    readers: Annotated[int, typer.Option(metavar="N", help="How many readers are simulated.")] = 2000,
    pit: Annotated[
        str | None, typer.Option(metavar="KIND", help="All readers have this kind of pit. By default as they come.")
    ] = None,
    seed: SeedOption = 1,
    set_aside: SetAsideOption = False,
    degrees: DegreesOption = Degrees.F,
    allergens: Annotated[
        AllergenRules, typer.Option(help="Whose allergens the label names: the nine of us or the fourteen of eu.")
    ] = AllergenRules.US,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
    sources: SourcesOption = False,
) -> None:
    """A finished cook as a recipe card for other pits: what to look for, times as ranges, how many would succeed."""
    from pitreckon.cli import card as cards  # noqa: PLC0415

    cards.make_card(
        *(cook_file, ledger, item, tuple(mix or ()), pieces, serves, title, output, readers, pit, seed, degrees.value),
        allergens.value,
        set_aside=set_aside,
        as_json=as_json,
        sources=sources,
    )


@app.command()
def record(
    cook_file: CookFileArgument,
    ledger: LogOption = None,
    at: Annotated[
        str | None, typer.Option(metavar="TIME", help="As of then. By default the last entry of the ledger.")
    ] = None,
    meat: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'ITEM: WORDS'", help="What was done to it: intact, or injected, bladed, tumbled, rolled."
        ),
    ] = None,
    signed: Annotated[str, typer.Option(metavar="NAME", help="Who signs.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="There: .json, .pdf, .html, .md, .txt."),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option(metavar="RECORD.json", help="Hold a record against the files; say what differs."),
    ] = None,
    members: MembersOption = DEFAULT_MEMBERS,
    seed: SeedOption = 1,
    set_aside: SetAsideOption = False,
    degrees: DegreesOption = Degrees.F,
    sources: SourcesOption = False,
) -> None:
    """The safety record of a cook: which rules each piece met, measured or reckoned; a check that nothing changed."""
    from pitreckon.cli import record as records  # noqa: PLC0415

    files = (cook_file, ledger)
    if check is not None:
        raise typer.Exit(records.check_files(*files, check, set_aside=set_aside))
    done = tuple(meat or ())
    size = (members, seed)
    records.make_record(*files, at, done, signed, output, *size, degrees.value, set_aside=set_aside, sources=sources)


@app.command()
def cool(
    cut: Annotated[str, typer.Argument(metavar="CUT", help="What is left over, as `pitreckon cuts` calls it.")],
    weight: Annotated[str, typer.Option(metavar="WEIGHT", help="Of one piece as it is now, such as '6 lb' or 2.7kg.")],
    at: Annotated[
        str, typer.Option("--at", metavar="TEMPERATURE", help="Of its thickest part when the cooling begins.")
    ] = "150 F",
    ago: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="How long ago it fell below 135 °F, such as 40min, if it is colder already."),
    ] = None,
    altitude: Annotated[str, typer.Option(metavar="HEIGHT", help="Above the sea, such as '5000 ft'.")] = "0 m",
    fan: Annotated[bool, typer.Option("--fan", help="A cold room with a fan, in place of a refrigerator.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
) -> None:
    """How to cool what is left over: which ways make the limits of time, how likely, with how much work."""
    from pitreckon.cli.cool import show_cooling  # noqa: PLC0415
    from pitreckon.units import parse_altitude, parse_duration, parse_mass, parse_temperature  # noqa: PLC0415

    since = None if ago is None else parse_duration(ago)
    where = (cut, parse_mass(weight), parse_temperature(at), since, parse_altitude(altitude))
    show_cooling(*where, fan=fan, as_json=as_json)


@app.command()
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
    cut: Annotated[str | None, typer.Option(metavar="CUT", help="What was cooked, if no file says it.")] = None,
    pit: Annotated[str | None, typer.Option(metavar="KIND", help="Kind of pit.")] = None,
    set_to: Annotated[str | None, typer.Option("--set", metavar="TEMP", help="What it was set to: '275 F'.")] = None,
    on: Annotated[str | None, typer.Option(metavar="TIME", help="Whole time on the pit: '5h 30 min'.")] = None,
    wrap: Annotated[str | None, typer.Option(metavar="WRAP", help="foil, paper, tray or none.")] = None,
    wrapped_after: Annotated[str | None, typer.Option(metavar="TIME", help="Time on the pit before the wrap.")] = None,
    pulled_at: Annotated[str | None, typer.Option(metavar="TEMP", help="What a thermometer read at the end.")] = None,
    members: Annotated[int, typer.Option(min=8, max=4096, help="Members of each cause's ensemble.")] = 48,
    seed: SeedOption = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")] = False,
) -> None:
    """What went wrong: the likeliest causes of a bad plate with their odds, and the one change to try."""
    from pitreckon.cli import why as causes  # noqa: PLC0415

    did = {"cut": cut, "pit": pit, "set": set_to, "on": on, "wrap": wrap}
    did |= {"wrapped_after": wrapped_after, "pulled_at": pulled_at}
    causes.explain_report(report_file, did, came_out or (), members, seed, as_json=as_json)


@app.command()
def cuts(degrees: DegreesOption = Degrees.F) -> None:
    """List the cuts of the catalog, yours included."""
    from pitreckon.cli import listing  # noqa: PLC0415

    listing.print_cuts(degrees.value)


@app.command()
def pits(degrees: DegreesOption = Degrees.F) -> None:
    """List the kinds of pit of the catalog, yours included."""
    from pitreckon.cli import listing  # noqa: PLC0415

    listing.print_pits(degrees.value)


@app.command()
def warm() -> None:
    """Compile the kernel once, so that the first cook does not wait for it."""
    from pitreckon.cli import ready  # noqa: PLC0415

    ready.warm_up()


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where the cook file and the day's log are written.")] = Path(
        "demo-day"
    ),
    members: Annotated[int, typer.Option(min=8, help="Size of the ensemble.")] = 256,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the invented day and of the ensemble.")] = 1,
    degrees: DegreesOption = Degrees.F,
    page: Annotated[bool, typer.Option(help="End with the live page, the day replayed sixty times as fast.")] = True,
) -> None:
    """Make an invented cook with a day of readings, looks and acts, walk through the day, and open the live page."""
    from pitreckon.cli import demo as walk  # noqa: PLC0415

    walk.walk_through(folder, members, seed, degrees.value, page)


@app.command()
def serve(
    ledger: LedgerOption = None,
    host: Annotated[
        str, typer.Option(help="Where to listen: this machine alone, or 0.0.0.0 for your network.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="The port to listen on.")] = 8025,
    public_url: Annotated[
        str | None, typer.Option(metavar="URL", help="What a phone types to get here, for pairing links.")
    ] = None,
    settings: Annotated[
        Path | None,
        typer.Option(metavar="SETTINGS.toml", help="What comes in from a broker, and where alerts go."),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")] = 256,
    new_owner_password: Annotated[
        bool, typer.Option("--new-owner-password", help="Make a new owner's password first, and say it.")
    ] = False,
) -> None:
    """Serve the live page: what to do next and when, on any phone that you let in."""
    from pitreckon.cli import serve as page  # noqa: PLC0415

    page.serve_page(ledger, host, port, public_url, settings, members, new_owner_password)


def run() -> None:
    """Entry point: a fault in somebody's input is one line on standard error and exit code 2."""
    try:
        app()
    except PitreckonError as fault:
        typer.echo(f"pitreckon: {fault}", err=True)
        sys.exit(2)


if __name__ == "__main__":
    run()
