"""The records of a cook: its plan, and the append-only ledger of readings, looks and acts."""

from __future__ import annotations

from pitreckon.cook.plan import Cook, ItemPlan, PitPlan, StagePlan, TripCosts, Until
from pitreckon.ledger.events import Act, Ledger, Look, Reading

__all__ = ["Act", "Cook", "ItemPlan", "Ledger", "Look", "PitPlan", "Reading", "StagePlan", "TripCosts", "Until"]
