"""Readings on their way into a cook, from devices and inputs: judged by what came before them."""

import asyncio
import contextlib
import logging
import threading
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.intake.plausible import Judge
from pitreckon.intake.plug import Input
from pitreckon.intake.settings import read_settings
from pitreckon.ledger.store import CookRow, Entry, Receipt, Store
from pitreckon.ledger.store.records import StoredEntry
from pitreckon.units import Scale
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.whose import Whose
from pitreckon.web.settings import Clock

log = logging.getLogger(__name__)
HISTORY: Final = 2000
"""Readings of a cook that the first new one is judged by."""
LOOK_AGAIN_S: Final = 3.0
"""How soon what comes in goes to another cook after one was made [s]."""


class Judges:
    """One judge for each cook, made of what its ledger has when its first reading comes."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._made: dict[str, Judge] = {}
        self._one = threading.Lock()

    def judged(self, cook_id: str, entries: Sequence[Entry]) -> list[Entry]:
        """The entries, with what cannot be true marked."""
        with self._one:
            if cook_id not in self._made:
                found = self._store.entries(cook_id, limit=HISTORY, kinds=("reading",), newest_first=True)
                known = [Entry(each.id, each.event, each.by) for each in found]
                self._made[cook_id] = Judge(sorted(known, key=_at))
            judge = self._made[cook_id]
        return judge.judged(entries)


def _at(entry: Entry | StoredEntry) -> datetime:
    at: datetime = getattr(entry.event, "at_utc")  # noqa: B009  a reading has it, a correction is not asked
    return at


def unit_of(settings_file: Path | None, cook: Cook, label: str) -> Scale | None:
    """The scale of a device's numbers, if the settings file has one. Raises InputError: the file is wrong."""
    return None if settings_file is None else read_settings(settings_file, cook).units.get(label)


class Inputs:
    """Takes what the inputs of the settings file bring into the cook that is going on, and then into the next one."""

    def __init__(self, store: Store, judges: Judges, clock: Clock, settings_file: Path, whose: Whose) -> None:
        self._store, self._judges, self._clock, self._file = store, judges, clock, settings_file
        self._whose = whose

    async def run(self, closing: asyncio.Event) -> None:
        """Until ``closing`` is set."""
        while not closing.is_set():
            row = await asyncio.to_thread(self._latest)
            if row is None:
                await _within(closing, LOOK_AGAIN_S)
                continue
            ends = asyncio.Event()
            taking = asyncio.create_task(self._take(row, ends))
            while not closing.is_set() and not taking.done():
                await _within(closing, LOOK_AGAIN_S)
                now = await asyncio.to_thread(self._latest)
                if now is None or (now.id, now.plan_version) != (row.id, row.plan_version):
                    break
            ends.set()
            await taking

    def _latest(self) -> CookRow | None:
        """The cook that is going on and has what the settings name; where none is, the latest made."""
        for row, cook in self._whose.going_on():
            with contextlib.suppress(PitreckonError):
                read_settings(self._file, cook)
                return row
        return next(iter(self._store.cooks()), None)

    def _asked_for(self, row: CookRow) -> tuple[tuple[Input, Any], ...]:
        try:
            return read_settings(self._file, cook_of(row.plan_toml)).inputs
        except PitreckonError as fault:  # its topics are of another cook, say
            log.warning("nothing is taken in for %s: %s", row.name, fault)
            return ()

    async def _take(self, row: CookRow, ends: asyncio.Event) -> None:
        async def append(entries: Sequence[Entry]) -> list[Receipt]:
            judged = await asyncio.to_thread(self._judges.judged, row.id, entries)
            future = await asyncio.to_thread(self._store.append_soon, row.id, judged)
            return await asyncio.wrap_future(future)

        async def until_it_ends(each: Input, config: Any) -> None:
            try:
                await each.run(config, append, ends, self._clock.now)
            except PitreckonError as fault:  # its password cannot be read, say; the other inputs go on
                log.warning("%s brings nothing in: %s", each.table, fault)

        asked = await asyncio.to_thread(self._asked_for, row)
        await asyncio.gather(ends.wait(), *(until_it_ends(*each) for each in asked))


async def _within(closing: asyncio.Event, seconds: float) -> None:
    with contextlib.suppress(TimeoutError):
        await asyncio.wait_for(closing.wait(), seconds)
