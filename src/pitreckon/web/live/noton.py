"""What was to go on the pit by now, in a cook of which nothing was recorded yet.

A cook without a ledger is reckoned as its plan says, as whoever keeps none wants it: meat is on at its time. On the
page a ledger is kept, and that nothing stands in it means that nothing was done: the meat is to be put on now.
"""

from dataclasses import replace
from datetime import timedelta
from typing import Final

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.reckon import Outlook, Task, Trip
from pitreckon.reckon.words import AT_ONCE

GIVEN_UP: Final = timedelta(hours=6)
"""So long after it was to go on nobody is told any more, where no hour of serving ends it sooner."""


def with_put_ons(outlook: Outlook, cook: Cook, ledger: Ledger) -> Outlook:
    """The outlook with what is to be put on at once as its first trip; as it is where anything was recorded."""
    now = outlook.now_utc
    late = [
        item
        for item in cook.items
        if item.put_on_utc < now < (cook.served_at(item) or item.put_on_utc + GIVEN_UP)
        and not any(task.item == item.label and task.act == "put on" for trip in outlook.trips for task in trip.tasks)
    ]
    if len(ledger) or not late:
        return outlook
    tasks = [
        Task(item.label, item.pieces, "put on", None, item.pit, "", None, 1.0, None, planned_utc=item.put_on_utc)
        for item in late
    ]
    here = [trip for trip in outlook.trips if trip.at_utc <= now + AT_ONCE]
    tasks += [task for trip in here for task in trip.tasks]
    trips = (Trip(now, now, now, tuple(tasks)), *outlook.trips[len(here) :])
    return replace(outlook, trips=trips)
