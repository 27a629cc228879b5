"""In which share of scenarios a planned day comes off, reckoned anew from its put-ons, without the planner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.plan.schedule.check import STRAIGHT_TO_TABLE
from pitreckon.plan.schedule.schedule import Schedule
from pitreckon.plan.wishes import Wishes


@dataclass(frozen=True)
class Lived:
    """One item in scenarios of its own, by whoever made them; times since put-on [s], (scenarios,).

    first_s, last_s: when its first and its last piece are ready; past_s: past its best; done: it is done, and safe
    """

    first_s: NDArray[np.float64]
    last_s: NDArray[np.float64]
    past_s: NDArray[np.float64]
    done: NDArray[np.bool_]


def share_on_time(wishes: Wishes, schedule: Schedule, lived: Mapping[str, Lived]) -> float:
    """In which share of scenarios all of it is ready to serve together, reckoned anew from the put-ons alone.

    Nobody away, so that no act waits. Raises KeyError: an item has no scenarios.
    """
    good: NDArray[np.bool_] | None = None
    for wish in wishes.items:
        item, each = schedule.item(wish.label), lived[wish.label]
        at_s = (wishes.served_at(wish) - item.put_on_utc).total_seconds()
        rests_s = sum(stage.until.duration_s or 0.0 for stage in item.stages if stage.kind == "rest")
        rest_s = max(catalog.cut(item.cut).texture.least_rest_s.value - rests_s, 0.0)
        longest_s = max(wish.most_hold_s, STRAIGHT_TO_TABLE.total_seconds())
        mine = each.done & (each.last_s + rest_s <= at_s - wish.shortest_hold_s)
        mine &= (at_s - each.first_s <= longest_s) & (each.past_s >= at_s)
        good = mine if good is None else good & mine
    return 0.0 if good is None else float(good.mean())
