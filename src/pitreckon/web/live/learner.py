"""Learns from each cook that is finished, when nothing else is to be reckoned, and anew when its ledger has changed."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Final

from pitreckon.cook import Cook
from pitreckon.errors import InputError, PitreckonError
from pitreckon.ledger import Act
from pitreckon.ledger.store import CookRow, LearnedCook, Store
from pitreckon.ledger.store.house import forget_learned, keep_learned, learned_so_far
from pitreckon.reckon.learned import MADE_WITH
from pitreckon.web.live.live import URGENT, Live, is_over
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import taught
from pitreckon.web.live.shelf import Shelf
from pitreckon.web.settings import WebSettings

log = logging.getLogger(__name__)
REST_S: Final = 5.0
"""After news, and at the start, others come first for so long [s]."""
LOOK_EVERY_S: Final = 600.0
"""Without news it is looked so often whether a cook is over [s]."""
MOST_COOKS: Final = 200
"""So many of the latest cooks are looked at."""
LAST_ACTS: Final = 200
QUIET: Final = timedelta(minutes=10)
"""Where only readings come in after the end (a probe that nobody has put away), it is waited till they stop."""
MOST_TRIES: Final = 2


class Learner:
    """One task beside the page. It ends with the server."""

    def __init__(self, store: Store, live: Live, settings: WebSettings, shelf: Shelf) -> None:
        self._store, self._live, self._settings, self._shelf = store, live, settings, shelf
        self._tries: Counter[tuple[str, int, int]] = Counter()
        self._fresh: set[str] = set()
        self._news = asyncio.Event()
        self._loop = asyncio.get_running_loop()
        store.watch(self._committed)

    async def run(self, closing: asyncio.Event) -> None:
        """Until the server ends."""
        ends = asyncio.create_task(closing.wait())
        which: set[str] | None = None
        try:
            while not closing.is_set():
                await asyncio.wait({ends}, timeout=REST_S)
                which = None if which is None else which | self._fresh
                self._fresh = set()
                self._news.clear()
                if not closing.is_set():
                    await self._all(which, closing)
                news = asyncio.create_task(self._news.wait())
                done, _ = await asyncio.wait({ends, news}, timeout=LOOK_EVERY_S, return_when=asyncio.FIRST_COMPLETED)
                which = set(self._fresh) if done else None
                news.cancel()
        finally:
            ends.cancel()

    def look(self, cook_id: str) -> None:
        """Something is new in a cook."""
        self._fresh.add(cook_id)
        self._news.set()

    def _committed(self, cook_id: str, last_seq: int) -> None:
        """The store says so, in a thread of its own."""
        with contextlib.suppress(RuntimeError):  # the loop may be closed by now
            self._loop.call_soon_threadsafe(self.look, cook_id)

    async def _all(self, which: set[str] | None, closing: asyncio.Event) -> None:
        """Every cook that waits for it, the oldest first. which: of these, None: of all"""
        try:
            for row in await asyncio.to_thread(self.due, which):
                if not closing.is_set():
                    await self._learn(row)
        except asyncio.CancelledError:
            raise
        except PitreckonError as fault:
            log.warning("nothing is learned for now: %s", fault)
        except Exception:
            log.exception("learning")

    def due(self, which: set[str] | None = None) -> list[CookRow]:
        """Finished cooks that were not learned from as they are. What another one taught that goes on again is gone.

        which: only of these, None: of all
        """
        known = learned_so_far(self._store)
        found = []
        for row in self._store.cooks()[:MOST_COOKS]:
            before = known.get(row.id)
            as_it_is = before == (row.last_seq, row.plan_version, MADE_WITH) and not self._shelf.of(row.id).off_utc
            if as_it_is or (which is not None and row.id not in which):
                continue
            if not self._is_finished(row):
                if before is not None:
                    forget_learned(self._store, row.id)
            elif self._tries[_state(row)] < MOST_TRIES and self._is_settled(row, before):
                found.append(row)
        return found[::-1]

    def _is_finished(self, row: CookRow) -> bool:
        """As the page has it: all is served, or its hour is long over; and it was not called off."""
        if not row.last_seq or self._shelf.of(row.id).off_utc:
            return False
        try:
            cook = cook_of(row.plan_toml)
        except PitreckonError:
            return False
        return is_over(cook, self._settings.clock.now()) or self._is_served(row, cook)

    def _is_settled(self, row: CookRow, before: tuple[int, int, str] | None) -> bool:
        """Has somebody said something since it was learned from, or does nothing come in any more?"""
        since = 0 if before is None else before[0]
        if before is not None and before[1:] != (row.plan_version, MADE_WITH):
            return True
        last = self._store.entries(row.id, since, 1, newest_first=True)
        if not last or datetime.now(UTC) - last[0].recorded_utc >= QUIET:
            return True
        return bool(self._store.entries(row.id, since, 1, kinds=URGENT))

    def _is_served(self, row: CookRow, cook: Cook) -> bool:
        found = self._store.entries(row.id, limit=LAST_ACTS, kinds=("act",), newest_first=True)
        acts = [each.event for each in found if isinstance(each.event, Act) and each.corrected_by is None]
        served = {act.on for act in acts if act.act == "served"}
        return all(item.label in served for item in cook.items)

    async def _learn(self, row: CookRow) -> None:
        try:
            asked = await asyncio.to_thread(self._live.asked_of, row.id)
            ended, content = await self._live.when_free(taught, asked)
        except PitreckonError as fault:
            log.warning("nothing is learned from %s: %s", row.id, fault)
            self._tries[_state(row)] += MOST_TRIES if isinstance(fault, InputError) else 1
            return
        learned = LearnedCook(row.id, asked.seq, row.plan_version, MADE_WITH, ended, datetime.now(UTC), content)
        if await asyncio.to_thread(keep_learned, self._store, learned):
            await self._live.house_changed()


def _state(row: CookRow) -> tuple[str, int, int]:
    return row.id, row.last_seq, row.plan_version
