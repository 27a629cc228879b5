"""The append-only ledger of readings, looks and acts."""

from __future__ import annotations

from pitreckon.ledger.events import Act, Ledger, Look, Reading

__all__ = ["Act", "Ledger", "Look", "Reading"]
