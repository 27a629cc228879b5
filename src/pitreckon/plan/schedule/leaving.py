"""What is eaten elsewhere: packed hot and on its way in time, as a task of the day like any other."""

from typing import Final

from pitreckon.cook import SideTask
from pitreckon.plan.schedule.lots import whole_of
from pitreckon.plan.wishes import Wishes
from pitreckon.text.said import clock_time, said

PACK_S: Final = 15 * 60.0
"""Packing a hot tray or box and carrying it out: common practice, no source."""
LEAVE: Final = "pack it hot and leave, to be on the table at {at}"


def tasks_of(wishes: Wishes) -> tuple[SideTask, ...]:
    """What is to be done beside the meat at times of the clock: what was asked for, and packing what travels."""
    packing: dict[tuple[str, float], SideTask] = {}
    for item in wishes.items:
        at_utc = wishes.leaves_at(item)
        if at_utc is not None:  # all lots of what was parted go together
            whole, at = whole_of(item.label), clock_time(wishes.served_at(item), wishes.zone_info, at_utc)
            packing[whole, at_utc.timestamp()] = SideTask(whole, at_utc, said(LEAVE, at=at), PACK_S)
    return (*wishes.tasks, *packing.values())
