"""Options that several commands share; as light as the command line itself."""

from __future__ import annotations

from typing import Annotated

import typer

LearnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--learn-from",
        metavar="COOKS",
        help="Earlier cooks that tell what a pit burns: a ledger (a file or postgresql://...) or COOK.toml=LOG.csv, "
        "as often as there are. By default $PITRECKON_LEDGER or the ledger in your data folder; - for none.",
    ),
]
SourcesOption = Annotated[
    bool, typer.Option("--sources", help="Also list the sources that the answer rests on; with --json beside it.")
]
