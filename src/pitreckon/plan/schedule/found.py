"""A day and what was picked for it."""

from dataclasses import dataclass

from pitreckon.plan.schedule.cpsat import Picked, Stage
from pitreckon.plan.schedule.tables import Day


@dataclass(frozen=True)
class Found:
    """A day, what was picked for it, and how. slots: that it was picked from"""

    day: Day
    picked: Picked | None
    stages: tuple[Stage, ...]
    slots: int
