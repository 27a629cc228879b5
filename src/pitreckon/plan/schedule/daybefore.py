"""An item cooked the day before, cooled at once and reheated: it has the evening before for its own serving time.

By the Food Code's rules for cooling, and for reheating for hot holding, which a kitchen that serves others keeps;
local codes may ask for more.
"""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Final

from pitreckon import catalog
from pitreckon.cook import SideTask
from pitreckon.plan.wishes import Wishes

EVENING: Final = time(21, 0)
"""By then it is done and goes into the cold: common practice, no source."""
REHEAT: Final = timedelta(hours=2, minutes=15)
"""Reheating takes up to 2 h (FDA Food Code 3-403.11, from memory: to 165 F within 2 h) and is over a quarter before."""
COOLING: Final = (
    "apart into shallow pans and into the cold at once: 135 to 70 °F within 2 h, to 41 °F within 6 h in all"
)
REHEATING: Final = "reheat with its juice, covered: 165 °F all through, within 2 h"


def can_be_cooked_before(wishes: Wishes, index: int) -> bool:
    """Whether an item keeps: meat that is cooked until it is tender, and that has no serving or put-on of its own."""
    item = wishes.items[index]
    texture = catalog.cut(item.cut).texture
    free = item.serve_utc is None and item.put_on_utc is None and not item.stages
    begins = [at for at in (wishes.earliest_utc, wishes.planned_utc) if at is not None]
    return free and texture.done_by == "tender" and all(at < evening_before(wishes) for at in begins)


def evening_before(wishes: Wishes) -> datetime:
    """The evening before the day of serving, UTC."""
    day = wishes.serve_utc.astimezone(wishes.zone_info).date() - timedelta(days=1)
    return datetime.combine(day, EVENING, wishes.zone_info).astimezone(UTC)


def cooked_before(wishes: Wishes, index: int) -> Wishes:
    """The wishes with one item cooked the day before, and cooling and reheating among the tasks."""
    item, evening = wishes.items[index], evening_before(wishes)
    items = tuple(replace(each, serve_utc=evening) if n == index else each for n, each in enumerate(wishes.items))
    tasks = (
        SideTask(item.label, evening, COOLING, 1800.0),
        SideTask(item.label, wishes.serve_utc - REHEAT, REHEATING, 7200.0),
    )
    return replace(wishes, items=items, tasks=(*wishes.tasks, *tasks))
