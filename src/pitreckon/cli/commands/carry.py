"""``pitreckon cooks``, ``export`` and ``import``: what a ledger holds, out of it and into another."""

import io
import sys
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Json, Ledger, Shown


def cooks(ledger: Ledger = None, as_json: Json = False) -> None:
    """List the cooks of the ledger: id, number of entries, name, and what became of one that was not served."""
    from pitreckon.ledger.store import Store

    with Store.open(ledger) as store:
        rows, states = store.cooks(), store.states()
        if as_json:
            from pitreckon.cli.envelope import print_json

            told = [
                {
                    "id": cook.id,
                    "name": cook.name,
                    "entries": cook.last_seq,
                    "became": states[cook.id].words if cook.id in states else None,
                }
                for cook in rows
            ]
            print_json("cooks", {"ledger": store.where, "cooks": told})
            return
        if not rows:
            typer.echo(f"{store.where} has no cook yet", err=True)
        for cook in rows:
            entries = f"{cook.last_seq} {'entry' if cook.last_seq == 1 else 'entries'}"
            became = f"  ({states[cook.id].words})" if cook.id in states else ""
            typer.echo(f"{cook.id:<32} {entries:>16}  {cook.name}{became}")


def export(
    cook: Annotated[str, typer.Argument(metavar="COOK", help="Its id, as 'pitreckon cooks' lists it.")],
    ledger: Ledger = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Its ledger alone, corrections applied, as a log for --log of reckon.")
    ] = False,
    degrees: Shown = "F",
) -> None:
    """Print a cook with its plan and its whole ledger as JSON Lines, to keep or to import elsewhere."""
    from pitreckon.ledger.store import Store

    with Store.open(ledger) as store:
        if as_csv:
            sys.stdout.write(store.export_csv(cook, degrees=degrees))
        else:
            sys.stdout.writelines(store.export_jsonl(cook))


def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="What 'pitreckon export' printed.")],
    ledger: Ledger = None,
    as_json: Json = False,
) -> None:
    """Take a cook's export into the ledger; what is there already is not doubled."""
    from pitreckon.ledger.store import Store
    from pitreckon.text.file import read_text

    lines = io.StringIO(read_text(file))  # splits at ends of lines alone, not at what else Unicode calls one
    with Store.open(ledger) as store:
        cook_id = store.import_jsonl(lines, str(file))
        if as_json:
            from pitreckon.cli.envelope import print_json

            told = {"ledger": store.where, "cook": cook_id, "entries": store.last_seq(cook_id)}
            print_json("import", told)
        else:
            typer.echo(f"{cook_id} is in {store.where}, with {store.last_seq(cook_id)} entries")
