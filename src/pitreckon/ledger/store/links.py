"""Links over a cook's entries as they were taken in: a byte that was changed in the file is found, and where.

A link is SHA-256 (FIPS 180-4) of the link before it and the row as JSON; before the first stands the cook's id. The
latest is kept with the cook, each thousandth in ``seals``, so that behind a hole the checking goes on from the next of
those.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

LINKED: Final = (
    *("seq", "id", "at_us", "recorded_us", "kind", "what", "on_label", "piece", "value", "rejected"),
    *("source_line", "of_id", "body", "by_whom"),
)
"""Columns of a row that a link is made of, in their order."""
_json: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
EVERY: Final = 1000
"""So many entries from one kept link to the next."""


def first_link(cook_id: str) -> str:
    """What stands before a cook's first entry."""
    return hashlib.sha256(f"pitreckon ledger {cook_id}".encode()).hexdigest()


def next_link(before: str, values: Sequence[Any]) -> str:
    """The link of a row, of its values under ``LINKED``.

    >>> next_link(first_link("supper"), [1, "e0"])[:16]
    'fd49e3739dcbf352'
    """
    return hashlib.sha256((before + _json(list(values))).encode()).hexdigest()


def linked(row: Mapping[str, Any]) -> list[Any]:
    """The values of a row under ``LINKED``."""
    return [row[name] for name in LINKED]
