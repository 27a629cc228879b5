"""``pitreckon schema``: the form of a command's ``--json``."""

import json
from typing import Annotated

import typer


def schema(
    command: Annotated[list[str], typer.Argument(metavar="COMMAND", help="Its words, such as reckon or ledger check.")],
) -> None:
    """Print the JSON Schema (draft 2020-12) of what a command prints with --json."""
    from pitreckon.cli.schema.every import ANSWERS, schema_of
    from pitreckon.errors import InputError
    from pitreckon.text.words import did_you_mean

    words = " ".join(command)
    if words not in ANSWERS:
        raise InputError(f"'{words}' has no --json", did_you_mean(words, tuple(ANSWERS)))
    typer.echo(json.dumps(schema_of(words), indent=2, ensure_ascii=False))
