"""What is kept of one cook that somebody watches: what is shown, who watches, what is asked for."""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from pitreckon.alerts import Alert
from pitreckon.cook import Cook
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.crew import Ticket

if TYPE_CHECKING:
    from pitreckon.plan.schedule.replan import Replanned
    from pitreckon.reckon import Outlook
    from pitreckon.reckon.whatif import WhatIf
    from pitreckon.safety.foreseen import Foreseen
    from pitreckon.web.live.series import Series

MOVED_S: Final = 60.0
"""An item that is ready by so much sooner or later has moved [s]."""
VIEWED_S: Final = 120.0
"""A page without a script looks for so long [s]."""


@dataclass(frozen=True)
class Shown:
    """What is known of a cook. Whatever was not reckoned yet is empty.

    seq: of the ledger that the outlook rests on; changes: what moved it, by scale of temperature
    replanned: the best rest of the day, where it was planned; foreseen: safety rules that may be missed
    earlier: how many earlier cooks have told something; said: people have said something of its pits
    trouble: why there is no newer outlook, if that is so
    """

    cook: Cook
    seq: int = -1
    outlook: Outlook | None = None
    series: tuple[Series, ...] = ()
    what_ifs: tuple[WhatIf, ...] = ()
    what_ifs_seq: int = -1
    changes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    alerts: tuple[Alert, ...] = ()
    replanned: Replanned | None = None
    foreseen: tuple[Foreseen, ...] = ()
    earlier: int = 0
    said: bool = False
    trouble: str = ""
    took_s: float = 0.0


@dataclass(frozen=True, slots=True)
class News:
    """What a stream tells: its kind and what goes with it."""

    kind: str
    data: dict[str, Any]
    seq: int = 0


class Watched:
    """One cook: what is shown, who watches, and what is asked for.

    asked, again: the question that the outlook answers, and how it was reckoned
    extras_for: the cook and the outlook that what-ifs were last asked for
    urgent_seq: of the last look, act or correction; extras_left: they gave way, and are still to be asked for
    ticket: of the question that it waits for just now; asking_seq: of the ledger that this rests on, -1: not said yet
    """

    def __init__(self, cook_id: str, shown: Shown) -> None:
        self.cook_id = cook_id
        self.shown = shown
        self.listeners: set[asyncio.Queue[News | None]] = set()
        self.wake = asyncio.Event()
        self.urgent = True
        self.reckoned_at = -1e9
        self.reckoned_for: datetime | None = None
        self.explained_at = -1e9
        self.told_seq = -1
        self.held_seq = -1
        self.held: asyncio.TimerHandle | None = None
        self.news_told = 0
        self.task: asyncio.Task[None] | None = None
        self.answered = asyncio.Event()
        self.asked: Asked | None = None
        self.again: Again | None = None
        self.ticket: Ticket | None = None
        self.asking_seq = -1
        self.put_off_at: float | None = None
        self.extras_left = False
        self.extras_for: tuple[Asked, Outlook] | None = None
        self.extras_at = -1e9
        self.extras_took_s = 0.0
        self.urgent_seq = -1
        self.taking_in = False
        self.more_to_take_in = False
        self.viewed_at = -1e9

    @property
    def somebody(self) -> bool:
        """Does anybody look: by a stream, or by a page without a script not long ago?"""
        return bool(self.listeners) or time.monotonic() - self.viewed_at < VIEWED_S

    @property
    def waits(self) -> bool:
        """Has something urgent come in?"""
        return self.urgent

    def extras_hold(self, asked: Asked, outlook: Outlook, for_s: float) -> bool:
        """Do what-ifs and the rest go on to hold: nothing seen, done or moved since, and asked for not long ago?"""
        if self.extras_for is None:
            return False
        made_of, made_for = self.extras_for
        return (
            replace(made_of, seq=asked.seq) == asked
            and self.urgent_seq <= made_of.seq
            and time.monotonic() - self.extras_at < max(for_s, self.extras_took_s)
            and not has_moved(made_for, outlook)
        )


def has_moved(before: Outlook, after: Outlook) -> bool:
    """Is what was said of any item no longer so? They are of one cook."""
    return any(
        was.label != now.label
        or [stage.kind for stage in was.stages] != [stage.kind for stage in now.stages]
        or was.marks["ready"].known != now.marks["ready"].known
        or (now.marks["ready"].known and abs(now.marks["ready"].p50 - was.marks["ready"].p50) > MOVED_S)
        for was, now in zip(before.items, after.items, strict=True)
    )
