"""The work behind ``pitreckon cooks``, ``export`` and ``import``: what a ledger holds, out of it and into another."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Literal, cast

import typer

from pitreckon.ledger.store import Store
from pitreckon.text.file import read_text


def list_cooks(where: str | None) -> None:
    """A line a cook: its id, how many entries it has, its name."""
    with Store.open(where) as store:
        cooks = store.cooks()
        if not cooks:
            typer.echo(f"{store.where} has no cook yet", err=True)
        for cook in cooks:
            entries = f"{cook.last_seq} {'entry' if cook.last_seq == 1 else 'entries'}"
            typer.echo(f"{cook.id:<32} {entries:>16}  {cook.name}")


def export_cook(cook_id: str, where: str | None, as_csv: bool, degrees: str) -> None:
    """A cook's plan and ledger to standard output, or its ledger alone as a log."""
    with Store.open(where) as store:
        if as_csv:
            sys.stdout.write(store.export_csv(cook_id, degrees=cast(Literal["F", "C"], degrees)))
            return
        sys.stdout.writelines(store.export_jsonl(cook_id))


def import_cook(file: Path, where: str | None) -> None:
    """A cook's plan and ledger from a file; what is there already is not doubled."""
    lines = io.StringIO(read_text(file))  # splits at ends of lines alone, not at what else Unicode calls one
    with Store.open(where) as store:
        cook_id = store.import_jsonl(lines, str(file))
        typer.echo(f"{cook_id} is in {store.where}, with {store.last_seq(cook_id)} entries")
