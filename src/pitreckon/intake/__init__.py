"""What comes in: cook files and logs, each fault named by file, line and field."""

from __future__ import annotations

from pitreckon.cook.read import cook_from_text, read_cook
from pitreckon.cook.until import parse_until
from pitreckon.forms.names import KnownNames
from pitreckon.ledger.log.read import log_from_text, read_log
from pitreckon.ledger.log.write import log_text

__all__ = [
    "KnownNames",
    "cook_from_text",
    "log_from_text",
    "log_text",
    "parse_until",
    "read_cook",
    "read_log",
]
