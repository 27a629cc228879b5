"""The append-only ledger of readings, looks and acts."""

from pitreckon.ledger.events import Act, Ledger, Look, Reading

__all__ = ["Act", "Ledger", "Look", "Reading"]
