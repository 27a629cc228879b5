"""The one envelope of every ``--json``: which program, which form, which command, and then the answer's own keys."""

import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from pitreckon import __version__
from pitreckon.cli.notices import said

SCHEMA: Final = 1
"""Of all answers: it goes up when a key goes, or means something else; a new key does not raise it."""


def print_json(command: str, document: Mapping[str, Any]) -> None:
    """An answer as one JSON object on standard output.

    command: its words, as in ``ledger check``; document: what it answers, in the form of ``schema.every.ANSWERS``

    Warnings that were said on the way are in it too.
    """
    head = {"pitreckon": __version__, "schema": SCHEMA, "command": command, "warnings": said()}
    print(json.dumps(head | plain(document), indent=2, ensure_ascii=False))  # noqa: T201  the answer itself


def plain(value: Any) -> Any:
    """A value as JSON has it: an instant as text, a number that is not finite as null, a record as an object."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(each) for each in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    return value
