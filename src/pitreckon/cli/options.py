"""Arguments and options that several commands share; as light as the command line itself."""

from pathlib import Path
from typing import Annotated, Literal

import typer

Scale = Literal["F", "C"]
"""As in ``units``, which takes longer to load than ``--help`` may."""

DEFAULT_MEMBERS = 512
MOST_SEED = 2_147_483_647
"""The solver of plans takes no larger one."""

CookFile = Annotated[Path, typer.Argument(metavar="COOK.toml", help="The plan of the cook.")]
Log = Annotated[
    Path | None,
    typer.Option("--log", metavar="LOG.csv", help="What has happened: readings, looks and acts."),
]
At = Annotated[
    str | None,
    typer.Option(
        metavar="TIME",
        help="As of then: now, 14:05, 2pm or '2026-10-10 14:05'. By default the last entry of the log, or the start.",
    ),
]
Members = Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")]
Seed = Annotated[int, typer.Option(min=0, max=MOST_SEED, help="Seed of every draw: the same seed, the same answer.")]
SetAside = Annotated[
    bool, typer.Option("--set-aside", help="Keep fault codes (999, NaN) in the log as rejected, and go on.")
]
Shown = Annotated[Scale, typer.Option("--degrees", help="Temperatures on the screen in F or C. Weights go with them.")]
Settings = Annotated[
    Path | None,
    typer.Option(metavar="SETTINGS.toml", help="What comes in from a broker, what to tell, and where to send it."),
]
On = Annotated[
    str | None,
    typer.Option(
        "--on", metavar="ADDRESS", help="A Dask scheduler whose workers do it. By default this machine's processes."
    ),
]
Workers = Annotated[
    int | None,
    typer.Option("--workers", metavar="N", help="How many processes of this machine. By default one for each core."),
]
Dates = Annotated[
    Literal["day", "month"] | None, typer.Option("--dates", help="What comes first in its dates, if in doubt.")
]
CutOption = Annotated[
    str | None,
    typer.Option("--cut", metavar="CUT", help="The cut, as 'pitreckon cuts' calls it. Left out: asked, or by a file."),
]
KindOption = Annotated[
    str | None,
    typer.Option("--pit", metavar="KIND", help="Kind of pit, as 'pitreckon pits' calls it. Left out: asked, or usual."),
]
SetOption = Annotated[
    str | None,
    typer.Option("--set", metavar="TEMP", help="What the pit is set to: '275 F'. Left out: asked, or usual."),
]
WrapOption = Annotated[
    str | None, typer.Option("--wrap", metavar="WRAP", help="foil, paper, tray or none. Left out: asked, or usual.")
]
Over = Annotated[
    bool, typer.Option("--over", help="What is there gives way; it is kept beside, with .before at its end.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")]
Form = Annotated[
    str | None,
    typer.Option("--form", metavar="KIND", help="What to write, where its name does not say it, such as txt or pdf."),
]
SheetFile = Annotated[
    Path | None,
    typer.Option(
        "--output",
        "-o",
        metavar="FILE",
        help="Write it there. Its name ends in .pdf, .html, .md or .txt; - is standard output.",
    ),
]
Paper = Annotated[
    Literal["a4", "letter"] | None,
    typer.Option("--paper", help="Size of its pages. By default letter with F, a4 with C."),
]
Rules = Annotated[
    Literal["us", "canada", "uk"] | None,
    typer.Option(case_sensitive=False, help="Whose safety rules. By default the cook file's."),
]
Allergens = Annotated[
    Literal["us", "eu"],
    typer.Option(help="Whose allergens the label names: the nine of us or the fourteen of eu."),
]
Ledger = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        metavar="PLACE",
        help="Where the ledger is kept: a file or postgresql://... By default $PITRECKON_LEDGER, what 'pitreckon "
        "defaults' says, or your data folder.",
    ),
]
Learned = Annotated[
    Path | None,
    typer.Option(metavar="LESSONS.json", help="What earlier cooks told, as 'pitreckon lessons' keeps it."),
]
LearnFrom = Annotated[
    list[str] | None,
    typer.Option(
        "--learn-from",
        metavar="COOKS",
        help="Earlier cooks that tell what a pit burns: a ledger (a file or postgresql://...) or COOK.toml=LOG.csv, "
        "as often as there are. By default the ledger that is used without --ledger; - for none.",
    ),
]
Sources = Annotated[
    bool, typer.Option("--sources", help="Also list the sources that the answer rests on; with --json beside it.")
]
