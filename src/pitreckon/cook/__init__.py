"""The plan of a cook, its record and its file."""

from pitreckon.cook.plan import Cook, ItemPlan, PitPlan, SideTask, StagePlan, TripCosts, Until

__all__ = ["Cook", "ItemPlan", "PitPlan", "SideTask", "StagePlan", "TripCosts", "Until"]
