"""A recorded day coming in as it did: each entry when the server's clock comes to it."""

import asyncio

from pitreckon.ledger.store import Entry, Store
from pitreckon.web.settings import Clock, Day

LONGEST_NAP_S = 0.5
BY = "the recorded day"


async def replay(store: Store, day: Day, clock: Clock, closing: asyncio.Event) -> None:
    """Make the cook if the store has none of it, and take in its entries, until all are in or the server ends."""
    if all(cook.id != day.cook_id for cook in await asyncio.to_thread(store.cooks)):
        await asyncio.to_thread(store.add_cook, day.plan, day.name, cook_id=day.cook_id)
    waiting = list(enumerate(day.ledger.events))
    while waiting and not closing.is_set():
        now = clock.now()
        due = [(n, event) for n, event in waiting if event.at_utc <= now]
        if due:
            entries = [Entry(f"day-{n}", event, BY) for n, event in due]
            await asyncio.wrap_future(await asyncio.to_thread(store.append_soon, day.cook_id, entries))
            waiting = waiting[len(due) :]
            continue
        left_s = (waiting[0][1].at_utc - now).total_seconds() / clock.speed
        try:
            await asyncio.wait_for(closing.wait(), min(max(left_s, 0.02), LONGEST_NAP_S))
        except TimeoutError:
            continue
