"""The plan of a cook, its record and its file."""

from pitreckon.cook.plan import Away, Cook, ItemPlan, PitPlan, SideTask, StagePlan, TripCosts, Until

__all__ = ["Away", "Cook", "ItemPlan", "PitPlan", "SideTask", "StagePlan", "TripCosts", "Until"]
